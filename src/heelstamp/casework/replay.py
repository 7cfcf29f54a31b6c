"""Replaying a journal that was written down but not yet chained: each entry at its own time.

A row holds ``at``, ``by``, ``kind`` and ``body``; the body of a photograph or recording names its
file, whose content is handed in by name and kept before the entry. Rows of one hand and one time
enter together or not at all. What the shop's lists and terms hold against a step of a sale is not
asked: it was, when the step was entered, of the lists and terms of that day. A row may bring the
``seed`` of its entry, in hexadecimal, so that a journal that is no secret comes out the same
wherever it is replayed; others draw theirs.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from itertools import groupby
from typing import Any

from heelstamp.casework.dossier import append_all, open_with, photograph_body
from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.ports import FileRecord, Shop
from heelstamp.casework.sale.blocks import nothing_more
from heelstamp.errors import InputError

Row = Mapping[str, Any]


def replay(
    shop: Shop, tag: str, rows: Sequence[Row], files: Mapping[str, bytes], *, opened: bool = False
) -> None:
    """Open dossier *tag* with *rows*, in order, or go on with it where it is *opened*.

    Raises
    ------
    InputError
        A row lacks a field, an entry cannot be read, or a named file is not among *files*.
    ConflictError
        The dossier exists, or custody or consent do not allow an entry.
    """
    for number, row in enumerate(rows, start=1):
        missing = [key for key in ("at", "by", "kind", "body") if key not in row]
        if missing:
            raise InputError(
                f"the row has no {missing[0]}",
                where=f"row {number}",
                remedy="Give at, by, kind and body.",
            )
    for (at, by), group in groupby(rows, key=lambda row: (row["at"], row["by"])):
        together = list(group)
        entries = [NewEntry(row["kind"], _with_file(shop, row, files)) for row in together]
        seeds = [row["seed"] for row in together if "seed" in row]
        seeded = replace(with_seeds(shop, seeds), against=nothing_more)
        if opened:
            append_all(seeded, tag, entries, at=at, by=by)
        else:
            entries[0] = NewEntry(entries[0].kind, {**entries[0].body, "tag": tag})
            open_with(seeded, entries, at=at, by=by)
            opened = True


def with_seeds(shop: Shop, seeds: Sequence[str]) -> Shop:
    """Let a shop take the seeds of its next entries from *seeds*, in hexadecimal, then draw again.

    Raises
    ------
    InputError
        A seed is not hexadecimal.
    """
    try:
        left = deque(bytes.fromhex(one) for one in seeds)
    except ValueError:
        raise InputError(
            "a seed that is not hexadecimal", remedy="Give 64 hexadecimal digits."
        ) from None
    plain = {one.name: getattr(shop, one.name) for one in fields(Shop)}
    plain["draw_seed"] = lambda: left.popleft() if left else shop.draw_seed()
    return Shop(**plain)


def _with_file(shop: Shop, row: Row, files: Mapping[str, bytes]) -> dict[str, Any]:
    body = dict(row["body"])
    if row["kind"] not in ("photograph", "recording"):
        return body
    name = str(body.get("name", ""))
    data = files.get(name)
    if data is None:
        raise InputError(
            "the file is missing", where=f"{row['kind']} {body.get('id')}", received=name
        )
    if row["kind"] == "photograph":
        facts = shop.photographs.read(data, name)
        digest = shop.files.put(data)
        shop.journals.record_file(FileRecord(digest, len(data), facts.media_type))
        return photograph_body(facts, body, digest=digest, name=name)
    digest = shop.files.put(data)
    shop.journals.record_file(FileRecord(digest, len(data), str(body.get("media_type"))))
    return {**body, "file": digest}
