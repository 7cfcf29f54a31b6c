"""Dating 100,000 census rows again under another edition, from the shop's database, two processes.

The rows are drawn from the invented Wherry's model (about 25 observations each, as a bench gives)
and kept in an SQLite shop with the conclusions of the present edition; the new edition has every
change-over three months later. Timed is the whole act: reading, decoding, inference, verdicts,
comparison and the sum; not timed is the making of the rows.

Usage: python benchmarks/redate.py [rows]
"""

from __future__ import annotations

import json
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

import msgspec

from heelstamp.casework.census.conclusions import Concluder
from heelstamp.casework.census.rows import reading_digest
from heelstamp.casework.ports import CensusRecord
from heelstamp.chronology import Chronology, dating_model, parse_chronology
from heelstamp.dating import Evidence, FeatureSeen, Mark, SerialNumber, SignSeen
from heelstamp.documents import parse_document
from heelstamp.shop import create_shop
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.redating import redate
from heelstamp.units import format_month, parse_month
from results import Result

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

ROWS = 100_000
DRAWN = 10_000
"""Different instruments drawn; each comes again under other ids, with other numbers."""

SIGNS_LOOKED_AT = 6
LATER = 3


def wherry() -> dict[str, Any]:
    """The present edition, in the short form that the worlds are drawn from, as plain values."""
    name = "wherry_short.toml"
    text = (Path(__file__).resolve().parents[1] / "tests" / "fakes" / name).read_text("utf-8")
    return parse_document(text, name, "toml")


def moved(document: dict[str, Any]) -> Chronology:
    """An edition with every change-over later."""
    new = json.loads(json.dumps(document))
    new["edition"] = "moved"
    for row in new["feature"]:
        for change in row.get("change", []):
            for end in ("first_new", "last_old"):
                change[end] = format_month(parse_month(change[end]) + LATER)
    return parse_chronology(new, name="moved")


def line_of(seen: Evidence, chronology: Chronology, number: int) -> str:
    """Write one instrument's evidence as the census keeps it."""
    items: list[Any] = []
    examined: set[str] = set()
    signs = 0
    for one in seen:
        match one:
            case Mark():
                readings = [[r.period.first, r.period.last, r.weight] for r in one.readings]
                items.append(["m", one.part, readings, one.error])
                examined.add(one.part)
            case FeatureSeen():
                items.append(["f", one.feature, one.variant])
                row = chronology.feature(one.feature.partition("@")[0])
                assert row is not None
                examined.add(one.feature.partition("@")[2] or row.parts[0])
            case SignSeen():
                signs += 1
                if signs <= SIGNS_LOOKED_AT:
                    items.append(["s", one.sign, one.outcome])
            case SerialNumber():
                items.append(["n", [[serial_for(one.months[0][0], number), 1.0]]])
            case _:
                raise TypeError(type(one))
    return json.dumps({"e": items, "x": sorted(examined), "c": False}, ensure_ascii=False)


def serial_for(month: int, number: int) -> str:
    """A number of about that month."""
    before = month < parse_month("1962-01")
    start, rate = (501, 110) if before else (100, 245)
    since = month - parse_month("1953-03" if before else "1962-01")
    value = max(1, start + rate * since + number % rate)
    return f"{min(value, 11900)}" if before else f"S{min(value, 18000):05d}"


def records(count: int, chronology: Chronology) -> Iterator[list[CensusRecord]]:
    """Rows with the conclusions of the present edition."""
    from fakes.departing_world import draw_world

    drawn = [one.seen for one in draw_world(dating_model(chronology), 4, min(DRAWN, count))]
    concluder, present = Concluder(chronology), reading_digest(chronology)
    for begin in range(0, count, 2000):
        numbers = range(begin, min(begin + 2000, count))
        lines = [line_of(drawn[number % len(drawn)], chronology, number) for number in numbers]
        conclusions = concluder.conclude(lines)
        yield [
            CensusRecord(
                f"R{number:06d}",
                "marks",
                "[]",
                line,
                present,
                msgspec.json.encode(conclusion).decode(),
            )
            for number, line, conclusion in zip(numbers, lines, conclusions, strict=True)
        ]


def measure(rows: int = ROWS) -> Iterator[Result]:
    """Make the shop, then date it again."""
    document = wherry()
    chronology, new = parse_chronology(document, name="present"), moved(document)
    with tempfile.TemporaryDirectory() as folder:
        shop = Path(folder) / "shop"
        observations = 0
        with create_shop(shop, name="bench", currency="USD") as opened:
            for some in records(rows, chronology):
                opened.census.add(chronology.id, some)
                observations += sum(len(json.loads(one.evidence)["e"]) for one in some[:50])
        begun = time.perf_counter()
        with OpenShop(shop) as opened:
            result = redate(opened, chronology.id, new=new)
        seconds = time.perf_counter() - begun
    each = observations / (50 * len(range(0, rows, 2000)))
    yield Result(
        f"redate {rows:,} instruments, two processes",
        seconds,
        "s",
        ("at most", 8.0 * rows / ROWS) if rows >= ROWS else None,
        f"{each:.0f} observations each; {result.moved:,} moved",
    )


def main(arguments: Sequence[str]) -> None:
    """Print the figure."""
    for result in measure(*(int(one) for one in arguments)):
        print(result.what, result.figure, result.unit, result.verdict, result.beside)


if __name__ == "__main__":
    main(sys.argv[1:])
