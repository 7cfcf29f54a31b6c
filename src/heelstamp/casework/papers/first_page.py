"""The first page: what a buyer asks first, a line each, and two pictures.

Nothing is computed here: each line repeats or gathers what the sections behind it say, in words
alone: a page for who has never met a probability, whoever reads it. The figures stand behind it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

from heelstamp.casework.condition.describe import describe_condition
from heelstamp.casework.feature_names import part_label, reader_words
from heelstamp.casework.papers.condition_section import grade_statements
from heelstamp.casework.papers.document_rows import FinishFace, NotReadRow, PartRow, SummaryRow
from heelstamp.casework.papers.evidence_section import TOUCHED_ONLY, joint_outcome
from heelstamp.catalogue import DossierState, PartsTree
from heelstamp.wording import Grounds, Statement, about_condition, about_summary

PLACES_MAX = 3
TOLD_WHOLE = 2
"""Aspects whose grades are told each with its meaning; of more the letters alone."""
ELECTRICS = "harness"
"""The assembly of the electrics in a tree of parts."""
_COVER = (
    ("reassembled", "overall-front", "overall-oblique-front"),
    ("overall-back", "overall-oblique-back"),
)
_WORD_ORDER = ("very probably", "probably", "not settled", "not determined", "not examined")


def summary_rows(
    state: DossierState,
    tree: PartsTree,
    *,
    answer: Statement,
    rows: Sequence[PartRow],
    said: Sequence[Statement],
    changed: Collection[str],
    seen: Sequence[Statement],
    faces: Sequence[FinishFace],
    plays: Sequence[Statement],
    not_read: Sequence[NotReadRow],
    interest: str,
) -> tuple[SummaryRow, ...]:
    """Gather the lines; the ids of their statements begin with ``first:``.

    *changed* are the keys of parts that were found changed, settled or not.
    """
    by_part = {one.id.removeprefix("part:"): one for one in said}
    by_seen = {one.id.removeprefix("seen:"): one for one in seen}
    electric = [part.key for part in tree if part.assembly == ELECTRICS]
    fits = [
        by_seen[id_]
        for id_, one in state.observations.items()
        if one.is_read and "pocket_fit" in one.subject and id_ in by_seen
    ]
    lines: list[tuple[str, Sequence[Statement]]] = [
        ("When made", (answer,)),
        ("Neck with body", [*_named(by_part, ("neck",)), *fits]),
        ("Finish", [*_named(by_part, ("finish",)), *(one for face in faces for one in face.short)]),
        ("Electronics", [*_by_state(rows, electric), *_joints(state, tree)]),
        ("Changed parts", _changed(rows, changed, by_part)),
        ("Condition", _condition(state, tree)),
        ("How it plays", plays),
        ("Not seen, and why", _not_seen(state, tree, not_read)),
        ("Our interest", (about_summary.our_interest("interest", what=interest),)),
    ]
    return tuple(
        SummaryRow(
            label,
            tuple(
                replace(one, id=f"first:{number}:{one.id}", text=one.plain or one.text, plain="")
                for one in told
            ),
        )
        for number, (label, told) in enumerate(lines, start=1)
        if told
    )


def cover_frames(state: DossierState, private: frozenset[str] = frozenset()) -> tuple[str, ...]:
    """Choose the pictures of the first page: the front as it leaves, and the back."""
    chosen = []
    for slots in _COVER:
        found = {
            one.slot: one.id
            for one in state.photographs.values()
            if one.light == "visible" and not one.private and one.id not in private
        }
        frame = next((found[slot] for slot in slots if slot in found), None)
        if frame is not None:
            chosen.append(frame)
    return tuple(chosen)


def _named(by_part: dict[str, Statement], keys: Sequence[str]) -> list[Statement]:
    return [by_part[key] for key in keys if key in by_part]


def _by_state(rows: Sequence[PartRow], keys: Sequence[str]) -> list[Statement]:
    """Gather parts under the words of their rows."""
    groups: dict[str, list[str]] = {}
    evidence: list[str] = []
    frames: list[str] = []
    mine = [row for row in rows if row.key in keys]
    for row in mine:
        word = f"{row.word} {row.verdict}".strip()
        groups.setdefault(word, []).append(row.label)
        evidence += row.evidence
        frames += row.frames
    if not groups:
        return []
    ordered = sorted(groups.items(), key=lambda one: _place(one[0]))
    gaps = tuple(row.label for row in mine if not row.evidence)
    grounds = Grounds(tuple(dict.fromkeys(evidence)), tuple(dict.fromkeys(frames)), gaps)
    return [about_summary.parts_by_state("electronics", grounds, groups=ordered)]


def _place(word: str) -> int:
    return next((n for n, begin in enumerate(_WORD_ORDER) if word.startswith(begin)), 99)


def _joints(state: DossierState, tree: PartsTree) -> list[Statement]:
    """What was seen of all solder joints, gathered."""
    found: dict[str, list[str]] = {"undisturbed": [], "second heating": [], "cannot tell": []}
    ids, frames = [], []
    for one in state.observations.values():
        outcome = joint_outcome(one)
        if outcome in found:
            found[outcome].append(part_label(tree, one.part))
            ids.append(one.id)
            frames += one.frames
    if not ids:
        return []
    return [
        about_summary.joints_gathered(
            "joints",
            Grounds(tuple(ids), tuple(dict.fromkeys(frames))),
            undisturbed=found["undisturbed"],
            heated=found["second heating"],
            unclear=found["cannot tell"],
        )
    ]


def _changed(
    rows: Sequence[PartRow], keys: Collection[str], by_part: dict[str, Statement]
) -> list[Statement]:
    changed = [by_part[row.key] for row in rows if row.key in keys and row.key in by_part]
    if changed:
        return changed
    told = tuple(id_ for row in rows for id_ in row.evidence)
    grounds = Grounds(tuple(dict.fromkeys(told)), (), () if told else ("every part",))
    left = [row.label for row in rows if row.verdict in ("not settled", "not determined")]
    return [about_summary.nothing_found_changed("changed:none", grounds, open_parts=left)]


def _condition(state: DossierState, tree: PartsTree) -> list[Statement]:
    """Grades, many of them in one line, and the largest of the places that are not whole."""
    found = describe_condition(state, tree)
    told = list(grade_statements(state, tree)) or [about_summary.no_grade("grade:none")]
    aspects = [(one, said) for one, said in found.grades if one.aspect]
    if len(aspects) > TOLD_WHOLE:
        rests_on = tuple(id_ for _, said in aspects for id_ in said.rests_on)
        letters = about_condition.letters(
            "grade:letters",
            Grounds(rests_on),
            graded=[(one.aspect, one.letter) for one, _ in aspects],
        )
        told = [*told[: len(told) - len(aspects)], letters]
    largest = sorted(found.places, key=lambda one: -(one[0].length_mm or 0.0))
    return [*told, *(said for _, said in largest[:PLACES_MAX])]


def _not_seen(
    state: DossierState, tree: PartsTree, not_read: Sequence[NotReadRow]
) -> list[Statement]:
    unseen = [row for row in not_read if row.status == "not looked"]
    names = {
        touched: [
            row.part[:1].lower() + row.part[1:]
            for row in unseen
            if (row.subject == TOUCHED_ONLY) is touched
        ]
        for touched in (True, False)
    }
    illegible = [f"{row.part}, {row.subject}" for row in not_read if row.status == "illegible"]
    done = {one.act for one in state.treatments.values()}
    opened = [one.label for one in tree.openings if one.act and one.act in done]
    told = [
        about_summary.parts_not_looked_at(
            "unseen",
            parts=list(dict.fromkeys(names[False])),
            touched=list(dict.fromkeys(names[True])),
            opened=opened[-1] if opened else "nothing moved",
        )
    ]
    if illegible:
        told.append(about_summary.looked_for_in_vain("unseen:illegible", illegible=illegible))
    last = {one.act: one for one in state.consents.values()}
    refused = [reader_words(one.act) for one in last.values() if not one.granted]
    if refused:
        told.append(about_summary.acts_not_allowed("unseen:refused", acts=refused))
    return told
