"""From a shop's table to comparables: what is read, what is refused, cell by cell."""

import pytest

from heelstamp.casework.appraisal.comparables import decode, encode, possible_repeats
from heelstamp.casework.appraisal.sales_table import comparables_from, read_sales_map
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet, TableError
from heelstamp.errors import InputError
from heelstamp.reference.demonstration import demo_sales

HEAD = (
    "id",
    "date",
    "kind",
    "price",
    "currency",
    "year",
    "grade",
    "finish",
    "pickups",
    "neck",
    "case",
    "colour",
    "venue",
    "weight",
)
ROW = (
    "a",
    "2021-02",
    "sold",
    "8,650",
    "USD",
    "1956",
    "B",
    "orig.",
    "0",
    "first",
    "yes",
    "std",
    "auction",
    "3284",
)


def sheet(*rows: tuple[str, ...], head: tuple[str, ...] = HEAD) -> Sheet:
    return Sheet(
        "sales.csv", head, tuple((n, tuple(map(Cell, row))) for n, row in enumerate(rows, start=2))
    )


def with_(**changes: str) -> tuple[str, ...]:
    return tuple(changes.get(name, cell) for name, cell in zip(HEAD, ROW, strict=True))


def refused(table: Sheet) -> list[str]:
    with pytest.raises(TableError) as caught:
        comparables_from(table)
    return [str(one) for one in caught.value.cells]


def test_the_demonstration_is_read_by_its_names() -> None:
    rows = comparables_from(demo_sales())
    assert len(rows) == 24
    assert sum(one.kind == "asking" for one in rows) == 4
    first, fifth = rows[0], rows[4]
    assert (first.id, first.month, first.minor, first.currency) == ("W01", "2021-02", 865000, "USD")
    assert (fifth.finish, fifth.pickups, fifth.neck, fifth.case) == (
        "touched_up",
        2,
        "later",
        False,
    )
    assert (rows[2].colour, rows[2].made, rows[2].steps) == ("rare", (1964, 1964), 0.0)
    assert all(decode(encode(one)) == one for one in rows)


def test_a_whole_row() -> None:
    (one,) = comparables_from(sheet(ROW))
    assert (one.venue, one.weight_g, one.grade) == ("auction", 3284.0, "B")
    assert (one.neck_seen, one.others, one.aspects) == (None, None, {})


def test_blank_and_not_looked_are_not_recorded_and_absent_case_is_none() -> None:
    (one,) = comparables_from(
        sheet(
            with_(grade="", finish="not looked", pickups="-", neck="n/a", case="absent", venue="")
        )
    )
    assert (one.grade, one.finish, one.pickups, one.neck, one.venue) == (None,) * 5
    assert one.case is False
    assert one.steps is None


def test_hammer_and_premium_make_the_price_that_was_paid() -> None:
    head = ("date", "kind", "hammer", "premium", "currency")
    (one,) = comparables_from(sheet(("2022-03", "sold", "8000", "25 %", "USD"), head=head))
    assert one.minor == 1_000_000
    assert one.premium == "25 %"
    assert (
        "without the buyer's premium"
        in refused(sheet(("2022-03", "sold", "8000", "", "USD"), head=head))[0]
    )


def test_aspects_stand_for_a_missing_grade() -> None:
    head = ("date", "kind", "USD", "structural", "frets")
    (one,) = comparables_from(sheet(("2022-03", "sold", "8000", "A", "C"), head=head))
    assert one.aspects == {"structural": "A", "frets": "C"}
    assert one.steps == 1.0


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"kind": "given"}, "column kind: a word that says nothing here (received: given)"),
        ({"kind": ""}, "neither sold, asking nor unsold"),
        ({"date": "2021-13"}, "column date: a year has no such month"),
        ({"date": ""}, "a price without a date"),
        ({"price": "cheap"}, "column price: not an amount of money"),
        ({"price": "0"}, "a price is above nought"),
        ({"price": ""}, "no price"),
        ({"currency": "dollars"}, "column currency: not a currency"),
        ({"currency": ""}, "a price without a currency"),
        ({"year": "sixties"}, "column year: not a year of making"),
        ({"year": "1966-1964"}, "column year: not a year of making"),
        ({"year": "9164"}, "column year: not a year of making"),
        ({"year": "1066-1964"}, "column year: not a year of making"),
        ({"grade": "mint"}, "column grade: not a grade"),
        ({"finish": "shiny"}, "column finish: a word that says nothing here"),
        ({"pickups": "both"}, "column pickups: not a small whole number"),
        ({"pickups": "9"}, "received: 9"),
        ({"weight": "heavy"}, "column weight: not a weight in grams"),
    ],
)
def test_each_bad_cell_is_named(changes: dict[str, str], told: str) -> None:
    (found,) = refused(sheet(with_(**changes)))
    assert found.startswith("row 2")
    assert told in found


def test_all_bad_cells_are_told_at_once_and_nothing_is_taken() -> None:
    found = refused(sheet(with_(price="x", grade="z"), ROW, with_(id="b", finish="?")))
    assert [one.split(":")[0] for one in found] == [
        "row 2, column price",
        "row 2, column grade",
        "row 4, column finish",
    ]


def test_the_same_sale_twice_and_the_same_id_twice_are_refused() -> None:
    assert "the same sale as row 2" in refused(sheet(ROW, with_(id="b")))[0]
    assert "the id of row 2 again" in refused(sheet(ROW, with_(price="9000")))[0]
    known = comparables_from(sheet(ROW))
    with pytest.raises(TableError) as caught:
        comparables_from(sheet(with_(id="z")), known=known)
    assert "the same sale as a" in str(caught.value.cells[0])


def test_near_repeats_are_told_and_kept() -> None:
    rows = comparables_from(
        sheet(
            ROW,
            with_(id="b", date="2021-03", price="8,700", venue=""),  # one month, half a percent
            with_(id="c", date="2021-06"),  # four months
            with_(id="d", kind="asking"),
            with_(id="e", date="2021-03", year="1966"),  # another year of making
        )
    )
    assert possible_repeats(rows) == [("a", "b")]


def test_what_a_spreadsheet_made_of_a_cell() -> None:
    head = ("date", "kind", "USD", "year")
    cells = (
        Cell("2021-02-14 00:00:00", "date"),
        Cell("sold"),
        Cell("8650", "number"),
        Cell("1964-01-01 00:00:00", "date"),
    )
    made_of = Sheet("s.xlsx", head, ((2, cells),))
    assert "made a date of this cell" in refused(made_of)[0]
    (one,) = comparables_from(Sheet("s.xlsx", head[:3], ((2, cells[:3]),)))
    assert one.month == "2021-02"


MAP = """schema = "heelstamp/sales-columns/1"
currency = "EUR"
kind = "sold"
source = "own books"
[[column]]
name = "Monat"
holds = "date"
[[column]]
name = "Preis"
holds = "price"
[[column]]
name = "Lack"
holds = "finish"
values = { neu = "recent refinish" }
[[column]]
name = "x"
holds = "ignore"
"""


def test_a_column_map() -> None:
    mapped = read_sales_map(MAP, "map.toml")
    table = sheet(("2022-05", "7500", "neu", "?"), head=("Monat", "Preis", "Lack", "x"))
    (one,) = comparables_from(table, mapped)
    assert (one.currency, one.kind, one.source) == ("EUR", "sold", "own books")
    assert one.finish == "recent_refinish"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (MAP.replace("sales-columns/1", "columns/1"), "line 1: not a column map"),
        (MAP.replace('holds = "finish"', 'holds = "gloss"'), "line 11, column 3"),
        (MAP.replace('holds = "finish"', 'holds = "aspect"'), "no such aspect"),
        (MAP.replace('kind = "sold"', 'sort = "sold"'), "sort"),
    ],
)
def test_a_bad_column_map_is_refused(text: str, told: str) -> None:
    with pytest.raises(InputError) as caught:
        read_sales_map(text, "map.toml")
    assert told in str(caught.value)


def test_a_column_that_says_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="says nothing"):
        comparables_from(sheet(("x",), head=("mood",)))
