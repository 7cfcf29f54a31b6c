"""Tables for other shops: their limits, what they rest on, and what is refused when read."""

from collections.abc import Callable, Sequence
from functools import cache
from typing import Any

import msgspec
import numpy as np
import pytest

from fakes.wherry_census import document, wherry_rows
from heelstamp.casework.census.rows import CensusRow
from heelstamp.casework.federation.ground import Ground
from heelstamp.casework.federation.limits import Given, blur_for, smallest_group
from heelstamp.casework.federation.making import Made, make_tables
from heelstamp.casework.federation.summary import CensusTables, band_of, read_tables, steps_of
from heelstamp.errors import ConflictError, InputError


@cache
def ground() -> Ground:
    return Ground.of(document())


def copies(times: int) -> list[CensusRow]:
    """The invented census several times, as other instruments."""
    return [
        msgspec.structs.replace(row, id=f"{row.id}-{time}")
        for time in range(times)
        for row in wherry_rows()
    ]


def made(rows: Sequence[CensusRow], *earlier: Given) -> Made:
    return make_tables(
        ground(), rows, earlier, gathered="all that came in", day="2026-11-30", program="0.1.0"
    )


@cache
def once() -> Made:
    return made(copies(1))


def plain() -> dict[str, Any]:
    value: dict[str, Any] = msgspec.to_builtins(once().tables)
    return value


def test_a_table_needs_twenty_instruments_and_is_blurred_under_fifty() -> None:
    tables = {one.feature: one for one in once().tables.tables}
    assert "f12" in tables
    assert all(one.blurred and one.instruments == "20-49" for one in tables.values())
    assert all(len(pairs) >= 20 for pairs in once().given.instruments.values())
    assert all(count < 20 for count in once().withheld.values())
    with pytest.raises(ConflictError, match="20 instruments more than was told before"):
        made(copies(1)[:18])
    twice = {one.feature: one for one in made(copies(2)).tables.tables}
    assert not twice["f12"].blurred
    assert twice["f12"].instruments == "50-99"


def test_the_difference_to_every_earlier_table_has_twenty_instruments() -> None:
    rows = copies(3)
    first = made(rows[:60])
    with pytest.raises(ConflictError, match="more than was told before"):
        made(rows[:75], first.given)
    again = made(rows[:60], first.given)
    assert (again.tables.number, again.tables.before) == (2, first.tables.digest)
    second = {one.feature: one for one in made(rows, first.given).tables.tables}
    assert second["f12"].blurred  # it differs by fewer than fifty
    assert second["f12"].instruments == "50-99"


def test_groups_are_counted_in_instruments_that_differ() -> None:
    some = [(f"H-{n}", "a") for n in range(60)]
    assert smallest_group(some, []) == 60
    assert smallest_group(some, [some]) == 60
    assert smallest_group(some, [some[:55]]) == 5
    assert smallest_group([*some[1:], ("H-0", "b")], [some]) == 1  # more is known of one
    read_anew = [(id_, "b") for id_, _ in some]
    assert smallest_group(read_anew, [some]) == 60
    assert smallest_group([*read_anew, ("H-60", "b")], [some]) == 1  # who came in is not hidden
    assert smallest_group([], [some[:0]]) == 0
    assert [blur_for(one) for one in (19, 20, 49, 50)] == [None, 6.0, 6.0, 0.0]
    assert [band_of(one) for one in (0, 19, 20, 500, 10**6)] == [
        "under 20",
        "under 20",
        "20-49",
        "500 and more",
        "500 and more",
    ]


def test_no_id_number_or_month_of_an_instrument_is_in_it() -> None:
    text = msgspec.json.encode(once().tables).decode()
    for row in copies(1):
        assert row.id not in text
        assert row.evidence not in text
    strings: set[str] = set()

    def gather(value: object) -> None:
        if isinstance(value, str):
            strings.add(value)
        elif isinstance(value, dict):
            for one in value.values():
                gather(one)
        elif isinstance(value, list):
            for one in value:
                gather(one)

    gather(plain())
    known = set(ground().rows) | {"under 20", "20-49", "all that came in", "marks", "documents"}
    rest = {"heelstamp/census-tables/1", "sallowby-wherry", ground().digest, "0.1.0", "2026-11-30"}
    numbers = {one for one in strings if set(one) <= set("-0123456789 ") and " " in one}
    assert strings - known - rest - numbers == {""}


def test_what_was_learned_and_what_only_names_leave_the_ground_as_it_is() -> None:
    other = document()
    other |= {"edition": "another", "note": "ours", "maker": "Sallowby Works"}
    row = next(one for one in other["feature"] if one["id"] == "f12")
    row["change"][0] |= {"first_new": "1962-12", "source": "seen"}
    assert Ground.of(other).digest == ground().digest
    several = next(one for one in other["feature"] if one["id"] == "g1")
    several["change"][0]["first_new"] = (
        "1955-01"  # it is not exchanged: instruments are dated by it
    )
    assert Ground.of(other).digest != ground().digest
    delayed = document()
    delayed["timing"]["lag"]["mean"] += 1
    assert Ground.of(delayed).digest != ground().digest


def test_tables_are_read_back_as_they_were_made() -> None:
    assert read_tables(plain(), ground(), "a.json") == once().tables
    steps = steps_of(once().tables.tables[0])
    assert steps.shape == ground().shape
    assert steps.max() == 0


def _number(value: dict[str, Any], number: object) -> None:
    """Put a number into the fourth row of the first table."""
    row = _first(value)["steps"][3].split(" ")
    row[2] = str(number)
    _first(value)["steps"][3] = " ".join(row)


def _first(value: dict[str, Any]) -> dict[str, Any]:
    one: dict[str, Any] = value["tables"][0]
    return one


REFUSED: dict[str, tuple[Callable[[dict[str, Any]], object], str]] = {
    "another maker": (lambda v: v.update(chronology="other"), "tables of another maker"),
    "another edition": (lambda v: v.update(ground="0" * 64), "made on another edition"),
    "another schema": (lambda v: v.update(schema="x/1"), "not tables of a census"),
    "another round": (lambda v: v.update(round=2), "round"),
    "too few": (lambda v: _first(v).update(instruments="under 20"), "fewer than 20"),
    "no whole number": (lambda v: _number(v, -1.5), "no whole numbers"),
    "text": (lambda v: _number(v, "nine"), "no whole numbers"),
    "another size": (lambda v: _first(v)["steps"].pop(), "another size"),
    "a ragged row": (lambda v: _first(v)["steps"].__setitem__(3, "0 -1"), "another size"),
    "a number": (lambda v: _first(v)["steps"].__setitem__(3, -7), "steps"),
    "above 0": (lambda v: _number(v, 1), "largest number is 0"),
    "a wide range": (lambda v: _number(v, -90000), "more than its looks"),
    "counts": (lambda v: _first(v).update(variants=["under 20", "500 and more"]), "contradict"),
    "no such feature": (lambda v: _first(v).update(feature="p2"), "no feature whose tables"),
    "twice": (lambda v: v["tables"].append(v["tables"][0]), "two tables"),
    "no table": (lambda v: v.update(tables=[]), "tables"),
    "an unknown field": (lambda v: v.update(owner="A"), "owner"),
    "no day": (lambda v: v.update(day="yesterday"), "day"),
}


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_in_one_line(name: str) -> None:
    change, told = REFUSED[name]
    value = plain()
    change(value)
    with pytest.raises(InputError, match=told) as refused:
        read_tables(value, ground(), "a.json")
    assert str(refused.value).startswith("a.json")
    assert "\n" not in str(refused.value)


def test_every_field_is_of_the_declared_kind() -> None:
    assert isinstance(once().tables, CensusTables)
    assert steps_of(once().tables.tables[0]).dtype == np.int64
