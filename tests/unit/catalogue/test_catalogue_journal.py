"""Envelopes: the time is UTC in the calendar, only the first has none before it."""

from typing import Any

import pytest

from heelstamp.catalogue import envelope, parse_entry
from heelstamp.errors import InputError

FIRST: dict[str, Any] = {
    "seq": 1,
    "at": "2026-11-02T09:14:00Z",
    "by": "examiner A",
    "kind": "decision",
    "body": {},
    "previous": None,
    "digest": "a" * 64,
}


def test_an_entry_is_read() -> None:
    assert parse_entry(FIRST).by == "examiner A"


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"at": "2026-11-02T09:14:00"}, "field at"),
        ({"at": "2026-11-02T09:14:00+01:00"}, "field at"),
        ({"at": "2026-13-02T09:14:00Z"}, "field at: not a date and time"),
        ({"at": "2025-02-29T09:14:00Z"}, "field at: not a date and time"),
        ({"by": ""}, "field by"),
        ({"seq": 0}, "field seq"),
        ({"seq": 2}, "only the first entry has no entry before it"),
        ({"previous": "b" * 64}, "only the first entry has no entry before it"),
        ({"digest": "A" * 64}, "field digest"),
        ({"extra": 1}, "field extra: unknown field"),
    ],
)
def test_an_envelope_that_cannot_be_is_refused(change: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        parse_entry({**FIRST, **change}, where="entry 1")


def test_an_envelope_is_the_entry_without_its_digest() -> None:
    fields = {name: value for name, value in FIRST.items() if name != "digest"}
    assert envelope(**fields) == fields
    with pytest.raises(InputError, match="entry 1, field at"):
        envelope(**{**fields, "at": "now"})


SECOND: dict[str, Any] = {**FIRST, "form": 2, "seed": "c" * 64}


def test_an_entry_tells_its_form() -> None:
    assert (parse_entry(FIRST).form, parse_entry(FIRST).seed) == (1, None)
    assert (parse_entry(SECOND).form, parse_entry(SECOND).seed) == (2, "c" * 64)


@pytest.mark.parametrize(
    ("data", "message"),
    [
        ({**FIRST, "form": 1}, "field form"),
        ({**SECOND, "form": 3}, "field form"),
        ({**SECOND, "form": True}, "field form"),
        ({**FIRST, "seed": "c" * 64}, "field form"),
        ({**FIRST, "form": 2}, "field seed"),
        ({**SECOND, "seed": "C" * 64}, "field seed"),
        ({**SECOND, "seed": None}, "field seed"),
        ({**SECOND, "seed": "c" * 64 + "\n"}, "field seed"),
    ],
)
def test_form_and_seed_belong_together_and_no_error_shows_a_seed(data: Any, message: str) -> None:
    with pytest.raises(InputError, match=f"entry 1, {message}") as caught:
        parse_entry(data, where="entry 1")
    assert "cccc" not in str(caught.value).lower()


def test_an_entry_in_a_log_shows_neither_body_nor_seed() -> None:
    entry = parse_entry({**SECOND, "body": {"text": "S10350"}})
    assert repr(entry) == str(entry) == "Entry(1, 'decision', aaaaaaaaaaaa…)"
