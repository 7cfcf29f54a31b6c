"""The lamp at the desk: a pair compared beside the requests, its marks kept, its look entered.

The comparison is that of ``heelstamp glow`` (``finish_pair.examine``), the entry that of
``glow --enter`` (``casework.finish.glow_entry``): what was compared on the bench reaches the
dating and the papers on the same way. A comparison is remembered until it is entered or the bench
stops; nothing is entered that a person did not enter.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlencode

from heelstamp import __version__
from heelstamp.archive import digest_of, sha256
from heelstamp.casework.finish import PairFile, PairRequest, glow_entry, unpacked
from heelstamp.casework.finish.borders import border_file, border_files, said_of
from heelstamp.casework.finish.kept import MEDIA_TYPE as KEPT_TYPE
from heelstamp.casework.new_entry import Slip
from heelstamp.casework.ports import FileRecord
from heelstamp.casework.uv_lamp.marks import (
    MEDIA_TYPE,
    Marks,
    file_of,
    kept_marks,
    marks_acts,
    standing_marks,
    thinned,
)
from heelstamp.casework.uv_lamp.pairs import Pairing, chosen_pair, look_at, proposed_pairs
from heelstamp.casework.uv_lamp.panel_view import NAMED, PanelView, has_panel, panel_view
from heelstamp.casework.uv_lamp.regions import (
    Answer,
    answer_of,
    border_acts,
    border_of,
    entered_look,
    region_acts,
)
from heelstamp.errors import ConflictError
from heelstamp.shop import finish_pair
from heelstamp.shop.desk_frames import the_plan
from heelstamp.shop.image_work import ImageWork, Tell, Work
from heelstamp.shop.opened import OpenShop

if TYPE_CHECKING:
    from heelstamp.casework.finish import FinishFinding
    from heelstamp.catalogue import Photograph
    from heelstamp.luminescence import Stage


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """What a comparison came to, and the file that is kept of it when it is entered."""

    finding: FinishFinding
    kept: bytes
    marks: Marks


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """The answer that a pair shows, and whether it is entered."""

    answer: Answer
    data: Mapping[str, Any]
    entered: bool


def pairs_at(desk: OpenShop, tag: str) -> tuple[Pairing, ...]:
    """Give the pairs that the frames propose."""
    return proposed_pairs(desk.subject(tag).state, the_plan())


def pair_at(desk: OpenShop, tag: str, visible: str, uv: str) -> Pairing:
    """Give a pair by its frames; raises as `chosen_pair` does."""
    return chosen_pair(desk.subject(tag).state, the_plan(), visible, uv)


def panel_at(desk: OpenShop, tag: str, at: str) -> PanelView:
    """Give the weekly panel's series: of this dossier, or of the one opened for the panel."""
    state = desk.subject(tag).state
    if not has_panel(state):
        _, named = desk.shop.journals.sheet(NAMED, 0, 1)
        state = desk.subject(next(iter(named), tag)).state
    return panel_view(state, at)


def key_of(pair: Pairing) -> tuple[str, str]:
    """Name a pair to the queue: the ids of its frames."""
    assert pair.visible is not None
    assert pair.uv is not None
    return pair.visible.id, pair.uv.id


def marks_at(desk: OpenShop, tag: str, pair: Pairing) -> Marks | None:
    """Give the marks that were kept for a pair; None when none were."""
    digest = standing_marks(desk.subject(tag).state, pair)
    return None if digest is None else kept_marks(desk.shop.files.get(digest), f"file {digest}")


def keep_marks(
    desk: OpenShop, tag: str, pair: Pairing, marks: Marks, slip: Slip, *, by: str
) -> None:
    """Keep what was drawn, and enter the digest of its file."""
    data = file_of(marks, pair)
    acts = marks_acts(desk.subject(tag).state, slip, pair, marks, sha256(data))
    if acts:
        _put(desk, data, MEDIA_TYPE)
        desk.enter(tag, acts, by=by)


def proposed_masks(desk: OpenShop, photograph: Photograph) -> dict[str, Any]:
    """Give outline and parts that the program proposes; empty where it finds no body.

    Kept in the shop beside the digest of the photograph, for it costs a second.
    """
    from heelstamp.luminescence import propose
    from heelstamp.media.decoding import upright_rgb

    key = sha256(f"lamp outline {__version__} {photograph.file}".encode())
    kept = desk.shop.journals.findings([key]).get(key)
    if kept is not None:
        found: dict[str, Any] = json.loads(kept)
        return found
    masks = propose(upright_rgb(desk.shop.files.get(photograph.file), photograph.name))
    told: dict[str, Any] = {}
    if masks is not None:
        plain = {
            "outline": masks.outline.tolist(),
            "parts": [{"name": name, "polygon": one.tolist()} for name, one in masks.parts],
        }
        told = thinned(plain, (photograph.width, photograph.height))
    desk.shop.journals.keep_findings("lamp outline", {key: json.dumps(told).encode()})
    return told


def compare(desk: OpenShop, works: ImageWork, tag: str, pair: Pairing, marks: Marks) -> Work:
    """Begin to compare a pair; the same question about the same pair is not begun twice.

    Raises
    ------
    InputError
        Marks that are impossible in themselves.
    ConflictError
        The pair is at work with other marks, or the bench is busy.
    IntegrityError
        A kept photograph is missing or has changed.
    """
    assert pair.visible is not None
    assert pair.uv is not None
    request = marks.request()
    files = [PairFile(desk.shop.files.get(one.file), one.id) for one in (pair.visible, pair.uv)]
    source = finish_pair.Source(files[0], files[1], tag)
    asks = digest_of(
        {
            "visible": pair.visible.file,
            "uv": pair.uv.file,
            "request": request.data(),
            "program": __version__,
        }
    )

    def do(tell: Tell) -> Compared:
        return _compare(source, request, marks, tell)

    return works.start(tag, key_of(pair), asks, do)


def _compare(
    source: finish_pair.Source, request: PairRequest, marks: Marks, tell: Tell
) -> Compared:
    import cv2

    cv2.setNumThreads(1)  # as many pairs at once as there are cores

    def told(stage: Stage) -> None:
        preview = None
        if stage.preview is not None:
            from heelstamp.report.finish_pictures import preview_jpg

            preview = preview_jpg(stage.preview)
        tell(stage.name, 0.9 * stage.share, preview)

    face = finish_pair.examine(source, request, tell=told)
    tell("drawing", 0.92, None)
    return Compared(face.finding, finish_pair.kept_file(face), marks)


def work_told(tag: str, work: Work) -> dict[str, Any]:
    """Tell where a comparison stands, as a page and the live channel tell it."""
    visible, uv = work.key
    words = {
        "waiting": "waits for another pair",
        "working": f"{work.stage}, {round(100 * work.share)} %",
        "done": "compared",
        "failed": str(work.error or "not done"),
    }[work.standing]
    asked = urlencode({"visible": visible, "uv": uv})
    return {
        "pair": f"{visible}+{uv}",
        "share": round(work.share, 3),
        "words": words,
        "open": work.open,
        "preview": work.preview is not None,
        "path": f"/dossier/{quote(tag)}/uv-lamp?{asked}",
    }


def shown_at(desk: OpenShop, works: ImageWork, tag: str, pair: Pairing) -> Shown | None:
    """Give the answer of a pair: of the last comparison, else of the look that is entered."""
    entered = _entered(desk, tag, pair)
    work = works.of(tag, key_of(pair))
    if work is not None and work.standing == "done":
        data = work.result.finding.data()
        if entered is None or entered.data["digest"] != data["digest"]:
            return Shown(answer_of(data, "", {}), data, entered=False)
    return entered


def enter_look(
    desk: OpenShop,
    works: ImageWork,
    tag: str,
    pair: Pairing,
    slip: Slip,
    *,
    finding: str,
    by: str,
    again: str = "",
) -> None:
    """Enter the comparison of a pair, with the marks it was made with.

    Parameters
    ----------
    finding
        Digest of the finding that the person saw; another one is not entered in its place.
    again
        Reason why it takes the place of an entered one; see `glow_entry`.

    Raises
    ------
    ConflictError
        Nothing was compared, another comparison was made since, or the look is entered already.
    InputError
        The two frames are no pair.
    """
    subject = desk.subject(tag)
    if slip.id in subject.state.entered or f"{slip.id}-again" in subject.state.entered:
        return
    work = works.of(tag, key_of(pair))
    if work is None or work.standing != "done":
        raise ConflictError(
            "nothing was compared that could be entered",
            where=tag,
            received=" and ".join(key_of(pair)),
            remedy="Compare the pair, then enter the look.",
        )
    compared: Compared = work.result
    if compared.finding.digest != finding:
        raise ConflictError(
            "another comparison was made since",
            where=tag,
            received=finding[:16],
            remedy="Look at the answer that stands now, then enter it.",
        )
    kind, body = glow_entry(
        compared.finding,
        subject.state,
        subject.chronology,
        id_=slip.id,
        file=sha256(compared.kept),
        again=again,
    )
    marks = file_of(compared.marks, pair)
    drawn = marks_acts(
        subject.state,
        Slip(slip.second("marks"), slip.made, slip.at),
        pair,
        compared.marks,
        sha256(marks),
    )
    _put(desk, compared.kept, KEPT_TYPE)
    _put(desk, marks, MEDIA_TYPE)
    desk.enter(tag, [*drawn, (kind, body)], by=by)


def say_of_region(
    desk: OpenShop,
    tag: str,
    pair: Pairing,
    number: int,
    slip: Slip,
    *,
    aside: bool,
    reason: str,
    by: str,
) -> None:
    """Set a region of the entered look aside, or let it stand again."""
    shown = _entered(desk, tag, pair)
    look = entered_look(pair.look if shown else None)
    assert shown is not None
    state = desk.subject(tag).state
    acts = region_acts(state, slip, look, shown.data, number, aside=aside, reason=reason)
    desk.enter(tag, acts, by=by)


def draw_border(
    desk: OpenShop,
    tag: str,
    pair: Pairing,
    number: int,
    slip: Slip,
    *,
    polygon: Sequence[Sequence[float]],
    reason: str,
    by: str,
) -> None:
    """Keep a border drawn by hand; an empty one lets the program's border stand again."""
    shown = _entered(desk, tag, pair)
    look = entered_look(pair.look if shown else None)
    assert shown is not None
    state, drawn = desk.subject(tag).state, None
    if polygon:
        border = border_of(shown.data, number, polygon)
        data = border_file(look.id, str(shown.data["digest"]), number, border)
        drawn = (sha256(data), border)
    acts = border_acts(state, slip, look, shown.data, number, drawn=drawn, reason=reason)
    if polygon and acts:
        _put(desk, data, MEDIA_TYPE)
    desk.enter(tag, acts, by=by)


def _entered(desk: OpenShop, tag: str, pair: Pairing) -> Shown | None:
    assert pair.uv is not None
    state = desk.subject(tag).state
    look = look_at(state, pair.uv.id)
    if look is None or look.file is None:
        return None
    file = look.file

    def read() -> Mapping[str, Any]:
        return unpacked(desk.shop.files.get(file), where=look.id).data

    data = desk.remembered(f"lamp finding {file}", tag, read)
    files = {
        number: desk.shop.files.get(digest)
        for number, digest in border_files(state, look.id, data).items()
    }
    return Shown(answer_of(data, look.id, said_of(state, look.id, data, files)), data, entered=True)


def _put(desk: OpenShop, data: bytes, media_type: str) -> None:
    digest = desk.shop.files.put(data)
    desk.shop.journals.record_file(FileRecord(digest, len(data), media_type))
