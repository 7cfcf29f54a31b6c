"""The next inspection of an instrument: options with gain, cost, consent; stop rules; cautions."""

from heelstamp.casework.inspections.option import ChanceFound, GainFound, Option, Plan
from heelstamp.casework.inspections.plan import Money, plan_inspections
from heelstamp.casework.inspections.stop_rules import StopTable, parse_stop_table, stopped_acts

__all__ = [
    "ChanceFound",
    "GainFound",
    "Money",
    "Option",
    "Plan",
    "StopTable",
    "parse_stop_table",
    "plan_inspections",
    "stopped_acts",
]
