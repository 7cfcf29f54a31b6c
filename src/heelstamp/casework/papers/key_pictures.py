"""The marks and joints that an answer rests on, large, beside their sentences.

Six photographs at most: marks that date first, then joints and odd parts, then how neck and body
meet; a photograph is shown once, with every sentence that rests on it. A scale bar is drawn where
two points of a known length were entered on the photograph (`picture_scale`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from heelstamp.casework.feature_names import heading, part_label
from heelstamp.casework.papers.document_rows import KeyPicture, PartRow
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.wording import Statement

KEYS_MAX = 6
CHANGED = frozenset({"later", "from another", "replaced", "refinished"})


def key_pictures(
    state: DossierState,
    tree: PartsTree,
    *,
    rows: Sequence[PartRow],
    said: Sequence[Statement],
    seen: Sequence[Statement],
    readings: Sequence[Statement],
) -> tuple[KeyPicture, ...]:
    """Choose the photographs and put their sentences beside them.

    Parameters
    ----------
    rows, said
        Rows and statements of parts.
    seen
        Statements of what was seen, with ids ``seen:<observation>``.
    readings
        What marks read, with ids ``reading:<observation>``.
    """
    changed = {row.key for row in rows if row.verdict in CHANGED}
    wanted = sorted(
        (one for one in state.observations.values() if one.is_read and one.frames),
        key=lambda one: _rank(one, changed),
    )
    facts = {one.id.removeprefix("seen:"): one for one in seen}
    read = {one.id.removeprefix("reading:"): one for one in readings}
    parts = {one.id.removeprefix("part:"): one for one in said}
    chosen: dict[str, list[Observation]] = {}
    for one in wanted:
        if _rank(one, changed) >= _LAST:
            break
        frame = next((name for name in one.frames if name in state.photographs), None)
        if frame is not None and (frame in chosen or len(chosen) < KEYS_MAX):
            chosen.setdefault(frame, []).append(one)
    made = []
    for frame, observations in chosen.items():
        label = part_label(tree, observations[0].part)
        beside = [told[one.id] for one in observations for told in (facts, read) if one.id in told]
        beside += [
            parts[key] for key in dict.fromkeys(o.part for o in observations) if key in parts
        ]
        told = tuple(_under(one, f"key:{frame}") for one in beside)
        made.append(KeyPicture(frame, heading(label), told))
    return tuple(made)


_LAST = 5


def _rank(one: Observation, changed: set[str]) -> int:
    """The order of choice: marks, odd parts, joints heated again, neck and pocket, other joints."""
    if one.kind == "mark":
        return 0
    if one.part in changed and one.kind in ("sign", "feature"):
        return 1
    if "joint" in one.subject:
        return 2 if one.outcome not in ("untouched", "undisturbed") else 4
    return 3 if "pocket" in one.subject else _LAST


def _under(one: Statement, prefix: str) -> Statement:
    """The same statement once more, under an id of its own."""
    return replace(one, id=f"{prefix}:{one.id}")
