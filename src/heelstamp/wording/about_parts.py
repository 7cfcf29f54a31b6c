"""Sentences about parts: first-fitted or not, coating, joints, timber, conflicts, ageing.

Rule 5 keeps 'original' (fitted at first completion, as far as examined) apart from
'period-correct' (right type and time, first fitting not shown). Rule 4 sets the words of
probability; rule 3 the word of support, taken from posterior odds over prior odds. A part that
nobody looked at gets no word, however high its prior. Rule 6: fluorescence alone never leads to a
state of the coating; without covered areas looked at, the coating stays 'not determined'.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.wording.sentences import Grounds, Statement, agreement, listed, write
from heelstamp.wording.strength import (
    NOT_DETERMINED,
    Support,
    bayes_factor,
    percent,
    probability_word,
    support,
)

ORIGINAL = "original"
PERIOD = "period_replacement"
LATER = "later_replacement"
DONOR = "from_another_instrument"
STATE_NOUNS: dict[str, str] = {
    ORIGINAL: "original",
    PERIOD: "a replacement of the period",
    LATER: "a later replacement",
    DONOR: "from another instrument",
    "touched_up": "the first coat, touched up",
    "old_refinish": "an old refinish",
    "recent_refinish": "a recent refinish",
}
FINISH_NOUNS: dict[str, str] = {**STATE_NOUNS, ORIGINAL: "the first one"}
_SINGLE = {ORIGINAL: "part original", LATER: "part later", DONOR: "part from another"}

Verdict = Literal[
    "original",
    "period-correct",
    "later",
    "from another",
    "replaced",
    "not determined",
    "not examined",
    "not judged",
    "assumed",
    "not settled",
    "first coat",
    "touched up",
    "refinished",
]
"""What a statement about a part comes down to, for drawings and tables."""
Joint = Literal["undisturbed", "second heating", "cannot tell", "not opened"]


def _shares(states: Mapping[str, float], nouns: Mapping[str, str]) -> str:
    ordered = sorted(states.items(), key=lambda one: (-one[1], one[0]))
    told = [f"{nouns.get(name, name)} {percent(p)}" for name, p in ordered if p >= 0.01]
    return listed(told)


def _support_clause(posterior: float, prior: float, about: str) -> str:
    """Say how much the evidence added; nothing where the prior cannot be moved."""
    if not 0 < prior < 1:
        return ""
    found = support(bayes_factor(posterior, prior))
    if found.support is Support.NEITHER:
        return f" The evidence favours neither {about} nor its alternatives."
    target = f"the alternatives to {about}" if found.for_rival else f"{about} over the alternatives"
    return f" The evidence {found.words} {target}."


def part_verdict(
    states: Mapping[str, float], *, examined: bool, assumed: bool = False
) -> tuple[Verdict, float]:
    """Reduce the states of a part to one verdict and its posterior probability.

    Parameters
    ----------
    states
        Posterior probability of each dating state.
    examined
        Something of this part was read, or looked for and found absent.
    assumed
        The part is the anchor whose completion is the instrument's by definition.
    """
    if assumed:
        return "assumed", 1.0
    if not examined:
        return "not examined", 0.0
    best = max(states, key=lambda name: (states[name], name == ORIGINAL))
    verdicts: dict[str, Verdict] = {ORIGINAL: "original", LATER: "later", DONOR: "from another"}
    if best in verdicts and probability_word(states[best]) != NOT_DETERMINED:
        return verdicts[best], states[best]
    together = min(1.0, states.get(ORIGINAL, 0.0) + states.get(PERIOD, 0.0))
    if probability_word(together) != NOT_DETERMINED:
        return "period-correct", together
    other = min(1.0, max(0.0, 1 - states.get(ORIGINAL, 0.0)))
    if probability_word(other) != NOT_DETERMINED:
        return "replaced", other
    return "not determined", states[best]


def part_state(
    statement_id: str,
    *,
    part: str,
    states: Mapping[str, float],
    priors: Mapping[str, float],
    examined: bool,
    grounds: Grounds,
    assumed: bool = False,
) -> Statement:
    """Say whether a part was fitted first, in words no stronger than its posterior.

    Parameters
    ----------
    part
        Name of the part without article: 'output socket'.
    states, priors
        Probability of each dating state after and before the evidence; both disclosed (rule 4).
    examined, assumed
        As in :func:`part_verdict`.
    """
    verdict, posterior = part_verdict(states, examined=examined, assumed=assumed)
    if verdict in ("assumed", "not examined"):
        bare = not (grounds.rests_on or grounds.not_examined)
        gap = replace(grounds, not_examined=(part,)) if bare else grounds
        return write(
            f"part {verdict}", statement_id, gap, strength=verdict, part=part, **agreement(part)
        )
    if verdict == "not determined":
        best = max(states, key=lambda name: states[name])
        clause = _support_clause(states[best], priors.get(best, 0.0), STATE_NOUNS.get(best, best))
        return write(
            "part not determined",
            statement_id,
            grounds,
            strength=NOT_DETERMINED,
            part=part,
            states=_shares(states, STATE_NOUNS),
            support=clause,
            **agreement(part),
        )
    if verdict == "period-correct":
        template = "part period-correct"
        prior = min(1.0, priors.get(ORIGINAL, 0.0) + priors.get(PERIOD, 0.0))
        about = "a part of the period"
    elif verdict == "replaced":
        template, prior, about = "part replaced", 1 - priors.get(ORIGINAL, 1.0), "replacement"
    else:
        best = max(states, key=lambda name: (states[name], name == ORIGINAL))
        template, prior, about = _SINGLE[best], priors.get(best, 0.0), STATE_NOUNS[best]
        about = "first fitting" if best == ORIGINAL else about
        about = "another instrument as its source" if best == DONOR else about
    word = probability_word(posterior)
    return write(
        template,
        statement_id,
        grounds,
        strength=word,
        part=part,
        word=word,
        posterior=percent(posterior),
        prior=percent(prior),
        support=_support_clause(posterior, prior, about),
        **({"states": _shares(states, STATE_NOUNS)} if verdict == "replaced" else {}),
        **agreement(part),
    )


def finish_verdict(
    states: Mapping[str, float], *, covered_areas_examined: bool
) -> tuple[Verdict, float]:
    """Reduce the states of the coating to one verdict and its posterior probability."""
    best = max(states, key=lambda name: states[name])
    if not covered_areas_examined or probability_word(states[best]) == NOT_DETERMINED:
        return "not determined", states[best]
    verdicts: dict[str, Verdict] = {ORIGINAL: "first coat", "touched_up": "touched up"}
    return verdicts.get(best, "refinished"), states[best]


def finish_state(
    statement_id: str,
    *,
    states: Mapping[str, float],
    priors: Mapping[str, float],
    covered_areas_examined: bool,
    grounds: Grounds,
) -> Statement:
    """Say what the coating is, or that it is not determined (rule 6)."""
    best = max(states, key=lambda name: states[name])
    verdict, posterior = finish_verdict(states, covered_areas_examined=covered_areas_examined)
    if verdict == "not determined":
        why = "" if covered_areas_examined else " Covered areas were not looked at."
        gaps = (
            grounds.not_examined
            if covered_areas_examined
            else (*grounds.not_examined, "coating in covered areas")
        )
        return write(
            "finish not determined",
            statement_id,
            replace(grounds, not_examined=tuple(dict.fromkeys(gaps))),
            strength=NOT_DETERMINED,
            states=_shares(states, FINISH_NOUNS),
            why=why,
        )
    word, prior, noun = probability_word(posterior), priors.get(best, 0.0), FINISH_NOUNS[best]
    return write(
        "finish state",
        statement_id,
        grounds,
        strength=word,
        word=word,
        state=noun,
        posterior=percent(posterior),
        prior=percent(prior),
        support=_support_clause(posterior, prior, f"“{noun}”"),
    )


def finish_even(
    statement_id: str,
    *,
    zones: Sequence[str],
    unassessed: Mapping[str, str],
    grounds: Grounds,
    wavelength_nm: int = 365,
) -> Statement:
    """Report an even fluorescence, with the zones that could not be assessed and why.

    Raises
    ------
    InputError
        No zone was assessed, so nothing even was seen.
    """
    if not zones:
        raise InputError(
            "no zone was assessed", where=statement_id, remedy="Say why the pair was refused."
        )
    not_assessed = [f"{zone} ({why})" for zone, why in sorted(unassessed.items())]
    return write(
        "finish even",
        statement_id,
        replace(grounds, not_examined=(*grounds.not_examined, *sorted(unassessed))),
        wavelength=str(wavelength_nm),
        zones=listed(list(zones)),
        unassessed=f" Not assessable: {listed(not_assessed)}." if not_assessed else "",
    )


def joint(
    statement_id: str,
    *,
    joint_name: str,
    outcome: Joint,
    grounds: Grounds,
    why: str = "",
    note: str = "",
) -> Statement:
    """Report a solder joint, or that it was not opened and why (rule 7).

    *note* is a sentence of the examiner's, quoted as it stands.
    """
    templates: dict[Joint, str] = {
        "undisturbed": "joint undisturbed",
        "second heating": "joint heated",
        "cannot tell": "joint unclear",
        "not opened": "joint not opened",
    }
    return write(
        templates[outcome],
        statement_id,
        grounds,
        joint=joint_name,
        why=f" ({why})" if why else "",
        note=f" {note.rstrip('.')}." if note else "",
    )


def species(statement_id: str, *, part: str, appearance: str, grounds: Grounds) -> Statement:
    """Name what a timber, shell or bone appears to be (rule 13)."""
    return write("species", statement_id, grounds, part=part, appearance=appearance)


def conflict(
    statement_id: str,
    *,
    first: str,
    first_cost: str,
    second: str,
    second_cost: str,
    likelihood_ratio: float,
    deciding: str,
    grounds: Grounds,
) -> Statement:
    """Write both accounts, what each asks one to accept, and what would decide (rule 10).

    Parameters
    ----------
    likelihood_ratio
        How many times likelier the evidence is under the first account than under the second.
    """
    found = support(likelihood_ratio)
    side = "latter" if found.for_rival else "former"
    told = found.words if found.support is Support.NEITHER else f"{found.words} the {side}"
    return write(
        "conflict",
        statement_id,
        grounds,
        strength=found.words,
        first=first,
        first_cost=first_cost,
        second=second,
        second_cost=second_cost,
        support=told,
        deciding=deciding,
    )


def ageing_mismatch(statement_id: str, *, mismatch: str, grounds: Grounds) -> Statement:
    """Describe wear that does not fit together, without motive or person (rule 11)."""
    return write("ageing mismatch", statement_id, grounds, mismatch=mismatch)
