"""The shop's tables, for a spreadsheet: instruments, sales, census, money, tax, what is due."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop

Rows = Sequence[Mapping[str, object]]
ENDINGS = (".csv", ".xlsx")


def table_rows(shop: OpenShop, name: str, of: str, today: str) -> Rows:
    """Rows of one of `TABLES`.

    Parameters
    ----------
    of
        Id of a chronology, for the tables that are of one.

    Raises
    ------
    InputError
        No such table, or no such chronology.
    """
    made = TABLES.get(name)
    if made is None:
        raise InputError(
            "no such table", received=name, remedy="Tables: " + ", ".join(TABLES) + "."
        )
    return made(shop, of, today)


def table_bytes(rows: Rows, name: str, ending: str) -> bytes:
    """Write rows as ``.csv`` or ``.xlsx``; no cell is taken for a formula.

    Raises
    ------
    InputError
        Another ending.
    """
    from heelstamp.casework.exported import table_of
    from heelstamp.media.spreadsheets import workbook_of

    if ending == ".csv":
        return table_of(rows)
    if ending == ".xlsx":
        return workbook_of(rows, name)
    raise InputError("neither CSV nor XLSX", received=ending, remedy="Name the file .csv or .xlsx.")


def write_table(shop: OpenShop, name: str, of: str, out: Path, today: str) -> int:
    """Write a table whole or not at all; how many rows it has."""
    from heelstamp.shop.files import write_whole

    rows = table_rows(shop, name, of, today)
    write_whole(out, table_bytes(rows, name, out.suffix.lower()))
    return len(rows)


def _instruments(shop: OpenShop, of: str, today: str) -> Rows:
    from heelstamp.casework.appraisal.clearance import numbers_of
    from heelstamp.casework.rack import last_sum, place_of
    from heelstamp.casework.sale.blocks import standing_of

    del of, today
    rows = []
    for tag in sorted(shop.journals.tags()):
        state, _ = shop.standing(tag)
        one = state.instrument
        rows.append(
            {
                "tag": tag,
                "kind": one.kind,
                "maker": one.maker,
                "model": one.model,
                "chronology": one.chronology,
                "claimed": one.claimed or "",
                "numbers": "; ".join(numbers_of(state)),
                "custody": state.custody_state,
                "place": place_of(state),
                "sale": standing_of(state).state,
                "sum": last_sum(state),
            }
        )
    return rows


def _sales(shop: OpenShop, of: str, today: str) -> Rows:
    from heelstamp.casework.appraisal.entering import sale_fields
    from heelstamp.shop.comparables import sales_of

    del today
    return [
        {"id": one.id, **sale_fields(one), "currency": one.currency}
        for one in sales_of(shop, shop.chronology(of).id)
    ]


def _census(shop: OpenShop, of: str, today: str) -> Rows:
    import msgspec

    del today
    rows = []
    for record in shop.census.rows(shop.chronology(of).id):
        row: dict[str, object] = {"id": record.id, "how dated": record.how_dated}
        for seen in msgspec.json.decode(record.observations):
            called = seen.get("feature") or seen.get("sign") or seen.get("part")
            said = next((seen[k] for k in ("text", "variant", "outcome") if seen.get(k)), "")
            row[str(called)] = said or seen.get("status", "")
            for end in ("not_before", "not_after"):
                if seen.get(end):
                    row[end.replace("_", " ")] = seen[end]
        rows.append(row)
    return rows


def _money(shop: OpenShop, of: str, today: str) -> Rows:
    from heelstamp.shop.sale import shop_accounts

    del of
    names = ("day", "tag", "what", "side", "sum")
    return [
        {**dict(zip(names, line, strict=True)), "currency": one.currency}
        for one in shop_accounts(shop, "", today)
        for line in one.lines
    ]


def _tax(shop: OpenShop, of: str, today: str) -> Rows:
    from heelstamp.shop.tax import tax_register
    from heelstamp.valuation.money import Money
    from heelstamp.wording.about_tax import advice

    del of, today

    def sum_(one: Money | None) -> str:
        return "" if one is None else str(one.amount)

    return [
        {
            "day": one.day,
            "tag": one.tag,
            "scheme": one.scheme,
            "rate": one.rate,
            "price": sum_(one.price),
            "bought for": sum_(one.bought),
            "earned": sum_(one.earned),
            "taxable": sum_(one.base),
            "tax": sum_(one.tax),
            "currency": one.price.currency,
            "remark": " ".join(filter(None, (one.remark, advice.say()))),
        }
        for one in tax_register(shop)
    ]


def _due(shop: OpenShop, of: str, today: str) -> Rows:
    from heelstamp.shop.due import due_in

    del of
    return [
        {"day": one.day, "days late": one.late, "tag": one.tag, "what": one.kind, "why": one.told}
        for one in due_in(shop, today)
    ]


TABLES: Mapping[str, Callable[[OpenShop, str, str], Rows]] = {
    "instruments": _instruments,
    "sales": _sales,
    "census": _census,
    "money": _money,
    "due": _due,
    "tax": _tax,
}
OF_ONE = frozenset({"sales", "census"})
"""Tables that are of one chronology."""
