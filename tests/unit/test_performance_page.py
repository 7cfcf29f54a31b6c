"""The page of figures keeps what was not measured again, in the order of the parts."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2] / "benchmarks"))

from performance_page import HEAD, renewed, section
from results import Result

ORDER = ("first", "second", "third")


def test_parts_that_were_not_measured_stay() -> None:
    page = renewed("", {"third": "3", "first": "1"}, ORDER)
    assert page == f"{HEAD}\n## first\n\n1\n\n## third\n\n3\n"
    again = renewed(page, {"second": "2", "third": "iii"}, ORDER)
    assert again == f"{HEAD}\n## first\n\n1\n\n## second\n\n2\n\n## third\n\niii\n"


def test_a_part_that_is_no_longer_there_goes() -> None:
    page = renewed("", {"first": "1", "second": "2"}, ORDER)
    assert "## first" not in renewed(page, {}, ORDER[1:])


def test_a_section_names_its_run_and_a_bar_in_a_cell_breaks_no_table() -> None:
    made = section([Result("a | b", 2.5, "ms", ("at most", 2))], "one core; today")
    assert made.startswith("one core; today.\n\n| measured |")
    assert made.endswith("| a \\| b | 2.5 ms | at most 2 | MISSED |  |")
