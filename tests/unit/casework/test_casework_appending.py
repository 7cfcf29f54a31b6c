"""Writing beside others: sealed anew, joined where it can be, else a conflict of one field."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any

import pytest

from fakes.stores import AT, BY, INSTRUMENT, MemoryJournals, memory_shop
from heelstamp.casework.dossier import (
    TRIES,
    append,
    append_all,
    correct,
    entries_of,
    open_dossier,
    state_of,
)
from heelstamp.casework.overtaken import OvertakenError
from heelstamp.casework.papers.examination_report import examined
from heelstamp.casework.ports import Head, Shop, WrittenBetweenError
from heelstamp.errors import ConflictError

TAG = INSTRUMENT["tag"]
MARK = {
    "id": "o1",
    "part": "body",
    "kind": "mark",
    "status": "read",
    "text": "65",
    "note": "pencil",
}


class Beside(MemoryJournals):
    """Journals to which another writes just before the next appends do."""

    def __init__(self) -> None:
        super().__init__()
        self.others: list[Callable[[], object]] = []

    def append(self, tag: str, lines: Sequence[bytes], previous: str | None) -> Head:
        if self.others:
            self.others.pop(0)()
        return super().append(tag, lines, previous)


@pytest.fixture
def journals() -> Beside:
    return Beside()


@pytest.fixture
def shop(journals: Beside) -> Shop:
    made = memory_shop(journals=journals)
    open_dossier(made, INSTRUMENT, at=AT, by=BY)
    append(made, TAG, "observation", MARK, at=AT, by=BY)
    return made


def seen(id_: str) -> dict[str, Any]:
    return {"id": id_, "part": "neck", "kind": "mark", "status": "absent"}


def corrected(shop: Shop, id_: str, **changes: str | None) -> Callable[[], object]:
    body = {**MARK, **changes}
    return lambda: correct(
        shop, TAG, "o1", body, correction=id_, reason="x", at=AT, by="examiner B"
    )


def test_a_plain_entry_follows_whatever_others_wrote(shop: Shop, journals: Beside) -> None:
    for number in range(TRIES - 1):
        body = seen(f"theirs-{number}")
        journals.others.append(lambda one=body: append(shop, TAG, "observation", one, at=AT, by=BY))
    # each of the others meets nobody: what waits is taken one at a time
    waiting, journals.others = journals.others, []
    for other in waiting:
        journals.others = [other]
        append(shop, TAG, "observation", seen(f"ours-{len(journals.pauses)}"), at=AT, by=BY)
    ids = [one.body.get("id") for one in entries_of(shop, TAG)]
    assert len(ids) == len(set(ids)) == 2 + 2 * (TRIES - 1)
    assert journals.pauses == [0] * (TRIES - 1)


def test_it_ends_when_others_never_stop(
    shop: Shop, journals: Beside, monkeypatch: pytest.MonkeyPatch
) -> None:
    def busy(*_: object) -> Head:
        raise WrittenBetweenError("others wrote")

    monkeypatch.setattr(journals, "append", busy)
    with pytest.raises(WrittenBetweenError):
        append(shop, TAG, "observation", seen("o2"), at=AT, by=BY)
    assert journals.pauses == list(range(TRIES - 1))


def test_another_refusal_is_not_tried_anew(
    shop: Shop, journals: Beside, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refused(*_: object) -> Head:
        raise ConflictError("another process wrote")  # the words alone mean nothing

    monkeypatch.setattr(journals, "append", refused)
    with pytest.raises(ConflictError):
        append(shop, TAG, "observation", seen("o2"), at=AT, by=BY)
    assert journals.pauses == []


@pytest.mark.parametrize(
    ("theirs", "ours", "stands"),
    [
        ({"note": "ink"}, {"text": "66"}, ("66", "ink")),
        ({"text": "66"}, {"text": "66"}, ("66", "pencil")),
        ({"note": "ink", "text": "66"}, {"text": "66"}, ("66", "ink")),
        ({"text": "67"}, {"text": "66"}, None),
        ({"text": "67"}, {"text": "66", "note": "ink"}, None),
    ],
)
def test_only_the_same_field_of_the_same_fact_is_a_conflict(
    shop: Shop,
    journals: Beside,
    theirs: Mapping[str, str],
    ours: Mapping[str, str],
    stands: tuple[str, str] | None,
) -> None:
    journals.others.append(corrected(shop, "c1", **theirs))
    mine = {**MARK, **ours}
    told: dict[str, Any] = {"correction": "c2", "reason": "y", "at": AT, "by": BY}
    if stands is None:
        with pytest.raises(OvertakenError, match="text"):
            correct(shop, TAG, "o1", mine, **told)
        assert state_of(shop, TAG).observations["o1"].text == "67"
        return
    correct(shop, TAG, "o1", mine, **told)
    found = state_of(shop, TAG).observations["o1"]
    assert (found.text, found.note) == stands


def test_to_withdraw_what_somebody_changed_since_is_a_conflict(
    shop: Shop, journals: Beside
) -> None:
    journals.others.append(corrected(shop, "c1", note="ink"))
    with pytest.raises(OvertakenError):
        correct(shop, TAG, "o1", None, correction="c2", reason="y", at=AT, by=BY)


def test_what_is_sent_twice_stands_once_even_at_the_same_moment(
    shop: Shop, journals: Beside
) -> None:
    act = ("observation", seen("o2"))
    journals.others.append(lambda: append_all(shop, TAG, [act], at=AT, by=BY))
    assert append_all(shop, TAG, [act], at=AT, by=BY, resent=True) == ()
    assert [one.body.get("id") for one in entries_of(shop, TAG)].count("o2") == 1


def test_a_clock_that_ran_back_is_noted_once_and_blocks_nothing(shop: Shop) -> None:
    for number in range(3):
        at = f"2020-01-01T00:0{number}:00Z"
        made = append(shop, TAG, "observation", seen(f"back-{number}"), at=at, by=BY)
        assert made.kind == "observation"
    kinds = [one.kind for one in entries_of(shop, TAG)]
    assert kinds == ["instrument", "observation", "observation", "clock", *["observation"] * 2]
    (note,) = [one for one in entries_of(shop, TAG) if one.kind == "clock"]
    assert note.body == {"id": "clock1", "clock": "unsure", "last": AT}


def test_a_paper_names_no_day_of_an_unsure_clock(shop: Shop) -> None:
    append(shop, TAG, "observation", seen("a"), at="2026-11-03T09:00:00Z", by=BY)
    assert examined(state_of(shop, TAG)) == "2026-11-02 to 2026-11-03"
    append(shop, TAG, "observation", seen("b"), at="2099-01-01T00:00:00Z", by=BY)
    append(shop, TAG, "observation", seen("c"), at="2026-11-04T09:00:00Z", by=BY)
    told = examined(state_of(shop, TAG))
    assert told == "2026-11-02 to 2026-11-03; 2 entries by an unsure clock"
