"""The ledger: a changed, lost or added row is told, and so is a line that does not fit."""

from collections.abc import Callable
from typing import Any

import pytest

from fakes.sealed import seed_of
from heelstamp.archive import Verdict, canonical_json, read_json
from heelstamp.archive.ledger import (
    RowChange,
    RowFault,
    changes_digest,
    ledger_line,
    row_digest,
    row_faults,
    row_key,
    rows_standing,
    verify_ledger,
)
from heelstamp.errors import InputError


def sold(row: str, price: int) -> RowChange:
    columns = {"market": "wherry", "row": row, "text": f"sold {price} USD"}
    return RowChange("comparable", row_key(["wherry", row]), row_digest("comparable", columns))


def out(row: str) -> RowChange:
    return RowChange("comparable", row_key(["wherry", row]), None)


CHANGES = {1: [sold("a", 9100), sold("b", 8200)], 2: [sold("c", 7000)], 3: [out("b")]}


def ledger() -> list[dict[str, Any]]:
    lines: list[dict[str, Any]] = []
    for n, changes in CHANGES.items():
        previous = str(lines[-1]["digest"]) if lines else None
        when = f"2026-11-0{n}T09:00:00Z"
        lines.append(
            ledger_line(changes, n=n, at=when, by="owner", previous=previous, seed=seed_of(n))
        )
    return lines


def as_lines(ledger: list[dict[str, Any]]) -> list[bytes]:
    return [canonical_json(line) for line in ledger]


def test_a_ledger_is_sound_with_its_changes_in_any_order() -> None:
    turned = {n: list(reversed(changes)) for n, changes in CHANGES.items()}
    report = verify_ledger(as_lines(ledger()), turned)
    assert (report.verdict, report.length) == (Verdict.SOUND, 3)


def test_an_earlier_head_is_good_and_a_cut_off_end_is_found_against_a_later() -> None:
    lines = as_lines(ledger())
    heads = [read_json(line)["digest"] for line in lines]
    assert verify_ledger(lines, CHANGES, head=heads[0]).head_at == 1
    shorter = {n: CHANGES[n] for n in (1, 2)}
    assert verify_ledger(lines[:2], shorter).verdict is Verdict.SOUND  # the stated limit
    report = verify_ledger(lines[:2], shorter, head=heads[2])
    assert [one.code for one in report.findings] == ["head"]


def test_an_empty_ledger_cannot_be_decided() -> None:
    assert verify_ledger([], {}).verdict is Verdict.CANNOT_DECIDE


@pytest.mark.parametrize(
    ("change", "codes"),
    [
        (lambda line: line.update(by="someone"), ["digest"]),
        (lambda line: line.update(seed="0" * 64), ["digest"]),
        (lambda line: line.update(seed="0"), ["fields", "digest"]),
        (lambda line: line.pop("at"), ["fields", "digest"]),
        (lambda line: line.update(more=1), ["fields", "digest"]),
        (lambda line: line.update(n=3), ["sequence", "digest"]),
        (lambda line: line.update(count=2), ["rows", "digest"]),
        (lambda line: line.update(count=True), ["rows", "digest"]),
        (lambda line: line.update(rows="0" * 64), ["rows", "digest"]),
        (lambda line: line.update(previous=None), ["digest", "link"]),
    ],
)
def test_a_changed_line_is_found(change: Callable[[Any], Any], codes: list[str]) -> None:
    lines = ledger()
    change(lines[1])
    report = verify_ledger(as_lines(lines), CHANGES)
    assert [one.code for one in report.findings if one.seq == 2] == codes
    assert report.verdict is Verdict.BROKEN


@pytest.mark.parametrize(
    ("text", "code"), [(b"{", "unreadable"), (b"[]", "unreadable"), (b'{"n": 2}', "not canonical")]
)
def test_bytes_that_are_no_line(text: bytes, code: str) -> None:
    lines = as_lines(ledger())
    lines[1] = text
    assert verify_ledger(lines, CHANGES).findings[0].code == code


@pytest.mark.parametrize(
    "changes",
    [
        {**CHANGES, 2: [sold("c", 7001)]},
        {**CHANGES, 2: []},
        {**CHANGES, 2: [sold("c", 7000), sold("d", 1)]},
        {**CHANGES, 2: [sold("c", 7000), sold("c", 7000)]},
        {**CHANGES, 4: [sold("d", 1)]},
    ],
)
def test_other_changes_than_were_noted_are_found(changes: dict[int, list[RowChange]]) -> None:
    report = verify_ledger(as_lines(ledger()), changes)
    assert [one.code for one in report.findings] == ["rows"]


def test_a_row_changes_once_in_a_transaction() -> None:
    with pytest.raises(InputError, match="twice in one transaction"):
        changes_digest([sold("a", 1), out("a")])


def test_tables_and_columns_are_told_apart() -> None:
    row = {"row": "a", "price": 1}
    digests = {row_digest("sale", row), row_digest("asked", row), row_digest("sale", {"row": "a"})}
    assert len(digests | {row_digest("sale", {**row, "price": "1"})}) == 4


def test_rows_are_compared_with_what_should_stand() -> None:
    standing = rows_standing(CHANGES)
    a, c = ("comparable", row_key(["wherry", "a"])), ("comparable", row_key(["wherry", "c"]))
    assert list(standing) == [a, c]
    assert row_faults(standing, standing) == ()
    found = {a: "0" * 64, ("comparable", "x"): "1" * 64}
    assert row_faults(standing, found) == (
        RowFault(*a, "changed"),
        RowFault(*c, "missing"),
        RowFault("comparable", "x", "left over"),
    )


def test_a_ledger_line_never_repeats_and_does_not_tell_its_price() -> None:
    one, other = (
        ledger_line([sold("a", 1)], n=1, at="t", by="o", previous=None, seed=seed_of(n))
        for n in (1, 2)
    )
    assert one["rows"] == other["rows"]
    assert one["digest"] != other["digest"]
