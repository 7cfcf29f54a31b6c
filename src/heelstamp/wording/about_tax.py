"""What is said of tax schemes: prompts that defer to licensed advice (rule 13)."""

from __future__ import annotations

from heelstamp.wording.sentences import sentence


@sentence("tax other currency", "seen", 13)
def other_currency(*, bought: str) -> str:
    return (
        f"It was bought for {bought}, another currency: convert it by the rate that your authority "
        "names for that day, and enter that sum."
    )


@sentence("tax loss", "measured", 13)
def loss() -> str:
    return "Sold for less than it was bought: no tax on the margin, and none off another sale."


@sentence("tax margin words", "opinion", 13)
def margin_words() -> str:
    return (
        "In the EU such an invoice shows no tax apart and names the margin scheme for second-hand "
        "goods (Directive 2006/112/EC, articles 226 (14) and 325): ask who may advise."
    )


@sentence("tax no terms", "seen", 9)
def no_terms() -> str:
    return "No terms known here lead to the sum that was due: what was earned cannot be parted."


@sentence("tax advice", "opinion", 13)
def advice() -> str:
    return (
        "Which scheme a sale may be under depends on who sold to whom and where. This register "
        "shows what was declared; it is not tax advice: ask who may give it."
    )
