"""Server time of the bench's pages over a large shop: 100,000 dossiers.

The shop (SQLite) is written in bulk through the store's own tables, each line sealed as an entry
is, and rows of the rack through its own store; that is not timed. Dossiers that are asked for hold
ten entries, the others two. Timed is the CPU of one request after another through the whole
application, without a network: the rack at any sheet, a search, and screens of dossiers that were
not asked for before, so that nothing is remembered.
Usage: python benchmarks/bench_pages.py [dossiers [pages of each kind]]
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections.abc import Collection, Iterator, Sequence
from datetime import datetime
from pathlib import Path
from secrets import token_bytes
from typing import Any

import msgspec
from sqlalchemy import insert

from heelstamp.archive import SEED_BYTES, line_of, seal
from heelstamp.casework.appraisal.clearance import numbers_of
from heelstamp.casework.ports import KeptRow
from heelstamp.casework.rack import rack_row, words_of
from heelstamp.catalogue import Folding
from heelstamp.shop import create_shop
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.settings import DATABASE_FILE
from heelstamp.store.engine import sqlite_engine
from heelstamp.store.tables import dossier, entry
from results import Result

DOSSIERS, ENTRIES = 100_000, 10
ASKED = 200
AT, BY = "2026-11-02T09:14:00Z", "examiner A"
LOOKS = (
    ("guard", "f10", "three-layer laminate"),
    ("badge", "f07", "pressed badge on two pins"),
    ("rod", "f13", "head, 5.5 mm square key"),
    ("plate_screws", "f03", "cross-recess, dome head"),
    ("neck", "f12", "brass rod 1.6 mm"),
)


def bodies(number: int, tag: str, *, whole: bool) -> Iterator[tuple[str, dict[str, Any]]]:
    """The entries of one dossier; all of them where it is *whole*."""
    yield (
        "instrument",
        {
            "kind": "guitar",
            "maker": "Sallowby Instrument Works",
            "model": "Wherry",
            "chronology": "sallowby-wherry",
            "tag": tag,
        },
    )
    yield (
        "observation",
        {
            "id": "o0",
            "part": "neck_plate",
            "kind": "serial",
            "status": "read",
            "text": f"S{number % 18000:05d}",
        },
    )
    if not whole:
        return
    yield (
        "custody",
        {"id": "k1", "event": "received", "giver": "a consignor", "receiver": "examiner A"},
    )
    for place in range(ENTRIES - 3):
        part, feature, variant = LOOKS[place % len(LOOKS)]
        body = {"id": f"o{place + 1}", "part": part, "kind": "feature", "feature": feature}
        if place < len(LOOKS):
            yield "observation", {**body, "status": "read", "variant": variant}
        else:
            yield (
                "measurement",
                {
                    "id": f"m{place}",
                    "quantity": "mass",
                    "part": "body",
                    "value": 3284,
                    "unit": "g",
                    "uncertainty": 2,
                    "stage": "found",
                },
            )


def fill(shop: OpenShop, count: int, whole: Collection[int]) -> None:
    """Write *count* dossiers, and their rows of the rack; those numbered in *whole* with more."""
    engine = sqlite_engine(shop.folder / DATABASE_FILE)
    tree, at = shop.tree_for("guitar"), datetime.fromisoformat(AT)
    for begin in range(0, count, 1000):
        heads, rows, kept = [], [], {}
        for number in range(begin, min(count, begin + 1000)):
            tag, previous, seq = tag_of(number), None, 0
            folding = Folding(tree)
            for seq, (kind, body) in enumerate(bodies(number, tag, whole=number in whole), start=1):
                fields = {"seq": seq, "at": AT, "by": BY, "kind": kind, "body": body,
                          "previous": previous}  # fmt: skip
                sealed = seal(fields, token_bytes(SEED_BYTES))
                previous = str(sealed["digest"])
                line = line_of(sealed).decode()
                rows.append({"dossier_id": number + 1, "seq": seq, "digest": previous,
                             "kind": kind, "at": at, "hand": BY, "line": line})  # fmt: skip
                folding.add(kind, body, kept=True, where=tag)
            state = folding.state
            heads.append({"id": number + 1, "tag": tag, "head_seq": seq, "head_digest": previous})
            text = msgspec.json.encode(rack_row(state, tree)).decode()
            kept[tag] = KeptRow(str(previous), text, words_of(state, tree), numbers_of(state))
        with engine.begin() as connection:
            connection.execute(insert(dossier), heads)
            connection.execute(insert(entry), rows)
        shop.rack.keep(kept)
    engine.dispose()


def tag_of(number: int) -> str:
    """The tag of a dossier."""
    return f"H-{number + 1:06d}"


def measure(count: int = DOSSIERS, pages: int = ASKED) -> Iterator[Result]:
    """Fill a shop and ask for pages."""
    from starlette.testclient import TestClient

    from heelstamp.web import create_app

    draw = random.Random(20261125)  # noqa: S311 - which pages to ask for
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        create_shop(shop, name="bench", currency="USD").close()
        numbers = draw.sample(range(count), min(count, 4 * pages))
        with OpenShop(shop) as opened:
            fill(opened, count, frozenset(numbers))
        first, second, third, fourth = (
            [tag_of(one) for one in numbers[place::4]] for place in range(4)
        )
        asked = {
            "rack, any sheet": [f"/?sheet={draw.randrange(count // 24) + 1}" for _ in first],
            "rack, find a tag": [f"/?find={tag[-4:]}" for tag in first],
            "First look": [f"/dossier/{tag}/first-look?part=guard" for tag in first],
            "Findings": [f"/dossier/{tag}/findings" for tag in second],
            "Next look, before its front": [f"/dossier/{tag}/next-look" for tag in third],
            "Money": [f"/dossier/{tag}/money" for tag in fourth],
        }
        with TestClient(create_app(shop), base_url="http://localhost") as bench:
            bench.get("/")
            for name, paths in asked.items():
                spent = sorted(_spent(bench, path) for path in paths)
                yield Result(
                    f"{name}, p95 of {len(spent)}, {count:,} dossiers",
                    1000 * spent[int(0.95 * len(spent))],
                    "ms",
                    ("at most", 50.0),
                    f"median {1000 * spent[len(spent) // 2]:.0f} ms",
                )


def _spent(bench: Any, path: str) -> float:
    begun = time.process_time()
    answer = bench.get(path)
    if answer.status_code != 200:
        raise RuntimeError(json.dumps([path, answer.status_code]))
    return time.process_time() - begun


def main(arguments: Sequence[str]) -> None:
    for result in measure(*(int(one) for one in arguments)):
        print(result.what, result.figure, result.unit, result.verdict, result.beside)


if __name__ == "__main__":
    main(sys.argv[1:])
