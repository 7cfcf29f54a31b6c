"""Sentences about the census, what was learned from it and what moved: layer, rule, text of each.

A part of the one table of sentences (``sentences.TEMPLATES``), kept in a file of its own. They
count and measure; none says that an edition is right. Rule 15: a conclusion that moves is told
with what it was before.
"""

from __future__ import annotations

from typing import Literal

Row = tuple[Literal["measured"], int, str]


def _measured(rule: int, text: str) -> Row:
    return "measured", rule, text


CENSUS: dict[str, Row] = {
    "census added": _measured(
        1,
        "{count} added to the census of {chronology}, which now holds {total}; change-overs may "
        "be learned from {teaching} of them.{silent}",
    ),
    "census taught": _measured(
        2, "Learned from {taught} instruments; {silent} dated by their features only did not teach."
    ),
    "census silent": _measured(2, "Seen too seldom, left as they were (looks): {features}."),
    "serials learned": _measured(
        2,
        "Serial numbers {prefix}: {knots} knots from {count} instruments, scatter {scatter} "
        "months.",
    ),
    "ranges held": _measured(
        4,
        "Of {count} instruments dated without their marks, by editions they did not teach, the "
        "{level} ranges held {held} of what is known with marks; number alone allows {low} to "
        "{high} around it.",
    ),
    "ranges wide": _measured(
        8, "The median 90 % range was {without} months wide, with marks {with_marks}."
    ),
    "dated again": _measured(15, "{chronology}: {count} dated again; {moved} moved.{first}"),
    "dates turned": _measured(15, "Dates now withheld: {withheld}; now given: {given}."),
    "conclusion moved": _measured(15, "{id}: {what}."),
}
"""Templates by name."""
