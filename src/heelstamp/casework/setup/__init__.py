"""Setting up: strings, relief, action, rod, intonation, from found through plan to final."""

from heelstamp.casework.setup.describe import describe_plan
from heelstamp.casework.setup.plan import SetupPlan, Wishes
from heelstamp.casework.setup.practice import Bench, Usual
from heelstamp.casework.setup.set_text import StringSet, read_set
from heelstamp.casework.setup.sheet import SetupSheet, SheetRow, setup_sheet
from heelstamp.casework.setup.sheet_values import sheet_data

__all__ = [
    "Bench",
    "SetupPlan",
    "SetupSheet",
    "SheetRow",
    "StringSet",
    "Usual",
    "Wishes",
    "describe_plan",
    "read_set",
    "setup_sheet",
    "sheet_data",
]
