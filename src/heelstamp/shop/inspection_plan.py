"""Planning the next inspection of a subject with the bundled reference tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from heelstamp.shop.subjects import Subject

if TYPE_CHECKING:
    from heelstamp.casework.inspections import Plan


def plan_for(subject: Subject) -> Plan:
    """Plan the next inspection; the same record gives the same plan.

    Money is weighed where the shop keeps comparables for the subject's chronology.
    """
    from heelstamp.casework.inspections import plan_inspections
    from heelstamp.reference.stop_rules import load_stop_table
    from heelstamp.reference.tables import mark_context
    from heelstamp.shop.appraisals import money_gain

    return plan_inspections(
        subject.state,
        subject.tree,
        subject.chronology,
        mark_context(),
        table=load_stop_table(),
        value=money_gain(subject),
    )
