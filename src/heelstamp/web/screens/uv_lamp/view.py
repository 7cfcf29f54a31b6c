"""What UV lamp shows: the clock, the faces, and of one pair its answer and what was drawn on it."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from typing import Any

from heelstamp.casework.dose_clock import clock_of, limit_words, told
from heelstamp.casework.uv_lamp.coverage import covered_words
from heelstamp.casework.uv_lamp.marks import Marks, thinned, told_of
from heelstamp.casework.uv_lamp.pairs import OF_MOVED, UV, VISIBLE, Pairing, frames_in, words_of
from heelstamp.casework.uv_lamp.regions import REASONS, place_lamp
from heelstamp.errors import InputError
from heelstamp.report.lamp_overlay import overlay_svg, sample_svg
from heelstamp.shop import now
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.panel import panel_at
from heelstamp.shop.uv_faces import against_earlier, covered_at
from heelstamp.shop.uv_lamp import (
    compared_at,
    job_told,
    key_of,
    marks_at,
    pair_at,
    pairs_at,
    shown_at,
)
from heelstamp.web.rendering import drawn

MOVED = "moved"


def lamp_view(shop: OpenShop, tag: str, visible: str, uv: str, *, take: str) -> dict[str, Any]:
    """Lay out the screen; with *take* the camera is shown, to take a UV-A frame anew."""
    state, rows = shop.subject(tag).state, pairs_at(shop, tag)
    chosen = _chosen(shop, tag, rows, visible, uv)
    if take and take != MOVED and chosen is not None:
        chosen = replace(chosen, uv=None, look=None)
    clock = clock_of(state, now())
    return {
        "clock": clock,
        "limit": limit_words(clock),
        "minutes": told,
        "spent": min(clock.earlier_s / clock.limit_s, 1) * 100 if clock.limit_s else 0,
        "rows": [(one, words_of(one), _is_chosen(one, chosen)) for one in rows if one.visible],
        "chosen": chosen,
        "pair": _pair(shop, tag, chosen),
        "to_move": _to_move(chosen, again=take == MOVED),
        "panel": panel_at(shop, tag, now()),
        "visibles": frames_in(state, VISIBLE),
        "glowing": frames_in(state, UV),
        "reasons": REASONS,
        "covered": (faces := covered_at(shop, tag)),
        "covered_words": covered_words(faces),
    }


def _to_move(chosen: Pairing | None, *, again: bool) -> str:
    """The slot of the frame with the lamp moved, where it is to be taken; else empty."""
    if chosen is None or not chosen.whole or not chosen.slot:
        return ""
    return chosen.slot + OF_MOVED if again or chosen.moved is None else ""


def _is_chosen(one: Pairing, chosen: Pairing | None) -> bool:
    if chosen is None or chosen.visible is None or one.visible is None:
        return False
    alike = one.uv is None or chosen.uv is None or one.uv.id == chosen.uv.id
    return one.visible.id == chosen.visible.id and alike


def _chosen(
    shop: OpenShop, tag: str, rows: Sequence[Pairing], visible: str, uv: str
) -> Pairing | None:
    if visible and uv:
        return pair_at(shop, tag, visible, uv)
    begun = [one for one in rows if one.visible is not None]
    if visible:
        found = next((one for one in begun if one.visible and one.visible.id == visible), None)
        if found is None:
            raise InputError("no face begins with this frame", received=visible, where=tag)
        return found
    waiting = [one for one in begun if one.whole and one.look is None]
    whole = [one for one in begun if one.whole]
    return next(iter((*waiting, *whole, *begun)), None)


def _pair(shop: OpenShop, tag: str, chosen: Pairing | None) -> dict[str, Any] | None:
    if chosen is None or not chosen.whole:
        return None
    shown = shown_at(shop, tag, chosen)
    kept = marks_at(shop, tag, chosen)
    job = compared_at(shop, tag, chosen)
    answer = shown.answer if shown else None
    overlay = None
    if answer is not None and answer.assessed:
        words = f"{len(answer.lines)} regions over the frame {key_of(chosen)[0]}"
        left_open = answer.open_places
        overlay = drawn(overlay_svg(answer.size, answer.lines, words=words, left_open=left_open))
    return {
        "moved": chosen.moved.id if chosen.moved else "",
        "place_lamp": place_lamp(shown.data if shown else None),
        "brushed": bool(kept and kept.brushed),
        "visible": key_of(chosen)[0],
        "uv": key_of(chosen)[1],
        "key": "+".join(key_of(chosen)),
        "answer": answer,
        "entered": bool(shown and shown.entered),
        "earlier": against_earlier(shop, tag, chosen) if shown and shown.entered else None,
        "overlay": overlay,
        "masks": json.dumps(thinned(answer.masks, answer.size)) if answer and answer.masks else "",
        "samples": {
            one.row.number: drawn(sample_svg(one.row.kind, visible=one.visible))
            for one in (answer.lines if answer else ())
        },
        "borders": {
            one.row.number: json.dumps([[round(x, 1), round(y, 1)] for x, y in one.border])
            for one in (answer.lines if answer else ())
        },
        "marks": json.dumps((kept or Marks()).data()),
        "marks_told": told_of(kept) if kept else "",
        "work": job_told(job) if job is not None else None,
        "error": job.error if job is not None else None,
    }
