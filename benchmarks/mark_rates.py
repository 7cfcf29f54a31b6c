"""How fast source-date codes are read, whole and smudged."""

from __future__ import annotations

from collections.abc import Iterator

from heelstamp.marks import read
from heelstamp.reference.tables import load, mark_context
from results import Result, seconds


def marks() -> Iterator[Result]:
    """Read the bundled examples, and each of them with one digit after another smudged."""
    context = mark_context()
    whole = [row["text"] for row in load("source_date_examples")]
    smudged = [
        text[:place] + "?" + text[place + 1 :]
        for text in whole
        for place, sign in enumerate(text)
        if sign.isdigit()
    ]
    for what, texts in (("whole", whole), ("one digit unreadable", smudged)):
        readings = sum(len(read(text, "source-date", context).readings) for text in texts)

        def each(texts: list[str] = texts) -> None:
            for text in texts:
                read(text, "source-date", context)

        took = seconds(each) / len(texts)
        yield Result(
            f"source-date codes read, {what}",
            1 / took,
            "a second",
            ("at least", 20_000) if texts is whole else None,
            beside=f"{len(texts)} codes, {readings / len(texts):.1f} readings each",
        )
