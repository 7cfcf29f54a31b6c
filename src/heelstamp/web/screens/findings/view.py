"""What Findings shows: the date, the parts, and what each observation weighs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from heelstamp.casework.weighing import STRONG, weights
from heelstamp.report.drawing import drawing_alt, drawing_svg
from heelstamp.report.timeline import timeline_alt, timeline_svg
from heelstamp.shop.findings import doubts_told, finding_without, said_without
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.subjects import names_of
from heelstamp.web.rendering import drawn
from heelstamp.wording.about_parts import figures_explained


def findings_view(shop: OpenShop, tag: str, out: Sequence[str]) -> dict[str, Any]:
    """Lay out date and parts of a dossier without the observations set aside in *out*."""
    subject, found = finding_without(shop, tag, out)
    finding, names = found.data(), names_of(subject.chronology)
    said = said_without(shop, tag, out)
    dated, rows = said.dated, said.rows
    kind, line = subject.state.instrument.kind, dated.timeline
    whole = shop.subject(tag).state
    all_in = shop.said(tag).dated if out else dated
    scale = weights(whole, subject.tree, names, finding, out)
    return {
        "subject": subject,
        "dated": dated,
        "digest": finding["digest"],
        "rows": rows,
        "figures": figures_explained.say(),
        "lowered": said.lowered,
        "said": {one.id: one for one in said.statements},
        "timeline": None if line is None else drawn(timeline_svg(line)),
        "timeline_words": "" if line is None else timeline_alt(line),
        "drawing": drawn(drawing_svg(kind, rows)),
        "drawing_words": drawing_alt(rows, kind),
        "scale": scale,
        "strong": STRONG,
        "aside": out,
        "all_in": all_in.headline,
        "doubted": doubts_told(shop, tag) if shop.has("doubts", tag) else None,
    }
