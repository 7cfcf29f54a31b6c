"""An append goes on with the fold that the last one left, and what stands is as if begun anew."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random
from typing import Any

import pytest

from fakes.stores import AT, BY, INSTRUMENT
from heelstamp.archive import Verdict
from heelstamp.casework import dossier
from heelstamp.casework.dossier import append, append_all, open_dossier, state_of
from heelstamp.casework.folds import MOST
from heelstamp.casework.journal_file import verify
from heelstamp.casework.ports import Shop
from heelstamp.casework.sharing.accounts import Role
from heelstamp.casework.sharing.rights import Hand, NotPermittedError
from heelstamp.errors import InputError
from heelstamp.shop import create_shop, open_shop

TAG = str(INSTRUMENT["tag"])


def mark(number: int, **more: Any) -> dict[str, Any]:
    return {"id": f"o{number}", "part": "body", "kind": "mark", "status": "absent", **more}


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    with create_shop(tmp_path / "shop", name="Test shop", currency="USD") as made:
        open_dossier(made, INSTRUMENT, at=AT, by=BY)
        yield made


@pytest.fixture
def folded(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Lengths of the journals that were folded from their first entry."""
    lengths: list[int] = []
    honest = dossier.fold_entries

    def counting(shop: Shop, entries: Any) -> Any:
        lengths.append(len(entries))
        return honest(shop, entries)

    monkeypatch.setattr(dossier, "fold_entries", counting)
    return lengths


def enter(shop: Shop, number: int, **more: Any) -> None:
    append(shop, TAG, "observation", mark(number, **more), at=AT, by=BY)


def test_a_journal_is_folded_once_however_often_it_grows(shop: Shop, folded: list[int]) -> None:
    for number in range(20):
        enter(shop, number)
    assert folded == [1]
    assert len(shop.journals.lines(TAG)) == 21
    assert verify(shop, TAG).verdict is Verdict.SOUND


def test_what_stands_is_as_if_begun_anew(shop: Shop) -> None:
    """Entries, corrections, withdrawals and refusals in an order drawn at random."""
    chance = Random(5)
    for number in range(60):
        done = chance.randrange(number) if number else 0
        way = chance.randrange(4)
        if way == 0 and number:
            fixed = mark(done, note=f"seen again {number}") if chance.randrange(2) else None
            told = {"id": f"c{number}", "corrects": f"o{done}", "reason": "x", "replacement": fixed}
            try:
                append(shop, TAG, "correction", told, at=AT, by=BY)
            except InputError:
                continue  # of an entry that was refused
        elif way == 1:
            with pytest.raises(InputError):
                enter(shop, number, part="no such part")
        else:
            enter(shop, number)
        kept = shop.folds.take(TAG, shop.journals.head(TAG).digest)  # type: ignore[union-attr]
        if kept is not None:
            assert kept.folding.state == state_of(shop, TAG)
            shop.folds.keep(TAG, kept)
    assert verify(shop, TAG).verdict is Verdict.SOUND


def test_another_writer_is_seen(shop: Shop, folded: list[int], tmp_path: Path) -> None:
    enter(shop, 1)
    with open_shop(tmp_path / "shop") as other:
        enter(other, 2)
    with pytest.raises(InputError, match="this id is taken"):
        enter(shop, 2)
    enter(shop, 3)
    assert list(state_of(shop, TAG).observations) == ["o1", "o2", "o3"]
    assert folded[:2] == [1, 2]  # of this shop, then of the other


def test_a_refused_entry_is_not_remembered(shop: Shop) -> None:
    enter(shop, 1)
    two = [("observation", mark(2)), ("observation", mark(3, part="no such part"))]
    with pytest.raises(InputError):
        append_all(shop, TAG, two, at=AT, by=BY)  # type: ignore[arg-type]
    enter(shop, 2)
    price = {"id": "p1", "of": "insured value", "amount": "9000", "reason": "agreed"}
    with pytest.raises(NotPermittedError):
        append(shop, TAG, "price", price, at=AT, by=Hand(BY, Role.PAIRED_DEVICE))
    append(shop, TAG, "price", price, at=AT, by=BY)
    assert state_of(shop, TAG).length == 4


def test_a_clock_that_runs_back_is_noted_once_each(shop: Shop) -> None:
    enter(shop, 1)
    for number in (2, 3):
        earlier = f"2026-10-0{5 - number}T09:14:00Z"
        append(shop, TAG, "observation", mark(number), at=earlier, by=BY)
    kinds = [entry.kind for entry in dossier.entries_of(shop, TAG)]
    assert kinds == ["instrument", "observation", *["observation", "clock"] * 2]
    assert verify(shop, TAG).verdict is Verdict.SOUND


def test_what_was_resent_is_left_out(shop: Shop) -> None:
    sent = [("observation", mark(1))]
    for _ in range(3):
        append_all(shop, TAG, sent, at=AT, by=BY, resent=True)  # type: ignore[arg-type]
    assert state_of(shop, TAG).length == 2


def test_only_so_many_are_kept(shop: Shop, folded: list[int]) -> None:
    tags = [f"H-1{number:03}" for number in range(MOST + 1)]
    for tag in tags:
        open_dossier(shop, {**INSTRUMENT, "tag": tag}, at=AT, by=BY)
        append(shop, tag, "observation", mark(1), at=AT, by=BY)
    folded.clear()
    append(shop, tags[-1], "observation", mark(2), at=AT, by=BY)
    assert folded == []
    append(shop, tags[0], "observation", mark(2), at=AT, by=BY)
    assert folded == [2]
