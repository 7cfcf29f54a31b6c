"""What the words of every report mean."""

from __future__ import annotations

from heelstamp.casework.papers.document_rows import ScaleRow
from heelstamp.wording.strength import PROBABLY, VERY_PROBABLY, percent

NOT_SETTLED_ROW = ScaleRow(
    "not settled",
    "No word of probability holds when one assumption is changed within what a shop could have "
    "got wrong. Where words that claim less hold under every such change, those are printed.",
)

SCALE: tuple[ScaleRow, ...] = (
    ScaleRow(
        "favours neither",
        "Evidence less than 2 times likelier under one account than another: no favour either way.",
    ),
    ScaleRow("slightly favours", "From 2 up to 10 times likelier."),
    ScaleRow("supports", "Over 10 and up to 100 times likelier."),
    ScaleRow("clearly supports", "Over 100 and up to 1000 times likelier."),
    ScaleRow(
        "strongly supports",
        "Over 1000 times likelier. No higher word is used: the figures of a workshop are not "
        "calibrated beyond that. These words state support, not probability.",
    ),
    ScaleRow(
        "probably",
        f"A posterior probability of at least {percent(PROBABLY)}, starting from the prior named "
        "beside it.",
    ),
    ScaleRow("very probably", f"A posterior probability of at least {percent(VERY_PROBABLY)}."),
    ScaleRow("not determined", "Anything less, for every account."),
    ScaleRow("original", "Fitted at first completion, as far as examined."),
    ScaleRow(
        "period-correct", "Right in type and time; whether it was fitted first is not determined."
    ),
    ScaleRow(
        "seen, measured, inferred, opinion",
        "Four kinds of statement, kept apart: a fact; a value with its uncertainty; hypotheses "
        "compared; a judgement.",
    ),
    ScaleRow(
        "± and %",
        "± is one standard uncertainty. A 90 % range holds the month in nine of ten such cases, if "
        "the chronology's assumptions hold.",
    ),
)
