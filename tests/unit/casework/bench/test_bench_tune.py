"""Tune's table against the setup's record: what a wheel enters is what the plan reads."""

from __future__ import annotations

import pytest

from heelstamp.casework.new_entry import EntryStamp
from heelstamp.casework.setup.measures import (
    COLUMNS,
    TOOLS,
    Measure,
    entered_value,
    measures_of,
    string_count,
)
from heelstamp.casework.setup.plan import Planning, Wishes
from heelstamp.casework.setup.practice import Bench
from heelstamp.casework.setup.reading import reading_entries
from heelstamp.casework.setup.records import read_record
from heelstamp.catalogue import DossierState, Folding, PartsTree
from heelstamp.reference.parts_trees import tree_loader
from heelstamp.reference.string_tables import setup_practice, string_materials
from heelstamp.web.screens.setup.view import after, first_taking, groups, on_the_bench, taking

AT = "2026-11-02T09:14:00Z"


def tree_of(kind: str) -> PartsTree:
    return tree_loader(None)(kind)


def opened(kind: str) -> Folding:
    folding = Folding(tree_of(kind))
    folding.add(
        "instrument",
        {
            "kind": kind,
            "maker": "Sallowby Instrument Works",
            "model": "Wherry",
            "chronology": "sallowby-wherry",
        },
        where="instrument",
    )
    return folding


def bench_of(kind: str) -> Bench:
    return Bench(string_materials(), setup_practice(kind))


def all_cells(kind: str) -> list[tuple[Measure, str]]:
    measures = measures_of(tree_of(kind), read_record(opened(kind).state))
    return [(one, column) for one in measures for column in one.columns]


def entered(
    folding: Folding, measure: Measure, column: str, text: str, number: int
) -> DossierState:
    (act,) = reading_entries(
        folding.state,
        EntryStamp(f"m{number}", "", AT),
        measure=measure,
        column=column,
        text=text,
        tool="",
        lengths="mm",
        note="",
    )
    folding.add(*act, where="reading")
    return folding.state


@pytest.mark.parametrize("kind", ["guitar", "bass"])
def test_every_cell_finds_its_own_reading_again_and_no_other(kind: str) -> None:
    folding, cells = opened(kind), all_cells(kind)
    expected = {}
    for number, (measure, column) in enumerate(cells):
        value = measure.low + (measure.high - measure.low) * (0.2 + 0.6 * number / len(cells))
        value = float(round(value)) if measure.unit == "1" else round(value, 3)
        entered(folding, measure, column, f"{value}", number)
        expected[measure.key, column] = value
    state = folding.state
    record = read_record(state)
    for measure, column in cells:
        found = entered_value(state, record, measure, column)
        assert found is not None, (measure.key, column)
        assert found[0].value == pytest.approx(expected[measure.key, column]), (measure.key, column)


@pytest.mark.parametrize("kind", ["guitar", "bass"])
def test_every_measure_but_a_gauge_is_known_to_the_setup(kind: str) -> None:
    for measure, column in all_cells(kind):
        folding = opened(kind)
        middle = (measure.low + measure.high) / 2.0
        text = f"{round(middle)}" if measure.unit == "1" else f"{middle:.3f}"
        state = entered(folding, measure, column, text, 1)
        readings = read_record(state).readings
        assert [one.subject for one in readings] == ([measure.subject] if measure.subject else [])
        if readings:
            assert readings[0].stage == COLUMNS[column][1]
            assert readings[0].uncertainty_taken is False


def test_strings_are_those_of_the_parts_tree() -> None:
    assert (string_count(tree_of("guitar")), string_count(tree_of("bass"))) == (6, 4)


def test_a_preset_is_a_reading_on_a_step_of_the_tool_or_nothing() -> None:
    folding = opened("guitar")
    relief = next(one for one, _ in all_cells("guitar") if one.key == "relief")
    bench = bench_of("guitar")
    empty = taking(folding.state, relief, "found", bench, "mm")
    assert (empty.preset, empty.start) == ("", "0.20")
    state = entered(folding, relief, "found", "0.46", 1)
    assert taking(state, relief, "final", bench, "mm").preset == "0.45"
    assert taking(state, relief, "final", bench, "in").preset == "0.018"
    assert taking(state, relief, "aim", bench, "mm").preset == ""


def test_the_work_goes_from_found_to_aim_to_new_strings_to_after() -> None:
    folding, bench, asked = opened("guitar"), bench_of("guitar"), []
    tree = tree_of("guitar")
    rows = groups(folding.state, tree, None, bench, "mm")
    measures = {row.measure.key: row.measure for row in rows[0].rows}
    key, column = first_taking(rows)
    for number in range(15):
        asked.append(f"{key}.{column}")
        state = entered(folding, measures[key], column, "0.5", number)
        key, column = after(groups(state, tree, None, bench, "mm"), measures[key], column)
    assert asked == [
        "relief.found",
        "relief-down.found",
        "action-treble.found",
        "action-bass.found",
        "relief.aim",
        "action-treble.aim",
        "action-bass.aim",
        "relief.new",
        "action-treble.new",
        "action-bass.new",
        "relief.final",
        "action-treble.final",
        "action-bass.final",
        "saddle-treble.final",
        "saddle-bass.final",
    ]
    assert (key, column) == ("relief", "found")  # all is read: it begins again


def test_a_rule_is_read_to_half_its_step_and_taken_as_a_rectangle() -> None:
    """JCGM 100:2008, 4.3.7: limits ± a of equal chance have the standard uncertainty a/√3."""
    assert TOOLS["rule"].uncertainty == pytest.approx(0.25 / 3**0.5)


def test_nothing_that_is_withheld_speaks_of_options_of_a_command() -> None:
    folding = opened("guitar")
    plan = Planning(folding.state, read_record(folding.state), bench_of("guitar"), Wishes()).plan()
    assert len(plan.withheld) > 4
    assert not [one for one in plan.withheld if "--" in on_the_bench(one)]
