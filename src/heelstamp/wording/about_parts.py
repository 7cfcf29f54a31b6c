"""Parts: first-fitted or not; joints.

Rule 5 keeps 'original' (fitted at first completion, as far as examined) apart from
'period-correct' (right type and time, first fitting not shown). Rule 4 sets the words of
probability; rule 3 the word of support, taken from posterior odds over prior odds. A part that
nobody looked at gets no word, however high its prior. The finish is told in ``about_coat``.

A sentence that carries figures has a plain form without them, for a reader whose table of parts
holds each figure beside its word.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Literal

from heelstamp.wording.about_closed import part_not_examined, part_seen_from_outside
from heelstamp.wording.sentences import (
    Grounds,
    Sentence,
    Statement,
    Told,
    agreement,
    listed,
    sentence,
)
from heelstamp.wording.strength import (
    BEARS,
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
    "touched_up": "the first finish, touched up",
    "old_refinish": "an old refinish",
    "recent_refinish": "a recent refinish",
}
STATE_CLAUSES: dict[str, str] = {
    ORIGINAL: "the {part} {was} fitted first",
    PERIOD: "the {part} {is_} a replacement of the period",
    LATER: "the {part} {is_} a later replacement",
    DONOR: "the {part} {comes} from another instrument",
    "touched_up": "the {part} {is_} the first one, touched up",
    "old_refinish": "the {part} {is_} an old refinish",
    "recent_refinish": "the {part} {is_} a recent refinish",
}

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
    "first finish",
    "first finish, touched or not",
    "touched up",
    "refinished",
]
"""What a statement about a part comes down to, for drawings and tables."""
VERDICT_WORDS: dict[Verdict, str] = {
    "assumed": "taken as the instrument's own",
    "from another": "from another instrument",
    "first finish, touched or not": "the first finish, touched or not",
}
"""Verdicts whose name alone does not say what is meant."""


WIDER: dict[Verdict, Verdict] = {
    "original": "period-correct",
    "later": "replaced",
    "from another": "replaced",
}
"""What each verdict leaves true that says less and is likelier."""


def verdict_words(word: str, verdict: Verdict) -> str:
    """Write what is said of a part, as tables have it: 'very probably original'."""
    return f"{word} {VERDICT_WORDS.get(verdict, verdict)}".strip()


Joint = Literal["undisturbed", "second heating", "cannot tell", "not opened"]


def state_clause(part: str, state: str) -> str:
    """Write a state of a part as an account: 'the neck was fitted first'."""
    words = agreement(part)
    template = STATE_CLAUSES.get(state, f"the {{part}} {{is_}} {state.replace('_', ' ')}")
    return template.format(part=part, is_=words.is_, was=words.was, comes=words.comes)


def figures_told(posterior: str, prior: str) -> str:
    """Write a probability with the one it started from (rule 4)."""
    return f" ({posterior}; before the evidence {prior})"


def with_figures(write: Callable[[str], str], posterior: str, prior: str, strength: str) -> Told:
    """Tell a sentence that has figures in one place, with its plain form."""
    return Told(write(figures_told(posterior, prior)), strength, plain=write(""))


def open_states(states: Mapping[str, float], nouns: Mapping[str, str]) -> tuple[str, str]:
    """Write the states that are open with their shares, and without."""
    ordered = sorted(states.items(), key=lambda one: (-one[1], one[0]))
    told = [(nouns.get(name, name), percent(p)) for name, p in ordered if p >= 0.01]
    with_shares = listed([f"{noun} {share}" for noun, share in told])
    return with_shares, listed([noun for noun, _ in told], "or")


def support_clause(posterior: float, prior: float, about: str) -> str:
    """Say how much the evidence added; nothing where the prior cannot be moved."""
    if not 0 < prior < 1:
        return ""
    found = support(bayes_factor(posterior, prior))
    if found.support is Support.NEITHER:
        return f" The evidence favours neither {about} nor its alternatives."
    target = f"the alternatives to {about}" if found.for_rival else f"{about} over the alternatives"
    return f" The evidence {found.words} {target}."


def part_verdict(
    states: Mapping[str, float], *, examined: bool, assumed: bool = False, outside: bool = False
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
    outside
        Only its type and time were seen, because the way to it stayed shut: never 'original'.
    """
    if assumed:
        return "assumed", 1.0
    if not examined:
        return "not examined", 0.0
    best = max(states, key=lambda name: (states[name], name == ORIGINAL))
    verdicts: dict[str, Verdict] = {LATER: "later", DONOR: "from another"}
    if not outside:
        verdicts[ORIGINAL] = "original"
    if best in verdicts and probability_word(states[best]) != NOT_DETERMINED:
        return verdicts[best], states[best]
    together = min(1.0, states.get(ORIGINAL, 0.0) + states.get(PERIOD, 0.0))
    if probability_word(together) != NOT_DETERMINED:
        return "period-correct", together
    other = min(1.0, max(0.0, 1 - states.get(ORIGINAL, 0.0)))
    if probability_word(other) != NOT_DETERMINED:
        return "replaced", other
    return "not determined", states[best]


def widened(verdict: Verdict, states: Mapping[str, float]) -> tuple[Verdict, float]:
    """Return what *verdict* leaves true that says less, with its probability (`WIDER`)."""
    wide = WIDER[verdict]
    first = states.get(ORIGINAL, 0.0)
    p = 1 - first if wide == "replaced" else first + states.get(PERIOD, 0.0)
    return wide, min(1.0, max(0.0, p))


@sentence("figures explained", "inferred", 4)
def figures_explained() -> str:
    """What the columns beside the word of a part hold."""
    return (
        "After and before: the probability of what is said, with the evidence and before it. "
        "Changed: the least and the greatest when one assumption is changed. Ratio: how many times "
        "likelier what was seen is if it holds than if not. From even odds: the probability that "
        "this ratio would give had both been as likely beforehand."
    )


@sentence("rests explained", "inferred", 2)
def rests_explained() -> str:
    """What it means that a sentence about a part rests on an entry."""
    return (
        "Rests on: entries without any one of which the probabilities of the part’s states would "
        f"move by {percent(BEARS)} or more; where none alone does, all that counts of what was "
        "seen on it."
    )


@sentence("part assumed", "inferred", 2)
def part_assumed(*, part: str) -> Told:
    words = agreement(part)
    return Told(
        f"The {part} {words.is_} taken as the instrument's own: {words.its} completion is the date "
        "given here. This is an assumption, not a finding.",
        "assumed",
    )


@sentence("part not determined", "inferred", 4)
def part_not_determined(
    *, part: str, states: Mapping[str, float], priors: Mapping[str, float]
) -> Told:
    best = max(states, key=lambda name: states[name])
    clause = support_clause(states[best], priors.get(best, 0.0), STATE_NOUNS.get(best, best))
    shares, nouns = open_states(states, STATE_NOUNS)
    begin = f"Whether the {part} {agreement(part).was} fitted first is not determined"
    return Told(f"{begin}: {shares}.{clause}", NOT_DETERMINED, plain=f"{begin}: {nouns}.{clause}")


@sentence("part original", "inferred", 5)
def part_original(*, part: str, posterior: float, prior: float) -> Told:
    word = probability_word(posterior)
    return with_figures(
        lambda figures: (
            f"The {part} {agreement(part).is_} {word} original, that is fitted at first "
            f"completion, as far as examined{figures}."
            f"{support_clause(posterior, prior, 'first fitting')}"
        ),
        percent(posterior),
        percent(prior),
        word,
    )


@sentence("part period-correct", "inferred", 5)
def part_period_correct(*, part: str, posterior: float, prior: float) -> Told:
    word, words = probability_word(posterior), agreement(part)
    return with_figures(
        lambda figures: (
            f"The {part} {words.is_} {word} period-correct, right in type and time{figures}; "
            f"whether {words.it} {words.was} fitted first is not determined."
            f"{support_clause(posterior, prior, 'a part of the period')}"
        ),
        percent(posterior),
        percent(prior),
        word,
    )


@sentence("part later", "inferred", 5)
def part_later(*, part: str, posterior: float, prior: float) -> Told:
    word = probability_word(posterior)
    return with_figures(
        lambda figures: (
            f"The {part} {agreement(part).is_} {word} a later replacement{figures}."
            f"{support_clause(posterior, prior, STATE_NOUNS[LATER])}"
        ),
        percent(posterior),
        percent(prior),
        word,
    )


@sentence("part from another", "inferred", 5)
def part_from_another(*, part: str, posterior: float, prior: float) -> Told:
    word = probability_word(posterior)
    source = "another instrument as its source"
    return with_figures(
        lambda figures: (
            f"The {part} {word} {agreement(part).comes} from another instrument{figures}."
            f"{support_clause(posterior, prior, source)}"
        ),
        percent(posterior),
        percent(prior),
        word,
    )


@sentence("part replaced", "inferred", 5)
def part_replaced(
    *, part: str, posterior: float, prior: float, states: Mapping[str, float]
) -> Told:
    word, (shares, nouns) = probability_word(posterior), open_states(states, STATE_NOUNS)
    return with_figures(
        lambda figures: (
            f"The {part} {agreement(part).is_} {word} not the first fitted{figures}; the kind of "
            f"replacement is not determined: {shares if figures else nouns}."
            f"{support_clause(posterior, prior, 'replacement')}"
        ),
        percent(posterior),
        percent(prior),
        word,
    )


_SINGLE: dict[Verdict, Sentence[...]] = {
    "original": part_original,
    "later": part_later,
    "from another": part_from_another,
}


def part_state(  # noqa: PLR0911 - one a verdict
    statement: str,
    grounds: Grounds,
    *,
    part: str,
    states: Mapping[str, float],
    priors: Mapping[str, float],
    examined: bool,
    assumed: bool = False,
    outside: bool = False,
    wider: bool = False,
    ways: Sequence[str] = (),
    acts: Sequence[str] = (),
    refused: Sequence[str] = (),
) -> Statement:
    """Say whether a part was fitted first, in words no stronger than its posterior.

    Parameters
    ----------
    part
        Name of the part without article: 'output jack'.
    states, priors
        Probability of each dating state after and before the evidence; both disclosed (rule 4).
    examined, assumed, outside
        As in :func:`part_verdict`.
    wider
        Say what the verdict leaves true that says less, as `widened` gives it.
    ways, acts, refused
        What was seen of the ways to it; acts that would open one; those the owner refused.
    """
    verdict, posterior = part_verdict(states, examined=examined, assumed=assumed, outside=outside)
    if wider:
        verdict, posterior = widened(verdict, states)
    bare = not (grounds.rests_on or grounds.not_examined)
    gap = replace(grounds, not_examined=(part,)) if bare else grounds
    if verdict == "assumed":
        return part_assumed(statement, gap, part=part)
    if verdict == "not examined":
        return part_not_examined(
            statement,
            gap,
            part=part,
            posterior=states.get(ORIGINAL),
            prior=priors.get(ORIGINAL, 0.0),
            ways=ways,
            refused=refused,
        )
    if verdict == "not determined":
        return part_not_determined(statement, grounds, part=part, states=states, priors=priors)
    first = priors.get(ORIGINAL, 0.0)
    if verdict == "period-correct":
        prior = min(1.0, first + priors.get(PERIOD, 0.0))
        if outside:
            return part_seen_from_outside(
                statement,
                grounds,
                part=part,
                posterior=posterior,
                prior=prior,
                first=states.get(ORIGINAL, 0.0),
                ways=ways,
                acts=acts,
                refused=refused,
            )
        return part_period_correct(statement, grounds, part=part, posterior=posterior, prior=prior)
    if verdict == "replaced":
        prior = 1 - priors.get(ORIGINAL, 1.0)
        return part_replaced(
            statement, grounds, part=part, posterior=posterior, prior=prior, states=states
        )
    best = max(states, key=lambda name: (states[name], name == ORIGINAL))
    say_one = _SINGLE[verdict]
    prior = priors.get(best, 0.0)
    return say_one(statement, grounds, part=part, posterior=posterior, prior=prior)


@sentence("joint undisturbed", "seen", 7)
def joint_undisturbed(*, joint: str, note: str) -> str:
    return f"The {joint} shows no sign of a second heating.{_noted(note)}"


@sentence("joint heated", "seen", 7)
def joint_heated(*, joint: str, note: str) -> str:
    return (
        f"The {joint} shows signs of second heating. By itself this does not show that the part "
        f"was replaced.{_noted(note)}"
    )


@sentence("joint unclear", "seen", 7)
def joint_unclear(*, joint: str, note: str) -> str:
    return f"The {joint} was looked at; whether it was heated twice cannot be told.{_noted(note)}"


@sentence("joint not opened", "seen", 9)
def joint_not_opened(*, joint: str, note: str) -> str:
    return f"The {joint} was not opened.{_noted(note)}"


JOINTS = {
    "undisturbed": joint_undisturbed,
    "second heating": joint_heated,
    "cannot tell": joint_unclear,
    "not opened": joint_not_opened,
}
"""What a look at a solder joint came to (rule 7); *note* is quoted as it stands."""


def _noted(note: str) -> str:
    return f" {note.rstrip('.')}." if note else ""
