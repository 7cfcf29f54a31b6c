"""Server time of the bench's pages over a large shop: 100,000 dossiers, 1,000,000 entries.

The shop (SQLite) is written straight into its tables, each line sealed as an entry is; that is not
timed. Timed is the CPU of one request after another through the whole application, without a
network: the rack at any sheet, a search, and screens of dossiers that were not asked for before,
so that nothing is remembered. Usage: python benchmarks/bench_pages.py [dossiers]
"""

from __future__ import annotations

import json
import random
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path
from secrets import token_bytes
from typing import Any

from sqlalchemy import insert

from heelstamp.archive import SEED_BYTES, line_of, seal
from heelstamp.shop import create_shop
from heelstamp.shop.folder import DATABASE_FILE
from heelstamp.store.engine import sqlite_engine
from heelstamp.store.tables import dossier, entry
from results import Result

DOSSIERS, ENTRIES = 100_000, 10
ASKED = 200
AT = "2026-11-02T09:14:00Z"
LOOKS = (
    ("guard", "f10", "three-layer laminate"),
    ("badge", "f07", "pressed badge on two pins"),
    ("rod", "f13", "head, 5.5 mm square key"),
    ("plate_screws", "f03", "cross-recess, dome head"),
    ("neck", "f12", "brass rod 1.6 mm"),
)


def bodies(number: int, tag: str) -> Iterator[tuple[str, dict[str, Any]]]:
    """The entries of one dossier."""
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
        "custody",
        {"id": "k1", "event": "received", "giver": "a consignor", "receiver": "examiner A"},
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


def fill(database: Path, count: int) -> None:
    """Write *count* dossiers."""
    engine = sqlite_engine(database)
    at = datetime.fromisoformat(AT)
    for begin in range(0, count, 1000):
        heads, rows = [], []
        for number in range(begin, min(count, begin + 1000)):
            tag, previous, seq = f"H-{number + 1:06d}", None, 0
            for seq, (kind, body) in enumerate(bodies(number, tag), start=1):
                fields = {
                    "seq": seq,
                    "at": AT,
                    "by": "examiner A",
                    "kind": kind,
                    "body": body,
                    "previous": previous,
                }
                sealed = seal(fields, token_bytes(SEED_BYTES))
                previous = str(sealed["digest"])
                rows.append(
                    {
                        "dossier_id": number + 1,
                        "seq": seq,
                        "digest": previous,
                        "kind": kind,
                        "at": at,
                        "hand": "examiner A",
                        "line": line_of(sealed).decode(),
                    }
                )
            heads.append({"id": number + 1, "tag": tag, "head_seq": seq, "head_digest": previous})
        with engine.begin() as connection:
            connection.execute(insert(dossier), heads)
            connection.execute(insert(entry), rows)
    engine.dispose()


def measure(count: int = DOSSIERS) -> Iterator[Result]:
    """Fill a shop and ask for pages."""
    from starlette.testclient import TestClient

    from heelstamp.web import create_app

    draw = random.Random(20261125)  # noqa: S311 - which pages to ask for
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        create_shop(shop, name="bench", currency="USD").close()
        fill(shop / DATABASE_FILE, count)
        tags = [f"H-{draw.randrange(count) + 1:06d}" for _ in range(ASKED)]
        asked = {
            "rack, any sheet": [f"/?sheet={draw.randrange(count // 24) + 1}" for _ in tags],
            "rack, find a tag": [f"/?find={tag[-4:]}" for tag in tags],
            "First Look": [f"/dossier/{tag}/first-look?part=guard" for tag in tags],
            "Weigh-up": [f"/dossier/{tag}/findings" for tag in tags],
            "Peel, before its front": [f"/dossier/{tag}/next-look" for tag in tags],
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
