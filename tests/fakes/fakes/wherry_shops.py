"""Shops with the invented census, as other instruments in each."""

import csv
import io
from pathlib import Path

from fakes.wherry_census import COLUMNS, TABLE
from heelstamp.shop import create_shop
from heelstamp.shop.census import add_table
from heelstamp.shop.comparables import columns_in, table_sent
from heelstamp.shop.opened import OpenShop

WHERRY = "sallowby-wherry"


def table_of(prefix: str, times: int = 1) -> bytes:
    """The invented census as that of another shop."""
    rows = list(csv.DictReader(io.StringIO(TABLE.read_text("utf-8"))))
    name = next(iter(rows[0]))
    out = io.StringIO()
    writer = csv.DictWriter(out, list(rows[0]))
    writer.writeheader()
    for time in range(times):
        writer.writerows(row | {name: f"{prefix}{time}-{row[name]}"} for row in rows)
    return out.getvalue().encode()


def shop_of(folder: Path, name: str, times: int = 1) -> Path:
    """A shop with the census so many times."""
    create_shop(folder, name=name, currency="USD").close()
    if times:
        with OpenShop(folder) as made:
            add_table(
                made, WHERRY, table_sent(table_of(name[0], times), "c.csv"), columns_in(COLUMNS)
            )
    return folder
