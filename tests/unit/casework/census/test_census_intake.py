"""Tables of a shop: every cell its own fact, every bad cell told, nothing half taken."""

import pytest

from fakes.wherry_census import COLUMNS, TABLE, edition, tables, wherry_rows
from heelstamp.casework.census.columns import ColumnMap, columns_by_name, read_columns
from heelstamp.casework.census.intake import rows_from_sheet
from heelstamp.casework.census.rows import CensusRow
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet, TableError
from heelstamp.errors import InputError

HEAD = ("id", "serial", "body", "neck", "f05", "f12", "how dated")
GOOD = ("W1", "S04513", "I 63", "62/11 R", "rosewood-like", "brass rod 1.6 mm", "marks")


def sheet(*rows: tuple[object, ...], head: tuple[str, ...] = HEAD) -> Sheet:
    cells = [
        (number, tuple(one if isinstance(one, Cell) else Cell(str(one)) for one in row))
        for number, row in enumerate(rows, start=2)
    ]
    return Sheet("census.csv", head, tuple(cells))


def taken(*rows: tuple[object, ...], columns: ColumnMap | None = None) -> list[CensusRow]:
    return rows_from_sheet(sheet(*rows), columns, edition(), tables())


def changed(**cells: object) -> tuple[object, ...]:
    return tuple(
        cells.get(name.replace(" ", "_"), good) for name, good in zip(HEAD, GOOD, strict=True)
    )


def statuses(row: CensusRow) -> dict[str, str]:
    return {one.get("feature") or one["part"]: one["status"] for one in row.observations}


def test_a_row_is_taken_by_the_names_of_its_columns() -> None:
    (row,) = taken(GOOD)
    assert row.id == "W1"
    assert row.how_dated == "marks"
    assert row.chronology == "sallowby-wherry"
    assert set(statuses(row).values()) == {"read"}
    assert row.evidence.count('["m",') == 2


def test_four_other_facts_are_kept_apart() -> None:
    (row,) = taken(changed(body="absent", neck="illegible", f05="-", f12="n/a", serial=""))
    assert statuses(row) == {
        "neck_plate": "not looked",
        "body": "absent",
        "neck": "illegible",
        "f05": "not looked",
        "f12": "not applicable",
    }
    assert '["f","g4","absent"]' in row.evidence  # a mark's absence is a variant here


def test_a_shop_may_use_its_own_words() -> None:
    columns = columns_by_name(HEAD, edition())
    own = type(columns)(schema=columns.schema, column=columns.column, words={"illegible": ["worn"]})
    (row,) = taken(changed(neck="Worn"), columns=own)
    assert statuses(row)["neck"] == "illegible"


@pytest.mark.parametrize(
    ("cell", "value", "told"),
    [
        ("neck", "62/13 R", "column neck"),
        ("neck", "a scrawl", "column neck"),
        ("f12", "walnut", "no such variant"),
        ("serial", "Q77", "not a serial number"),
        ("how_dated", "by ear", "no such way of dating"),
        ("body", Cell("1963-01-01 00:00:00", "date"), "made a date value"),
        ("f05", Cell("TRUE", "truth"), "made a truth value"),
        ("neck", Cell("#REF!", "error"), "made a error value"),
    ],
)
def test_a_bad_cell_is_told_by_row_and_column(cell: str, value: object, told: str) -> None:
    with pytest.raises(TableError, match="nothing was taken") as caught:
        taken(GOOD, changed(id="W2", **{cell: value}))
    (error,) = caught.value.cells
    assert f"row 3, column {cell.replace('_', ' ')}" in str(error)
    assert told in str(error)


def test_all_bad_cells_are_told_at_once() -> None:
    with pytest.raises(TableError, match="4 cells cannot be used") as caught:
        taken(
            changed(id="W0", neck="a scrawl", f12="walnut"),
            GOOD,
            changed(id="W3", body="XIII 63"),
            changed(id="W1"),
        )
    places = [one.where for one in caught.value.cells]
    assert places == ["row 2, column neck", "row 2, column f12", "row 4, column body", "row 5"]
    assert str(caught.value).startswith("census.csv: 4 cells")


def test_ids_differ_and_rows_without_one_are_named_by_their_number() -> None:
    rows = taken(changed(id=""), changed(id=""))
    assert [row.id for row in rows] == ["row 2", "row 3"]
    with pytest.raises(TableError) as caught:
        taken(GOOD, GOOD)
    assert "the id of row 2 again" in str(caught.value.cells[0])


def test_how_a_row_was_dated_follows_from_it_where_no_word_is_given() -> None:
    rows = taken(
        changed(how_dated=""), changed(id="W2", how_dated="", body="absent", neck="not looked")
    )
    assert [row.how_dated for row in rows] == ["marks", "feature only"]


def test_papers_by_month() -> None:
    head = ("id", "not before", "not after", "f12")
    rows = rows_from_sheet(
        sheet(
            ("W1", "1963-01", "1963-12", "brass rod 1.6 mm"),
            ("W2", "", Cell("1963-12-01 00:00:00", "date"), "-"),
            head=head,
        ),
        None,
        edition(),
        tables(),
    )
    assert [row.how_dated for row in rows] == ["documents", "documents"]
    assert '["d",' in rows[0].evidence
    with pytest.raises(TableError) as caught:
        rows_from_sheet(sheet(("W1", "1963-13", "", "-"), head=head), None, edition(), tables())
    assert "row 2, column not before" in str(caught.value.cells[0])
    with pytest.raises(TableError) as caught:
        rows_from_sheet(
            sheet(("W1", "1963-12", "1963-01", "-"), head=head), None, edition(), tables()
        )
    assert "not_after lies before" in str(caught.value.cells[0])


def test_columns_that_say_nothing_are_refused() -> None:
    with pytest.raises(InputError, match="column map"):
        rows_from_sheet(sheet(head=("id", "colour")), None, edition(), tables())
    with pytest.raises(InputError, match="several parts"):
        columns_by_name(("g1",), edition())
    mapped = columns_by_name(("id", "f12"), edition())
    with pytest.raises(InputError, match="no such column"):
        rows_from_sheet(sheet(head=("id",)), mapped, edition(), tables())
    with pytest.raises(InputError, match="not mapped"):
        rows_from_sheet(sheet(head=("id", "f12", "f05")), mapped, edition(), tables())
    with pytest.raises(InputError, match="two columns of one name"):
        rows_from_sheet(sheet(head=("id", "f12", "f12")), mapped, edition(), tables())


MAP = COLUMNS.read_text("utf-8")


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('schema = "heelstamp/columns/1"', 'schema = "x"', "column map"),
        ('part = "neck"', 'part = "elbow"', "no such part"),
        ('name = "f12"', 'name = "f99"', "no such feature"),
        ('kind = "serial"', 'kind = "price"', "not one of the values"),
        ('"not looked" = ["-"]', '"lost" = ["-"]', "no such fact"),
        ('part = "body"\n', "", "a mark is on a part"),
        ("[words]", "[words", "broken TOML"),
        ("[words]", "colour = 1\n[words]", "unknown field"),
    ],
)
def test_a_broken_map_names_its_line(old: str, new: str, told: str) -> None:
    assert old in MAP
    with pytest.raises(InputError) as caught:
        read_columns(MAP.replace(old, new, 1), "columns.toml", edition())
    assert told in str(caught.value)
    assert "columns.toml" in caught.value.where


def test_the_example_table_is_that_of_the_program() -> None:
    import importlib.util

    script = TABLE.parents[1] / "builders" / "demo_census.py"
    spec = importlib.util.spec_from_file_location("demo_census", script)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    assert module.table() == TABLE.read_text("utf-8")
    assert len(wherry_rows()) == 30
