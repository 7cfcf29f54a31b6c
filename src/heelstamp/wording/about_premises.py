"""What is said of sums at a place and their cover; the insurer decides (rule 13)."""

from __future__ import annotations

from heelstamp.wording.sentences import listed, sentence


@sentence("premises over", "measured", 13)
def over(*, place: str, sum_: str, limit: str) -> str:
    return (
        f"{place}: {sum_} lies there, above the limit of {limit}. Move some of it, or ask the "
        "insurer."
    )


@sentence("premises near", "measured", 13)
def near(*, place: str, sum_: str, left: str, limit: str) -> str:
    return f"{place}: {sum_} lies there; {left} more reaches the limit of {limit}."


@sentence("premises unvalued", "seen", 9)
def unvalued(*, place: str, tags: list[str]) -> str:
    return (
        f"{place}: no insured value is agreed for {listed(tags)}; the sum is too small by that. "
        "Agree on one under Money."
    )


@sentence("premises not covered", "seen", 13)
def uncovered(*, tags: list[str]) -> str:
    return f"No cover names the place of {listed(tags)}: name it, or ask the insurer."


@sentence("premises ends", "seen", 13)
def ends(*, place: str, until: str) -> str:
    return f"{place}: the cover ends on {until}. Renew it, or agree that there is none."
