"""Planning the next inspection of a subject with the bundled reference tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from heelstamp.shop.subjects import Subject

if TYPE_CHECKING:
    from heelstamp.casework.inspections import Plan
    from heelstamp.casework.inspections.plan import Money


def plan_for(subject: Subject, value: Money | None = None) -> Plan:
    """Plan the next inspection; the same record gives the same plan.

    Parameters
    ----------
    value
        Money to weigh; see `heelstamp.shop.prices.money_gain`.
    """
    from heelstamp.casework.inspections import plan_inspections
    from heelstamp.reference.stop_rules import load_stop_table
    from heelstamp.reference.tables import mark_context

    return plan_inspections(
        subject.state,
        subject.tree,
        subject.chronology,
        mark_context(),
        table=load_stop_table(),
        value=value,
    )
