"""The chain: any changed byte is found, every finding is named, the limits are as stated."""

from typing import Any

import pytest

from heelstamp.archive import (
    ChainReport,
    Verdict,
    line_of,
    read_json,
    seal,
    verify_file,
    verify_lines,
    write_lines,
)


def journal(length: int) -> list[dict[str, Any]]:
    entries: list[dict[str, Any]] = []
    for seq in range(1, length + 1):
        fields = {
            "seq": seq,
            "at": "2026-11-02T09:14:00Z",
            "by": "examiner A",
            "kind": "decision",
            "body": {"id": f"d{seq}", "weight": 3284.0, "note": "schräg"},
            "previous": entries[-1]["digest"] if entries else None,
        }
        entries.append(seal(fields))
    return entries


def as_file(entries: list[dict[str, Any]]) -> bytes:
    return write_lines([line_of(entry) for entry in entries])


def codes(report: ChainReport) -> list[tuple[int, str]]:
    return [(one.seq, one.code) for one in report.findings]


def test_a_sound_journal() -> None:
    entries = journal(5)
    report = verify_file(as_file(entries), head=entries[-1]["digest"])
    assert report.verdict is Verdict.SOUND
    assert (report.length, report.head) == (5, entries[-1]["digest"])


def test_every_single_changed_byte_is_found() -> None:
    data = as_file(journal(3))
    for place in range(len(data)):
        for other in (data[place] ^ 1, data[place] ^ 0x20):
            changed = data[:place] + bytes([other]) + data[place + 1 :]
            assert verify_file(changed).verdict is Verdict.BROKEN, (place, other)


def test_every_single_removed_byte_is_found() -> None:
    data = as_file(journal(3))
    for place in range(len(data)):
        assert verify_file(data[:place] + data[place + 1 :]).verdict is not Verdict.SOUND, place


def test_a_changed_entry_is_named_with_both_digests() -> None:
    entries = journal(4)
    entries[1] = {**entries[1], "by": "examiner B"}
    report = verify_file(as_file(entries))
    assert codes(report) == [(2, "digest")]
    assert entries[1]["digest"] in report.findings[0].message


def test_a_changed_entry_sealed_anew_breaks_the_next_link() -> None:
    entries = journal(4)
    entries[1] = seal({**entries[1], "by": "examiner B"})
    assert codes(verify_file(as_file(entries))) == [(3, "link")]


@pytest.mark.parametrize(
    ("order", "expected"),
    [
        ([0, 2, 3], [(2, "sequence"), (2, "link")]),
        ([0, 2, 1, 3], [(2, "sequence"), (2, "link"), (3, "link"), (4, "link")]),
        ([1, 2], [(1, "sequence"), (1, "link")]),
        ([0, 1, 1], [(3, "sequence"), (3, "link")]),
    ],
)
def test_removed_reordered_and_repeated_entries_are_found(
    order: list[int], expected: list[tuple[int, str]]
) -> None:
    entries = journal(4)
    report = verify_file(as_file([entries[index] for index in order]))
    assert codes(report) == expected
    assert report.verdict is Verdict.BROKEN


def test_all_findings_are_collected_before_the_verdict() -> None:
    lines = [line_of(entry) for entry in journal(5)]
    lines[0] = lines[0].replace(b"examiner A", b"examiner B")
    lines[2] = b"{broken"
    lines[4] = lines[4].replace(b'"seq":5', b'"seq": 5')
    report = verify_lines(lines)
    assert codes(report) == [(1, "digest"), (3, "unreadable"), (5, "not canonical")]


def test_missing_fields_are_listed() -> None:
    entry = journal(1)[0]
    del entry["by"], entry["digest"]
    report = verify_lines([line_of(entry)])
    assert report.findings[0].message == "lacks by, digest"
    assert report.head is None


def test_an_empty_journal_cannot_be_decided() -> None:
    report = verify_file(b"")
    assert report.verdict is Verdict.CANNOT_DECIDE
    assert codes(report) == [(0, "empty")]


def test_a_journal_cut_within_an_entry_cannot_be_decided() -> None:
    data = as_file(journal(3))
    report = verify_file(data[: len(data) - 40])
    assert report.verdict is Verdict.CANNOT_DECIDE
    assert codes(report) == [(3, "cut short")]


def test_a_cut_off_end_is_found_only_against_a_head_kept_elsewhere() -> None:
    entries = journal(4)
    shorter = as_file(entries[:3])
    assert verify_file(shorter).verdict is Verdict.SOUND  # the stated limit
    report = verify_file(shorter, head=entries[-1]["digest"])
    assert codes(report) == [(3, "head")]
    assert report.verdict is Verdict.BROKEN


def test_entries_after_a_paper_leave_its_head_good() -> None:
    entries = journal(4)
    report = verify_file(as_file(entries), head=entries[1]["digest"])
    assert report.verdict is Verdict.SOUND
    assert report.head_at == 2
    assert verify_file(as_file(entries), head=entries[1]["digest"][:12]).head_at == 2
    assert verify_file(as_file(entries), head=entries[1]["digest"][:3]).verdict is Verdict.BROKEN


def test_a_number_that_changes_only_its_spelling_is_the_same_entry() -> None:
    entry = journal(1)[0]
    again = seal({**read_json(line_of(entry)), "digest": None})
    assert again["digest"] == entry["digest"]


def test_sealing_again_gives_the_same_digest() -> None:
    entry = journal(1)[0]
    assert seal(entry) == entry
