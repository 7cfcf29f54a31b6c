"""What should be done to it: one act in a sentence, and what is advised.

A sum is an expectation of the price model over the shop's comparables, never a promise; days that
a piece sells earlier are not known to it.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import listed, sentence
from heelstamp.wording.strength import percent


def money_told(amount: float, unit: str) -> str:
    """Write a sum with its sign: no expectation is known to the cent."""
    sign = "−" if round(amount) < 0 else "+" if round(amount) > 0 else ""
    return f"{sign}{abs(amount):,.0f} {unit}"


@sentence("work plan: cost", "opinion", 13)
def cost(*, low: float, usual: float, high: float, minutes: float, unit: str) -> str:
    return (
        f"About {minutes:.0f} minutes, {usual:,.0f} {unit} ({low:,.0f} to {high:,.0f}), by the "
        "shop's settings."
    )


@sentence("work plan: gain", "inferred", 13)
def gain(*, mean: float, low: float, high: float, covers: float, unit: str) -> str:
    """What an act may change of the market value.

    Parameters
    ----------
    covers
        Chance that it is at least the usual cost.
    """
    return (
        f"Market value expected to change by {money_told(mean, unit)} (90 %: "
        f"{money_told(low, unit)} to {money_told(high, unit)}); it covers the usual cost with a "
        f"chance of {percent(covers)}."
    )


@sentence("work plan: days", "inferred", 13)
def days_earlier(*, days: float, low: float, high: float) -> str:
    """Days that half of such pieces sell earlier at the asking price as it stands."""
    if round(days) == 0 and round(low) == 0 and round(high) == 0:
        return "At the same asking price it is not expected to sell a day earlier."
    way = "earlier" if days >= 0 else "later"
    ends = " to ".join(f"{one:+.0f}".replace("-", "−") for one in sorted((low, high)))
    return (
        f"At the same asking price half of such pieces sell about {abs(days):.0f} days {way} "
        f"({ends} at the ends of that range); who asks the gain besides sells no earlier by it."
    )


@sentence("work plan: days not known", "inferred", 13)
def days_not_known() -> str:
    return "Days sold earlier: not known; no price is asked yet, or the time lies too far ahead."


@sentence("work plan: gain not known", "inferred", 13)
def not_known(*, wanting: Sequence[str]) -> str:
    return f"What it changes of the market value cannot be told; wanting: {listed(list(wanting))}."


@sentence("work plan: no effect", "inferred", 13)
def no_effect() -> str:
    return "The price model knows no effect of it on the market value."


@sentence("work plan: spends", "inferred", 14)
def spends(*, unlooked: Sequence[str], looked: Sequence[str]) -> str:
    """The evidence that an act ends: traces of earlier hands, under those of ours."""
    told = []
    if unlooked:
        told.append(f"{listed(list(unlooked))} (nobody has looked)")
    if looked:
        told.append(f"{listed(list(looked))} (looked at, in the record)")
    return f"After it nobody can tell whether earlier hands did this: {'; '.join(told)}."


@sentence("work plan: spends nothing", "inferred", 14)
def spends_nothing() -> str:
    return "It opens nothing that the chronology asks about."


@sentence("work plan: reversible", "opinion", 14)
def reversible(*, clause: str) -> str:
    return f"Can it be undone? {clause[:1].upper()}{clause[1:]}."


@sentence("work plan: nothing", "opinion", 14)
def nothing() -> str:
    return "Costs nothing, ends no evidence, changes nothing; it stays possible to do it later."


@sentence("work plan: advice", "opinion", 14)
def advice(*, acts: Sequence[str]) -> str:
    """What likely pays, or that nothing does."""
    if acts:
        return f"Likely to cover its cost and to end no unseen evidence: {listed(list(acts))}."
    return "As far as known, doing nothing is as good as any of them."


@sentence("work plan: keep strings", "opinion", 14)
def keep_strings(*, first_set: bool, off: bool = False) -> str:
    """Keep the strings it came with.

    Parameters
    ----------
    first_set
        Whether somebody looked and took them for what may be the first set; else nobody looked.
    off
        Whether the record has them taken off.
    """
    if off and first_set:
        return (
            "The strings it came with are off; the record says that they are plausibly "
            "the first set. Keep them, bagged."
        )
    if off:
        return (
            "The strings it came with are off, and nobody looked whether they are "
            "plausibly the first set: keep them, bagged, and look."
        )
    if first_set:
        return "Keep the strings on: the record says that they are plausibly the first set."
    return (
        "The strings it came with: nobody looked whether they are plausibly the first set. Look "
        "before they come off, and keep them, bagged, whatever is decided."
    )


@sentence("work plan: strings looked at", "opinion", 14)
def strings_looked() -> str:
    return "The strings were looked at and not taken for the first set; keep them, bagged."
