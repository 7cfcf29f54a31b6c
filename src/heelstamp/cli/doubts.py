"""How ``date --doubts`` prints what does not fit and what the answer hangs on."""

from __future__ import annotations

from typing import TYPE_CHECKING

from heelstamp.cli.output import bullet, heading, table

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.doubts import DoubtFinding
    from heelstamp.shop.subjects import Subject


def print_doubts(subject: Subject, finding: DateFinding, doubts: DoubtFinding) -> None:
    """Print the section of the papers: sentences, then one row a changed table."""
    from heelstamp.casework.papers.doubt_section import doubt_section
    from heelstamp.shop.subjects import names_of

    section = doubt_section(
        subject.state, subject.tree, names_of(subject.chronology), finding.data(), doubts.data()
    )
    heading("What does not fit, and what the answer hangs on")
    for one in section.statements:
        bullet(one.text)
    heading("One table changed at a time")
    table(
        [(row.change, row.span, row.middle, row.turned or "–") for row in section.changes],
        ("when", "90 % range", "middle", "no longer said the same of"),
    )
