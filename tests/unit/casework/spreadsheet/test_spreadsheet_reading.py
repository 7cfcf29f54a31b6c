"""How a person's spreadsheet is read: marks, dates, heads, totals; both ways is refused."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from openpyxl.utils.datetime import from_excel

from heelstamp.casework.appraisal.sales_table import comparables_from, sales_role
from heelstamp.casework.spreadsheet.cells import date_text, number_text, parted, sign_of
from heelstamp.casework.spreadsheet.reading import Declared, understand
from heelstamp.casework.spreadsheet.sheet import Cell, Sheet
from heelstamp.errors import InputError

HEAD = ("date", "kind", "price", "made", "currency")


def raw(*rows: tuple[str, ...]) -> Sheet:
    numbered = enumerate(rows, start=1)
    return Sheet("s.csv", (), tuple((n, tuple(map(Cell, row))) for n, row in numbered if any(row)))


def read(*rows: tuple[str, ...], **declared: Any) -> Any:
    return understand(raw(*rows), Declared(**declared), sales_role(None))


def sale(day: str, price: str) -> tuple[str, ...]:
    return (day, "sold", price, "1964", "EUR")


@pytest.mark.parametrize(
    ("text", "mark", "plain"),
    [
        ("8.650,00", ",", "8650.00"),
        ("8,650.00", ".", "8650.00"),
        ("$8,650", ".", "8650"),
        ("€ 8.650,5", ",", "8650.5"),
        ("8 650,00 €", ",", "8650.00"),
        ("8\u202f650,00", ",", "8650.00"),
        ("8'650.00", ".", "8650.00"),
        ("1.234.567", ",", "1234567"),
        ("EUR 9100", ",", "9100"),
        ("-12,5 %", ",", "-12.5 %"),
        ("8,65,0", ".", "8,65,0"),
        ("POA", ",", "POA"),
        ("1.2.3,4", ",", "1.2.3,4"),
    ],
)
def test_a_number_is_brought_to_one_form_or_left_as_it_is(text: str, mark: Any, plain: str) -> None:
    assert number_text(text, mark) == plain


def test_what_a_number_shows_of_its_decimal_mark() -> None:
    assert parted("8.650,00") == {","}
    assert parted("8,650.00") == {"."}
    assert parted("8.650") == parted("8,650") == {".", ","}
    assert parted("86,50") == {","}
    assert parted("1.234.567") == {","}
    assert parted("8650") == parted("sold") == parted("1,2,3.4.5") == frozenset()
    assert sign_of("SOLD") == ("", "SOLD")


@pytest.mark.parametrize(
    ("text", "order", "plain"),
    [
        ("15.02.2021", "day first", "2021-02-15"),
        ("02/15/2021", "month first", "2021-02-15"),
        ("3/4/2021", "day first", "2021-04-03"),
        ("4/4/2021", "", "2021-04-04"),
        ("2021/02/15", "", "2021-02-15"),
        ("2021-02-15 00:00:00", "", "2021-02-15"),
        ("02.2021", "", "2021-02"),
        ("15 Feb 2021", "", "2021-02-15"),
        ("February 15, 2021", "", "2021-02-15"),
        ("Feb 2021", "", "2021-02"),
        ("30.02.2021", "day first", "30.02.2021"),
        ("15.02.21", "day first", "15.02.21"),
        ("soon", "day first", "soon"),
    ],
)
def test_a_date_is_brought_to_one_form_or_left_as_it_is(text: str, order: Any, plain: str) -> None:
    assert date_text(text, order) == plain


def test_marks_and_order_are_concluded_where_the_cells_leave_one_way() -> None:
    found = read(HEAD, sale("03.04.2021", "8.650"), sale("15.02.2021", "9.100,50"))
    assert [row[0].text for _, row in found.sheet.rows] == ["2021-04-03", "2021-02-15"]
    assert [row[2].text for _, row in found.sheet.rows] == ["8650", "9100.50"]
    assert found.concluded == (
        "Decimals follow a comma: “9.100,50” in row 3, price.",
        "Dates have the day first: “15.02.2021” in row 3, date.",
    )
    assert [one.minor for one in comparables_from(found.sheet)] == [865000, 910050]


@pytest.mark.parametrize(
    ("rows", "told"),
    [
        ([sale("2021-02", "8.650")], "this number can be read in two ways"),
        ([sale("03/04/2021", "8650")], "this date can be read in two ways"),
        ([sale("2021-02", "8.650,00"), sale("2021-03", "9,100.00")], "decimal point and a decimal"),
        ([sale("15.02.2021", "1"), sale("02/15/2021", "1")], "days first and months first"),
    ],
)
def test_what_can_be_read_in_two_ways_is_refused_until_declared(
    rows: list[tuple[str, ...]], told: str
) -> None:
    with pytest.raises(InputError, match=told):
        read(HEAD, *rows)


def test_what_is_declared_goes_before_what_the_cells_allow() -> None:
    found = read(HEAD, sale("03/04/2021", "8.650"), decimal_mark=",", date_order="month first")
    ((_, row),) = found.sheet.rows
    assert (row[0].text, row[2].text) == ("2021-03-04", "8650")


def test_titles_totals_and_repeated_heads_are_passed_over_by_name() -> None:
    found = read(
        ("Sales of the year", "", "", "", ""),
        ("", "", "", "", ""),
        HEAD,
        sale("2021-02", "8650"),
        ("Spring", "", "", "", ""),
        HEAD,
        sale("2021-03", "9100"),
        ("Total", "", "17750", "", ""),
        ("Average of two", "", "8875", "", ""),
    )
    assert [number for number, _ in found.sheet.rows] == [4, 7]
    assert [(one.row, one.why) for one in found.passed] == [
        (1, "above the head"),
        (5, "a title"),
        (6, "the head again"),
        (8, "a total"),
        (9, "a total"),
    ]
    assert found.passed[0].text == "Sales of the year"
    assert found.concluded[0] == "The columns are named in row 3."


def test_joined_heads_lend_their_text_where_the_own_is_blank_or_twice() -> None:
    found = read(
        ("date", "Paid", "", "Asked", ""),
        ("", "price", "currency", "price", "note"),
        ("2021-02", "8650", "EUR", "9100", "-"),
        head_row=2,
    )
    assert found.sheet.columns == ("date", "Paid price", "currency", "Asked price", "note")


def test_a_sign_tells_the_currency_or_stands_against_the_declared_one() -> None:
    head = ("date", "kind", "price")
    rows = [("2021-02", "sold", "€8.650,00")]
    assert read(head, *rows).declared.currency == "EUR"
    with pytest.raises(InputError, match="a sum in another currency"):
        read(head, *rows, currency="USD")
    with pytest.raises(InputError, match="a sign of several currencies"):
        read(head, ("2021-02", "sold", "$8,650.00"))
    assert read(head, ("2021-02", "sold", "$8,650.00"), currency="CAD").declared.currency == "CAD"


@pytest.mark.parametrize("days", [1, 59, 61, 366, 36526, 44242])
def test_days_counted_by_a_spreadsheet_agree_with_openpyxl(days: int) -> None:
    # outside: openpyxl.utils.datetime.from_excel, date base 1900 of ECMA-376 part 1, 18.17.4.1
    found = read(HEAD, sale(str(days), "1"), date_order="days counted")
    ((_, row),) = found.sheet.rows
    expected = from_excel(days)
    told = date.fromisoformat(row[0].text)
    assert (told - expected.date()).days == (0 if days > 59 else -1)  # its 1900 had a 29 February


def test_no_such_head_row_is_told() -> None:
    with pytest.raises(InputError, match="no such row to name the columns"):
        read(HEAD, head_row=9)
