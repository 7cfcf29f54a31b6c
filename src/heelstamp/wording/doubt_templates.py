"""Sentences about what does not fit and what the answer hangs on: layer, rule and text of each.

A part of the one table of sentences (``sentences.TEMPLATES``), kept in a file of its own for its
length. None of them names a motive or a person (rule 11), and each conflict has both accounts and
what would decide (rule 10).
"""

from __future__ import annotations

from typing import Literal

Row = tuple[Literal["inferred"], int, str]


def _inferred(rule: int, text: str) -> Row:
    return "inferred", rule, text


DOUBTS: dict[str, Row] = {
    "two stories": _inferred(
        10,
        "{matter} not fit the rest{surprise}. Two accounts are open. Either {first}, beforehand"
        " true of {first_cost}; or {second}, beforehand true of {second_cost}. What was seen "
        "{support}; with what was believed beforehand, the odds are {odds} for the "
        "{likelier}{others}. Completion would be {first_range} under the former, {second_range}"
        " under the latter (90 %). {deciding}",
    ),
    "nothing quarrels": _inferred(
        10,
        "No observation that was tried against the others was so unusual as to be expected in "
        "fewer than one of 100 such instruments, and no two parts exclude each other.",
    ),
    "hangs on": _inferred(
        2,
        "The date hangs most on the {part}: without everything seen on {object} the range would"
        " be {first} to {last} (90 %), middle {middle}{shift}.",
    ),
    "range of ranges": _inferred(
        4,
        "With one table changed at a time ({count} changes, listed below) the 90 % range begins"
        " {lower} and ends {upper}.",
    ),
    "settled": _inferred(
        4, "No word about a part, a reading or the date turns over under any of these changes."
    ),
    "turns over": _inferred(4, "Not settled, said otherwise under a changed table: {subjects}."),
    "part not settled": _inferred(
        4,
        "Whether the {part} {past} fitted first is not settled. With the tables as they stand "
        "{pronoun} would be called {verdict} ({posterior}; before the evidence {prior}); that "
        "does not hold {turns}.",
    ),
    "finish not settled": _inferred(
        4,
        "The history of the coating is not settled. With the tables as they stand it would be "
        "called {verdict} ({posterior}; before the evidence {prior}); that does not hold "
        "{turns}.",
    ),
    "completion not settled": _inferred(
        8,
        "As the tables stand, completed between {first} and {last} ({mass}), {likeliest}; marks"
        " are lower bounds for parts that are original. This is not settled: {turns}.",
    ),
    "withheld not settled": _inferred(
        8,
        "No completion date is given for the whole instrument: {reasons} This is not settled: a"
        " date would be given {turns}.",
    ),
    "reading not settled": _inferred(
        4,
        "{mark} reads {readings}: not settled, {all_of_them} printed. What the other evidence "
        "bears out does not hold {turns}.",
    ),
    "unexplained": _inferred(
        11, "Unexplained: {mismatch}. Everyday causes give the same look: {ordinary}."
    ),
    "wear goes together": _inferred(
        11, "Wear was compared on {count} of parts and goes together{accounted}."
    ),
    "close agreement": _inferred(
        11,
        "The marks on the {parts} name months within {spread}. By the lag tables the marks of "
        "{count} parts built into one instrument lie as close in about {chance} of instruments."
        " By itself this is ordinary; it is told because of what is unexplained above.",
    ),
}
"""Filled by ``about_doubts`` and ``about_unsettled``."""
