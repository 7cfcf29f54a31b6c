"""Examining the doubts of a subject with the bundled reference tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from heelstamp.shop.subjects import Subject, terms_of

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.doubts import DoubtFinding


def doubts_of(subject: Subject, finding: DateFinding) -> DoubtFinding:
    """Say what does not fit and what the answer hangs on; *finding* is that of the subject."""
    from heelstamp.casework.doubts import examine_doubts
    from heelstamp.reference.tables import mark_context
    from heelstamp.reference.wear import load_wear_table

    return examine_doubts(
        subject.state,
        subject.tree,
        subject.chronology,
        mark_context(),
        finding=finding,
        wear=load_wear_table(),
        terms=terms_of(subject.chronology),
    )
