"""The history of the finish, as one statement.

The finish is one thing with four histories: the first one, untouched or with touched places, an old
refinish, a recent one. Rule 6: fluorescence alone never leads to one of them; without covered areas
looked at, it stays 'not determined'. Where it is the first one but touching is open, that is said.
Places that differ under the lamp are told in the same sentence: none is likelier touched than the
finish has touched places at all.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.wording.about_parts import (
    ORIGINAL,
    STATE_NOUNS,
    Verdict,
    figures_told,
    open_states,
    support_clause,
)
from heelstamp.wording.sentences import Grounds, Statement, Told, counted, sentence
from heelstamp.wording.strength import NOT_DETERMINED, percent, probability_word

TOUCHED = "touched_up"
FINISH_NOUNS: dict[str, str] = {
    **STATE_NOUNS,
    ORIGINAL: "the first one, untouched",
    TOUCHED: "the first one, touched up in places",
}
FIRST = "first finish, touched or not"
LEAST_PLACE = 0.10
"""Places less likely touched than this are counted and not named."""

Places = Sequence[tuple[str, float]]
"""Places that differ under the lamp: the look of each, and P(touched)."""


def finish_verdict(
    states: Mapping[str, float], *, covered_areas_examined: bool
) -> tuple[Verdict, float]:
    """Reduce the states of the finish to one verdict and its posterior probability."""
    best = max(states, key=lambda name: states[name])
    if not covered_areas_examined:
        return "not determined", states[best]
    if probability_word(states[best]) != NOT_DETERMINED:
        verdicts: dict[str, Verdict] = {ORIGINAL: "first finish", TOUCHED: "touched up"}
        return verdicts.get(best, "refinished"), states[best]
    first = first_share(states)
    if probability_word(first) != NOT_DETERMINED:
        return "first finish, touched or not", first
    return "not determined", states[best]


def first_share(states: Mapping[str, float]) -> float:
    """P(the first finish, touched or not)."""
    return min(1.0, states.get(ORIGINAL, 0.0) + states.get(TOUCHED, 0.0))


@sentence("finish not determined", "inferred", 6)
def finish_not_determined(
    *, states: Mapping[str, float], covered_areas_examined: bool, places: Places = ()
) -> Told:
    shares, nouns = open_states(states, FINISH_NOUNS)
    why = "" if covered_areas_examined else " Covered areas were not looked at."
    begin = "The history of the finish is not determined"
    return Told(
        f"{begin}: {shares}.{why}{_places(places)}",
        NOT_DETERMINED,
        () if covered_areas_examined else ("finish in covered areas",),
        f"{begin}: {nouns}.{why}",
    )


@sentence("finish state", "inferred", 6)
def finish_found(*, state: str, posterior: float, prior: float, places: Places = ()) -> Told:
    word, noun = probability_word(posterior), FINISH_NOUNS[state]

    def write(figures: str, of_places: str) -> str:
        return (
            f"The finish is {word} {noun}, as far as examined{figures}. Covered areas were looked "
            f"at.{support_clause(posterior, prior, f'“{noun}”')}{of_places}"
        )

    told = write(figures_told(percent(posterior), percent(prior)), _places(places))
    return Told(told, word, plain=write("", ""))


@sentence("finish first, touching open", "inferred", 6)
def finish_first(
    *, posterior: float, prior: float, touched: float, untouched: float, places: Places = ()
) -> Told:
    """The first finish, while it is open whether places of it were touched up."""
    word = probability_word(posterior)
    shares = f": touched up {percent(touched)}, untouched {percent(untouched)}"

    def write(figures: str, open_: str, of_places: str) -> str:
        return (
            f"The finish is {word} the first one, as far as examined{figures}; whether places of "
            f"it were touched up is not determined{open_}. Covered areas were looked at."
            f"{support_clause(posterior, prior, 'the first finish')}{of_places}"
        )

    told = write(figures_told(percent(posterior), percent(prior)), shares, _places(places))
    return Told(told, word, plain=write("", "", ""))


def finish_state(
    statement: str,
    grounds: Grounds,
    *,
    states: Mapping[str, float],
    priors: Mapping[str, float],
    covered_areas_examined: bool,
    places: Places = (),
) -> Statement:
    """Say what the finish is, or that it is not determined (rule 6).

    Parameters
    ----------
    places
        Places that differ under the lamp, each with P(touched | all).
    """
    verdict, posterior = finish_verdict(states, covered_areas_examined=covered_areas_examined)
    if verdict == "not determined":
        return finish_not_determined(
            statement,
            grounds,
            states=states,
            covered_areas_examined=covered_areas_examined,
            places=places,
        )
    if verdict == FIRST:
        return finish_first(
            statement,
            grounds,
            posterior=posterior,
            prior=first_share(priors),
            touched=states.get(TOUCHED, 0.0),
            untouched=states.get(ORIGINAL, 0.0),
            places=places,
        )
    best = max(states, key=lambda name: states[name])
    return finish_found(
        statement,
        grounds,
        state=best,
        posterior=posterior,
        prior=priors.get(best, 0.0),
        places=places,
    )


def _places(places: Places) -> str:
    """Say which places that differ under the lamp were likely touched up."""
    if not places:
        return ""
    ordered = sorted(places, key=lambda one: -one[1])
    named = [f"{look} {percent(p)}" for look, p in ordered if p >= LEAST_PLACE]
    rest = len(ordered) - len(named)
    limit = percent(LEAST_PLACE)
    if rest:
        each = " each" if rest > 1 else ""
        named.append(f"{counted(rest, 'other place')} below {limit}{each}")
    return f" Touched up, of the places that differ under UV-A: {'; '.join(named)}."
