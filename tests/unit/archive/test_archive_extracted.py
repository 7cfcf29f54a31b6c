"""A journal taken out of a paper is verified in each form that it is found in."""

import json

import pytest

from heelstamp.archive import Verdict, line_of, seal, write_lines
from heelstamp.archive.extracted import verify_extracted


def sealed(count: int) -> list[dict[str, object]]:
    entries: list[dict[str, object]] = []
    for seq in range(1, count + 1):
        fields = {
            "seq": seq,
            "at": "2026-11-02T09:14:00Z",
            "by": "examiner A",
            "kind": "decision",
            "body": {"id": f"d{seq}"},
            "previous": entries[-1]["digest"] if entries else None,
        }
        entries.append(seal(fields, bytes([seq]) * 32))
    return entries


def as_array(entries: list[dict[str, object]]) -> bytes:
    return json.dumps(entries, indent=1).encode()


def test_lines_and_array_come_to_the_same() -> None:
    entries = sealed(3)
    lines = write_lines([line_of(one) for one in entries])
    assert verify_extracted(lines) == verify_extracted(as_array(entries))
    report = verify_extracted(as_array(entries), head=str(entries[1]["digest"]))
    assert (report.verdict, report.head_at, report.length) == (Verdict.SOUND, 2, 3)


def test_a_change_in_an_array_is_found() -> None:
    entries = sealed(3)
    entries[1]["by"] = "examiner B"
    report = verify_extracted(as_array(entries))
    assert report.verdict is Verdict.BROKEN
    assert [(one.seq, one.code) for one in report.findings] == [(2, "digest")]


def links(count: int) -> list[dict[str, object]]:
    names = ("seq", "kind", "previous", "digest")
    return [{name: one[name] for name in names} for one in sealed(count)]


def test_a_chain_of_digests_shows_order_but_not_content() -> None:
    report = verify_extracted(as_array(links(3)), head=str(links(3)[2]["digest"]))
    assert report.verdict is Verdict.CANNOT_DECIDE
    assert [one.code for one in report.findings] == ["content"]
    assert report.head_at == 3


@pytest.mark.parametrize(
    ("change", "code"),
    [({"seq": 3}, "sequence"), ({"digest": "x"}, "digest"), ({"previous": "0" * 64}, "link")],
)
def test_a_broken_chain_of_digests(change: dict[str, object], code: str) -> None:
    chain = links(3)
    chain[1] |= change
    report = verify_extracted(as_array(chain))
    assert report.verdict is Verdict.BROKEN
    assert (2, code) in [(one.seq, one.code) for one in report.findings]


def test_another_digest_is_expected() -> None:
    assert verify_extracted(as_array(links(2)), head="0" * 64).verdict is Verdict.BROKEN


@pytest.mark.parametrize("data", [b"[", b"[1,]", b"[" * 5000])
def test_what_is_no_list_is_broken(data: bytes) -> None:
    assert verify_extracted(data).verdict is Verdict.BROKEN


def test_an_empty_list_decides_nothing() -> None:
    assert verify_extracted(b"[]").verdict is Verdict.CANNOT_DECIDE
