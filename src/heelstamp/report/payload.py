"""The values that the page template reads: the document in plain strings, lists and numbers.

Everything a page says beyond the document itself (the names of the four kinds of nothing, whose
copy it is, captions and alternative texts of the drawings) is phrased here and nowhere else.
"""

from __future__ import annotations

import re
from collections.abc import Mapping

import msgspec

from heelstamp.casework.papers.document import OUTSIDERS, ReportDocument
from heelstamp.casework.papers.document_rows import NotReadRow, PartRow, Picture
from heelstamp.report import drawing, geometry, timeline
from heelstamp.wording.about_parts import figures_explained, rests_explained
from heelstamp.wording.about_record import UNREAD, Unread

_FIGURE_UNIT = re.compile(
    r"(\d) (%|mm²|mm|cm²|g|N|Hz|kΩ|MΩ|Ω|pF|nF|µF|H|°C|cent|min|s|nm|ml|J/m²|W/m²)(?!\w)"
)
_MONTH_YEAR = re.compile(r"\b(Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec) (\d{4})\b")
_READER_LINES = {
    "consignor": "The consignor's copy",
    "buyer": "A buyer's copy",
    "insurer": "An insurer's copy",
    "shop": "The shop's copy",
}
KEY_MM, SHEET_MM = (122.0, 91.0), (51.33, 38.0)
"""Width and height of the places of large pictures and of the contact sheet, as in the template."""
HELD_BACK = (
    "The shop may keep further photographs, to compare the instrument with them on a return."
)
"""Said to every outsider, whether there are any or none."""
_GROUPS: Mapping[Unread, tuple[str, str]] = {
    "not looked": ("Not looked at", "What nobody looked at"),
    "absent": ("Looked for and absent", "What was looked for and is not there"),
    "illegible": ("Looked at and illegible", "What was looked at and cannot be read"),
    "not applicable": ("Not applicable", "What does not apply to this instrument"),
}


def payload(document: ReportDocument) -> dict[str, object]:
    """The values the template reads; strings only where a page shows text."""
    plain: dict[str, object] = msgspec.to_builtins(document)
    pictures = {one.frame: _picture(index, one) for index, one in enumerate(document.pictures)}
    shown = {one.frame: one for one in document.pictures}
    drawn = document.kind in geometry.BUILDS and bool(document.parts)
    plain.update(
        kicker="Examination report",
        for_reader=_READER_LINES[document.reader],
        running=" · ".join(one for one in (document.tag, document.title) if one),
        footer="The words are explained under “What the words mean”.",
        headline_label="Completed" if document.timeline else "Date of completion",
        timeline=document.timeline is not None,
        drawing=drawn,
        parts=[_part(row, document) for row in document.parts],
        entries_named=document.reader != "buyer",
        parts_note=(
            "Original means fitted at first completion, as far as examined; period-correct means "
            "right in type and time, first fitting not determined; not examined, that nothing was "
            "looked at which tells whether it was fitted first. After and before: the "
            "probability with the evidence of this paper, and the prior it started from."
            + ("" if document.reader == "buyer" else f" {rests_explained.say()}")
        ),
        not_read=_not_read(document),
        changes=[
            {
                "change": one.change,
                "span": one.span,
                "middle": one.middle,
                "turned": one.turned or "nothing",
            }
            for one in document.changes
        ],
        weights=[
            {
                "label": row.label[:1].upper() + row.label[1:],
                "changed": row.changed,
                "ratio": row.ratio,
                "even": row.even,
            }
            for row in document.parts
            if row.ratio
        ],
        weights_note=figures_explained.say(),
        checks=[{"what": one.what, "lines": _lines(one.value)} for one in document.checks],
        pictures=list(pictures.values()),
        heading=document.title,
        title=f"{document.title}, {document.subtitle}",
        description=f"{document.headline}. {document.headline_note}",
        summary=[
            {"label": row.label, "texts": [one.text for one in row.statements]}
            for row in document.summary
        ],
        cover=[pictures[frame] for frame in document.cover if frame in pictures],
        keys=[
            {
                **pictures[one.frame],
                "bar": _bar(shown[one.frame], *KEY_MM),
                "heading": one.heading,
                "texts": list(dict.fromkeys(said.text for said in one.statements)),
            }
            for one in document.keys
            if one.frame in pictures
        ],
        held_back=HELD_BACK if document.reader in OUTSIDERS else "",
        finish=_finish(document),
    )
    if document.timeline is not None:
        plain["timeline_alt"] = timeline.timeline_alt(document.timeline)
        plain["timeline_caption"] = (
            "Above: probability of each month of completion. Below: the period of each mark "
            "itself, which is a lower bound for the completion of the instrument."
        )
    if drawn:
        plain["drawing_alt"] = drawing.drawing_alt(document.parts, document.kind)
        plain["drawing_caption"] = _drawing_caption(document)
    return {name: _bound(value) for name, value in plain.items()}


def _bound(value: object) -> object:
    """Keep a figure and its unit, and a month and its year, on one line."""
    if isinstance(value, str):
        return _MONTH_YEAR.sub("\\1\u00a0\\2", _FIGURE_UNIT.sub("\\1\u00a0\\2", value))
    if isinstance(value, dict):
        return {name: _bound(one) for name, one in value.items()}
    return [_bound(one) for one in value] if isinstance(value, (list, tuple)) else value


def _picture(index: int, one: Picture) -> dict[str, object]:
    return {
        "path": f"pictures/{index}.jpg",
        "alt": one.alt,
        "frame": one.frame,
        "caption": one.caption + (" (simulated)" if one.simulated else ""),
        "scale": one.close or one.bar_mm > 0,
        "bar": _bar(one, *SHEET_MM),
        "short": one.caption.split(", ")[-1].split(" (")[0],
    }


def _bar(one: Picture, width_mm: float, height_mm: float) -> dict[str, float]:
    """A bar under a picture fitted into a place of the page: what it stands for, how long it is."""
    printed = min(width_mm, height_mm * one.aspect)
    return {"mm": one.bar_mm, "length": printed * one.bar_share}


def _part(row: PartRow, document: ReportDocument) -> dict[str, object]:
    said = next((s for s in document.part_statements if s.id == f"part:{row.key}"), None)
    rests = "" if said is None or not said.rests_on else f"Rests on {', '.join(said.rests_on)}"
    if said is not None and said.not_examined:
        gaps = ", ".join(said.not_examined)
        rests = f"{rests} · Not examined: {gaps}" if rests else f"Not examined: {gaps}"
    return {
        "number": row.number,
        "label": row.label[:1].upper() + row.label[1:],
        "verdict": row.said,
        "probability": row.probability,
        "prior": row.prior,
        "frames": list(row.frames),
        # what these two mean is told once, above the table; the row has all figures of them
        "said": row.note
        if said is None or row.verdict in ("original", "period-correct")
        else said.text,
        "rests": rests,
    }


def _not_read(document: ReportDocument) -> list[dict[str, object]]:
    groups: list[dict[str, object]] = []
    for status in UNREAD:
        rows = [row for row in document.not_read if row.status == status]
        title, meaning = _GROUPS[status]
        if rows:
            groups.append({"title": title, "meaning": meaning, "rows": _merged(rows)})
    return groups


def _merged(rows: list[NotReadRow]) -> list[dict[str, object]]:
    """Put parts of which the same is said into one row."""
    parts: dict[tuple[str, str, tuple[str, ...]], list[str]] = {}
    for row in rows:
        parts.setdefault((row.subject, row.note, row.frames), []).append(row.part)
    return [
        {
            "part": ", ".join([names[0], *(name[:1].lower() + name[1:] for name in names[1:])]),
            "subject": subject,
            "note": note,
            "frames": list(frames),
        }
        for (subject, note, frames), names in parts.items()
    ]


def plate_path(index: int) -> str:
    """The name under which a picture of a finding is laid beside the page."""
    return f"plates/{index}.jpg"


def swatch_path(kind: str) -> str:
    """The name of the sample of a pattern."""
    return f"plates/{kind.replace(' ', '-')}.png"


def _finish(document: ReportDocument) -> list[dict[str, object]]:
    faces: list[dict[str, object]] = []
    index = 0
    for face in document.finish:
        plain = msgspec.to_builtins(face)
        plain["plates"] = []
        for plate in face.plates:
            one = {"path": plate_path(index), "caption": plate.caption, "alt": plate.alt}
            plain["plates"].append(one)
            index += 1
        for row in plain["regions"]:
            row["swatch"] = swatch_path(row["kind"])
        plain["kept_back"] = (
            ""
            if face.plates or not face.private
            else "The pictures of this face are kept by the shop."
        )
        faces.append(plain)
    return faces


def _lines(value: str) -> list[str]:
    """Break a digest in halves, so that it fits its column; a command stays one line to copy."""
    if len(value) == 64 and " " not in value:
        return [value[:32], value[32:]]
    return value.split("\n")


def _drawing_caption(document: ReportDocument) -> str:
    undrawn = [
        f"{row.number} {row.label}"
        for row in document.parts
        if row.key not in drawing.drawn_keys(document.kind)
    ]
    caption = "Numbers are those of the table. A drawing of the kind, not of this instrument."
    return f"{caption} Not drawn: {', '.join(undrawn)}." if undrawn else caption
