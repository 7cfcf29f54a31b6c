"""A search of the rack finds the same whether all it found are brought along or a sheet of them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import product

import pytest

from fakes.databases import engine_on
from fakes.sealed import seed_of
from fakes.stores import AT, BY
from heelstamp.archive import line_of, seal
from heelstamp.casework.ports import KeptRow
from heelstamp.store.journals import DatabaseJournals
from heelstamp.store.rack import DatabaseRack

WORDS = {
    "H-0001": "plain guitar of one colour",
    "H-0002": "plain bass, 50% of its coat",
    "X_0003": "striped guitar",
    "H-0004": None,  # its row was taken out: known by its tag alone
    "GUITAR-5": "plain bass",
}
SEARCHES = (
    ["guitar"],
    ["h-"],
    ["H-", "plain"],
    ["plain", "guitar"],
    ["50%"],
    ["_"],
    ["0004"],
    ["nothing of this"],
)


@pytest.fixture
def racks(journals: DatabaseJournals, database: str) -> Iterator[list[DatabaseRack]]:
    for tag in WORDS:
        body = {"id": "d1", "note": "opened"}
        fields = {"seq": 1, "at": AT, "by": BY, "kind": "decision", "body": body, "previous": None}
        journals.append(tag, [line_of(seal(fields, seed_of(1)))], None)
    engine = engine_on(database)
    yield [DatabaseRack(engine, few=few) for few in (0, 1, 900)]
    engine.dispose()


def test_searches_agree_and_know_a_dossier_without_a_row_by_its_tag(
    racks: list[DatabaseRack], journals: DatabaseJournals
) -> None:
    heads = {tag: journals.head(tag) for tag in WORDS}
    racks[0].keep(
        {
            tag: KeptRow(head.digest, "{}", words)
            for tag, words in WORDS.items()
            if words is not None and (head := heads[tag]) is not None
        }
    )
    for words in SEARCHES:
        wanted = [
            tag
            for tag, text in reversed(WORDS.items())
            if all(one.casefold() in f"{tag.casefold()}\n{text or ''}" for one in words)
        ]
        for rack, skip in product(racks, (0, 1)):
            found, shown = rack.sheet(words, skip, 2)
            assert (found, list(shown)) == (len(wanted), wanted[skip : skip + 2]), words
