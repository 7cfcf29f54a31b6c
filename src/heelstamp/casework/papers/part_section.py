"""From a date finding to the table of parts and the sentence about each.

A part that was seen but that the chronology has no states for is 'not judged'. A part that nobody
looked at gets 'not examined', however high its chance; one that was seen only while the way to it
was shut is never called 'original'. The ways to such a part that were looked at and a leave that
the owner refused are named. The finish gets a state only when covered areas were looked at
(rule 6); the anchor of the date is named as an assumption.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.feature_names import FeatureNames, part_label, reader_words
from heelstamp.casework.papers.document import PartRow
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.wording import Grounds, Statement, percent, probability_word
from heelstamp.wording.about_coat import finish_state, finish_verdict
from heelstamp.wording.about_parts import Verdict, part_state, part_verdict
from heelstamp.wording.about_record import UNREAD_WORDS

FINISH = "finish"
_TELLING = frozenset({"read", "absent"})
_GAPS = frozenset({"not looked"})
_PRIORS: Mapping[Verdict, tuple[str, ...]] = {
    "original": ("original",),
    "period-correct": ("original", "period_replacement"),
    "later": ("later_replacement",),
    "from another": ("from_another_instrument",),
    "replaced": ("period_replacement", "later_replacement", "from_another_instrument"),
    "first finish": ("original",),
    "first finish, touched or not": ("original", "touched_up"),
    "touched up": ("touched_up",),
    "refinished": ("old_refinish", "recent_refinish"),
}
"""Verdicts that earn a word, and the states whose prior belongs to each."""


@dataclass(frozen=True, slots=True)
class _Look:
    """What is known of one part: its states after and before the evidence, and what was seen."""

    key: str
    label: str
    posterior: Mapping[str, float] | None
    prior: Mapping[str, float]
    seen: tuple[Observation, ...]
    covered_areas: bool
    looks: str
    ways: tuple[str, ...] = ()
    acts: tuple[str, ...] = ()
    refused: tuple[str, ...] = ()
    places: tuple[tuple[str, float], ...] = ()

    @property
    def examined(self) -> bool:
        """Whether anything of it was read, or looked for and found absent."""
        return self.looks != "none"

    @property
    def outside(self) -> bool:
        """Whether only its type and time were seen, because the way to it stayed shut."""
        return self.looks == "type"

    @property
    def assumed(self) -> bool:
        """Whether it is the anchor, whose state is not open to evidence."""
        return self.prior.get("original", 0.0) >= 1.0


def part_section(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> tuple[tuple[PartRow, ...], tuple[Statement, ...]]:
    """The rows, numbered from 1, and the statements, with ids ``part:<key>``."""
    rows: list[PartRow] = []
    statements: list[Statement] = []
    for look in _looks(state, tree, names, finding):
        grounds = _grounds(look.seen, look.label)
        verdict, probability = _verdict(look)
        rows.append(
            PartRow(
                look.key,
                len(rows) + 1,
                look.label,
                verdict,
                *_figures(verdict, probability, look.prior),
                tuple(one.id for one in look.seen),
                grounds.frames,
            )
        )
        statement = _statement(look, grounds)
        if statement is not None:
            statements.append(statement)
    return tuple(rows), tuple(statements)


def touched_chance(finding: Mapping[str, Any]) -> float | None:
    """P(the finish has touched places | all), where the chronology dates a finish."""
    chance = (finding.get("parts") or {}).get(FINISH, {}).get("touched_up")
    return None if chance is None else float(chance)


def part_verdicts(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> dict[str, Verdict]:
    """The verdict of each part that gets a row, without its sentence."""
    return {look.key: _verdict(look)[0] for look in _looks(state, tree, names, finding)}


def _looks(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> Iterator[_Look]:
    states: Mapping[str, Mapping[str, float]] = finding.get("parts") or {}
    priors: Mapping[str, Mapping[str, float]] = finding.get("part_priors") or {}
    looks: Mapping[str, Mapping[str, Any]] = finding.get("parts_seen") or {}
    for part in tree:
        seen = state.of_part(part.key)
        if _belongs(part.key, tree, seen, states):
            yield _Look(
                part.key,
                part_label(tree, part.key),
                states.get(part.key),
                priors.get(part.key) or {},
                seen,
                any(one.is_read and one.sign in names.covered_area_signs for one in seen),
                **_access(looks.get(part.key), seen, state, tree, names),
                places=_places(finding, seen, names),
            )


def _access(
    found: Mapping[str, Any] | None,
    seen: tuple[Observation, ...],
    state: DossierState,
    tree: PartsTree,
    names: FeatureNames,
) -> dict[str, Any]:
    """What was seen of a part itself and of the ways to it, and what the owner refused."""
    if found is None:
        return {"looks": "own" if any(one.status in _TELLING for one in seen) else "none"}
    acts = tuple(found["acts"])
    ways = [state.observations[id_] for id_ in found["ways"] if id_ in state.observations]
    return {
        "looks": found["looks"],
        "ways": tuple(way_words(one, tree, names) for one in ways),
        "acts": tuple(reader_words(act) for act in acts),
        "refused": tuple(
            reader_words(act) for act in acts if state.leave(act).standing == "refused"
        ),
    }


def _places(
    finding: Mapping[str, Any], seen: tuple[Observation, ...], names: FeatureNames
) -> tuple[tuple[str, float], ...]:
    """Places that differ under the lamp, with P(touched up) of each."""
    chances: Mapping[str, float] = finding.get("places") or {}
    return tuple(
        (names.variant(one.outcome or ""), float(chances[one.id]))
        for one in seen
        if one.id in chances
    )


def way_words(seen: Observation, tree: PartsTree, names: FeatureNames) -> str:
    """A look at the way to a part: 'screw heads of the neck plate screws, 2 of 4 turned'."""
    told = names.variant(seen.outcome or "")
    if seen.judged is not None:
        told = f"{seen.turned} of {seen.judged} look turned"
    return f"{names.name(seen.subject)} of the {part_label(tree, seen.part)}, {told}"


def _belongs(
    key: str, tree: PartsTree, seen: tuple[Observation, ...], states: Mapping[str, Any]
) -> bool:
    """Tell whether a part gets a row: it has a state, or was seen, or nobody looked at it."""
    if key in states:
        return True
    if not seen:
        return not tree.children(key)
    return not all(one.status in ("absent", "not applicable") for one in seen)


def _grounds(seen: tuple[Observation, ...], label: str) -> Grounds:
    told = [one for one in seen if one.status in _TELLING]
    frames = tuple(dict.fromkeys(frame for one in seen for frame in one.frames))
    gaps = tuple(
        f"{label}: {one.subject.replace('_', ' ')} ({UNREAD_WORDS.get(one.status, one.status)})"
        for one in seen
        if one.status in _GAPS
    )
    rests = tuple(one.id for one in told)
    return Grounds(rests, frames, gaps if rests or gaps else (label,))


def _verdict(look: _Look) -> tuple[Verdict, float]:
    if look.posterior is None:
        return ("not judged" if look.examined else "not examined"), 0.0
    if look.key != FINISH:
        return part_verdict(
            look.posterior, examined=look.examined, assumed=look.assumed, outside=look.outside
        )
    if not look.examined:
        return "not examined", 0.0
    return finish_verdict(look.posterior, covered_areas_examined=look.covered_areas)


def _figures(
    verdict: Verdict, probability: float, prior: Mapping[str, float]
) -> tuple[str, str, str]:
    """The word, the posterior and the prior of a verdict as printed."""
    if verdict not in _PRIORS:
        return "", "", ""
    before = min(1.0, sum(prior.get(state, 0.0) for state in _PRIORS[verdict]))
    return probability_word(probability), percent(probability), percent(before)


def _statement(look: _Look, grounds: Grounds) -> Statement | None:
    """The sentence about a part; None where there is nothing to add to its row."""
    id_ = f"part:{look.key}"
    if look.posterior is None:
        return None
    if look.key == FINISH:
        if not look.examined:
            return None
        return finish_state(
            id_,
            grounds,
            states=look.posterior,
            priors=look.prior,
            covered_areas_examined=look.covered_areas,
            places=look.places,
        )
    return part_state(
        id_,
        grounds,
        part=look.label,
        states=look.posterior,
        priors=look.prior,
        examined=look.examined,
        assumed=look.assumed,
        outside=look.outside,
        ways=look.ways,
        acts=look.acts,
        refused=look.refused,
    )
