"""From a date finding to the table of parts and the sentence about each.

A part that was seen but that the chronology has no states for is 'not judged'. A part that nobody
looked at gets 'not examined', however high its chance; one that was seen only while the way to it
was shut is never called 'original'. The ways to such a part that were looked at and a leave that
the owner refused are named. The finish gets a state only when covered areas were looked at
(rule 6); the anchor of the date is named as an assumption.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.casework.feature_names import FeatureNames, part_label, reader_words
from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.wording import Grounds, Statement, percent, probability_word
from heelstamp.wording.about_coat import finish_state, finish_verdict
from heelstamp.wording.about_parts import Verdict, part_state, part_verdict, verdict_words, widened
from heelstamp.wording.about_record import UNREAD_WORDS
from heelstamp.wording.strength import BEARS, bayes_factor, from_even_odds, ratio_words

FINISH = "finish"
_TELLING = frozenset({"read", "absent"})
_GAPS = frozenset({"not looked"})
CLAIMED: Mapping[Verdict, tuple[str, ...]] = {
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
"""Verdicts that earn a word, and the states that each says hold."""


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
    state: DossierState,
    tree: PartsTree,
    names: FeatureNames,
    finding: Mapping[str, Any],
    wider: Collection[str] = (),
) -> tuple[tuple[PartRow, ...], tuple[Statement, ...]]:
    """The rows, numbered from 1, and the statements, with ids ``part:<key>``.

    Of the parts *wider* is said what their verdict leaves true that says less.
    """
    rows: list[PartRow] = []
    statements: list[Statement] = []
    for look in _looks(state, tree, names, finding):
        grounds = _grounds(look, state, finding)
        rows.append(
            PartRow(
                look.key,
                len(rows) + 1,
                look.label,
                evidence=tuple(one.id for one in look.seen),
                frames=tuple(dict.fromkeys(frame for one in look.seen for frame in one.frames)),
                **_figures(_claim(look, look.key in wider), look.prior),
            )
        )
        statement = _statement(look, grounds, look.key in wider)
        if statement is not None:
            statements.append(statement)
    return tuple(rows), tuple(statements)


def touched_chance(finding: Mapping[str, Any]) -> float | None:
    """P(the finish has touched places | all), where the chronology dates a finish."""
    chance = (finding.get("parts") or {}).get(FINISH, {}).get("touched_up")
    return None if chance is None else float(chance)


@dataclass(frozen=True, slots=True)
class Claim:
    """What a part's word says, before it was tried against other assumptions.

    Attributes
    ----------
    states
        States of the part of which one holds if the verdict does; empty where none is claimed.
    probability
        Of these states together.
    """

    verdict: Verdict
    states: tuple[str, ...]
    probability: float

    @property
    def words(self) -> str:
        """As printed: 'very probably original', 'not determined'."""
        word = probability_word(self.probability) if self.states else ""
        return verdict_words(word, self.verdict)


def part_claims(
    state: DossierState, tree: PartsTree, names: FeatureNames, finding: Mapping[str, Any]
) -> dict[str, Claim]:
    """The claim about each part that gets a row, without its sentence."""
    return {look.key: _claim(look) for look in _looks(state, tree, names, finding)}


def _claim(look: _Look, wider: bool = False) -> Claim:
    verdict, probability = _verdict(look)
    if wider and look.posterior is not None:
        verdict, probability = widened(verdict, look.posterior)
    states = CLAIMED.get(verdict, ())
    if verdict == "refinished" and look.posterior is not None:  # said of the likeliest alone
        states = (max(look.posterior, key=lambda name: look.posterior[name]),)  # type: ignore[index]
    return Claim(verdict, states, probability)


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


def _grounds(look: _Look, state: DossierState, finding: Mapping[str, Any]) -> Grounds:
    """What the sentence of a part stands on: the entries that move it, those that do most first.

    An entry moves a part where leaving it out shifts the probabilities of its states by ``BEARS``
    or more, wherever it was seen. Where no single one does, all that was counted of what was seen
    on the part stands for them together.
    """
    found: Mapping[str, Any] = finding.get("observations") or {}
    moved = {
        id_: float(((one.get("leave_one_out") or {}).get("parts") or {}).get(look.key, 0.0))
        for id_, one in found.items()
        if id_ in state.observations
    }
    rests = sorted((id_ for id_, p in moved.items() if p >= BEARS), key=lambda id_: -moved[id_])
    if not rests or look.assumed:
        rests = [
            one.id
            for one in look.seen
            if one.status in _TELLING and found.get(one.id, {}).get("used", True)
        ]
    frames = dict.fromkeys(frame for id_ in rests for frame in state.observations[id_].frames)
    gaps = tuple(
        f"{look.label}: {one.subject.replace('_', ' ')} "
        f"({UNREAD_WORDS.get(one.status, one.status)})"
        for one in look.seen
        if one.status in _GAPS
    )
    return Grounds(tuple(rests), tuple(frames), gaps if rests or gaps else (look.label,))


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


def _figures(claim: Claim, prior: Mapping[str, float]) -> dict[str, Any]:
    """The verdict and, where it earns a word, its figures as printed."""
    if not claim.states:
        return {"verdict": claim.verdict}
    before = min(1.0, sum(prior.get(state, 0.0) for state in claim.states))
    figures = {
        "verdict": claim.verdict,
        "word": probability_word(claim.probability),
        "probability": percent(claim.probability),
        "prior": percent(before),
    }
    if 0 < before < 1:
        ratio = bayes_factor(claim.probability, before)
        figures |= {"ratio": ratio_words(ratio), "even": percent(from_even_odds(ratio))}
    return figures


def _statement(look: _Look, grounds: Grounds, wider: bool) -> Statement | None:
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
        wider=wider,
        ways=look.ways,
        acts=look.acts,
        refused=look.refused,
    )
