"""The chain: any changed byte is found, every finding is named, the limits are as stated."""

from collections.abc import Callable
from typing import Any

import pytest

from fakes.sealed import chained, seal_form_1, sealed_again, seed_of
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
from heelstamp.errors import InputError

Journal = Callable[[int], list[dict[str, Any]]]


@pytest.fixture(params=[1, 2], ids=["form 1", "form 2"])
def journal(request: pytest.FixtureRequest) -> Journal:
    def make(length: int) -> list[dict[str, Any]]:
        bodies = [
            ("decision", {"id": f"d{seq}", "weight": 3284.0, "note": "schräg"})
            for seq in range(1, length + 1)
        ]
        return chained(bodies, forms=request.param)

    return make


def as_file(entries: list[dict[str, Any]]) -> bytes:
    return write_lines([line_of(entry) for entry in entries])


def codes(report: ChainReport) -> list[tuple[int, str]]:
    return [(one.seq, one.code) for one in report.findings]


def test_a_sound_journal(journal: Journal) -> None:
    entries = journal(5)
    report = verify_file(as_file(entries), head=entries[-1]["digest"])
    assert report.verdict is Verdict.SOUND
    assert (report.length, report.head) == (5, entries[-1]["digest"])


def test_every_single_changed_byte_is_found(journal: Journal) -> None:
    data = as_file(journal(3))
    for place in range(len(data)):
        for other in (data[place] ^ 1, data[place] ^ 0x20):
            changed = data[:place] + bytes([other]) + data[place + 1 :]
            assert verify_file(changed).verdict is Verdict.BROKEN, (place, other)


def test_every_single_removed_byte_is_found(journal: Journal) -> None:
    data = as_file(journal(3))
    for place in range(len(data)):
        assert verify_file(data[:place] + data[place + 1 :]).verdict is not Verdict.SOUND, place


def test_a_changed_entry_is_named_with_both_digests(journal: Journal) -> None:
    entries = journal(4)
    entries[1] = {**entries[1], "by": "examiner B"}
    report = verify_file(as_file(entries))
    assert codes(report) == [(2, "digest")]
    assert entries[1]["digest"] in report.findings[0].message


def test_a_changed_entry_sealed_anew_breaks_the_next_link(journal: Journal) -> None:
    entries = journal(4)
    entries[1] = sealed_again(entries[1], by="examiner B")
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
    journal: Journal, order: list[int], expected: list[tuple[int, str]]
) -> None:
    entries = journal(4)
    report = verify_file(as_file([entries[index] for index in order]))
    assert codes(report) == expected
    assert report.verdict is Verdict.BROKEN


def test_all_findings_are_collected_before_the_verdict(journal: Journal) -> None:
    lines = [line_of(entry) for entry in journal(5)]
    lines[0] = lines[0].replace(b"examiner A", b"examiner B")
    lines[2] = b"{broken"
    lines[4] = lines[4].replace(b'"seq":5', b'"seq": 5')
    report = verify_lines(lines)
    assert codes(report) == [(1, "digest"), (3, "unreadable"), (5, "not canonical")]


def test_missing_fields_are_listed(journal: Journal) -> None:
    entry = journal(1)[0]
    del entry["by"], entry["digest"]
    report = verify_lines([line_of(entry)])
    assert report.findings[0].message == "lacks by, digest"
    assert report.head is None


def test_an_empty_journal_cannot_be_decided() -> None:
    report = verify_file(b"")
    assert report.verdict is Verdict.CANNOT_DECIDE
    assert codes(report) == [(0, "empty")]


def test_a_journal_cut_within_an_entry_cannot_be_decided(journal: Journal) -> None:
    data = as_file(journal(3))
    report = verify_file(data[: len(data) - 40])
    assert report.verdict is Verdict.CANNOT_DECIDE
    assert codes(report) == [(3, "cut short")]


def test_a_cut_off_end_is_found_only_against_a_head_kept_elsewhere(journal: Journal) -> None:
    entries = journal(4)
    shorter = as_file(entries[:3])
    assert verify_file(shorter).verdict is Verdict.SOUND  # the stated limit
    report = verify_file(shorter, head=entries[-1]["digest"])
    assert codes(report) == [(3, "head")]
    assert report.verdict is Verdict.BROKEN


def test_entries_after_a_paper_leave_its_head_good(journal: Journal) -> None:
    entries = journal(4)
    report = verify_file(as_file(entries), head=entries[1]["digest"])
    assert report.verdict is Verdict.SOUND
    assert report.head_at == 2
    assert verify_file(as_file(entries), head=entries[1]["digest"][:12]).head_at == 2
    assert verify_file(as_file(entries), head=entries[1]["digest"][:3]).verdict is Verdict.BROKEN


def test_a_number_that_changes_only_its_spelling_is_the_same_entry(journal: Journal) -> None:
    entry = journal(1)[0]
    again = sealed_again(read_json(line_of(entry)))
    assert again["digest"] == entry["digest"]


def test_sealing_again_gives_the_same_digest(journal: Journal) -> None:
    entry = journal(1)[0]
    assert sealed_again(entry) == entry


def test_a_journal_of_form_1_goes_on_in_form_2_and_never_back() -> None:
    bodies = [("decision", {"id": f"d{seq}"}) for seq in range(1, 5)]
    on = chained(bodies, forms={1: 1, 2: 1, 3: 2, 4: 2})
    assert verify_lines([line_of(one) for one in on]).verdict is Verdict.SOUND
    back = chained(bodies, forms={1: 1, 2: 2, 3: 1, 4: 2})
    report = verify_lines([line_of(one) for one in back])
    assert codes(report) == [(3, "form")]
    assert report.verdict is Verdict.BROKEN


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"form": 3}, "is of a form that this program does not know"),
        ({"form": True}, "is of a form that this program does not know"),
        ({"seed": "AB" * 32}, "its seed is not 64 hexadecimal digits"),
        ({"seed": None}, "its seed is not 64 hexadecimal digits"),
        ({"hand": "x"}, "holds what no entry has: hand"),
        ({"body": []}, "its body is not a table of fields"),
    ],
)
def test_fields_that_no_entry_of_form_2_has(change: dict[str, Any], message: str) -> None:
    (entry,) = chained([("decision", {"id": "d1"})])
    report = verify_lines([line_of({**entry, **change})])
    assert report.findings[0].code == "fields"
    assert report.findings[0].message == message


def test_a_true_is_no_number() -> None:
    (entry,) = chained([("decision", {"id": "d1"})])
    assert codes(verify_lines([line_of(sealed_again(entry, seq=True))])) == [(1, "sequence")]


def test_half_a_character_is_unreadable() -> None:
    (entry,) = chained([("decision", {"id": "d1"})])
    line = line_of(entry).replace(b'"d1"', b'"\\ud83d"')
    assert codes(verify_lines([line])) == [(1, "unreadable")]


def test_a_last_entry_cut_within_a_letter_is_cut_short() -> None:
    data = as_file(chained([("decision", {"note": "schräg"})]))
    assert codes(verify_file(data[: data.index("ä".encode()) + 1])) == [(1, "cut short")]


def test_an_entry_of_too_many_fields_is_not_sealed_nor_sound() -> None:
    (entry,) = chained([("decision", {f"f{number}": 0 for number in range(4090)})])
    assert verify_lines([line_of(entry)]).verdict is Verdict.SOUND
    with pytest.raises(InputError, match="too many fields"):
        seal({**entry, "body": {f"f{number}": 0 for number in range(4091)}}, seed_of(1))
    more = {**entry, "body": {f"f{number}": 0 for number in range(4091)}}
    assert codes(verify_lines([line_of(more)])) == [(1, "fields")]


def test_a_seed_of_another_length_is_refused_and_not_shown() -> None:
    entry = seal_form_1({"seq": 1})
    with pytest.raises(InputError, match="received: 31 bytes") as caught:
        seal(entry, b"s" * 31)
    assert "sss" not in str(caught.value)


def test_findings_never_show_a_seed() -> None:
    entries = chained([("decision", {"id": f"d{seq}"}) for seq in (1, 2, 3)])
    seeds = [entry["seed"] for entry in entries]
    lines = [
        line_of({**entry, "by": "x", "seed": seed.upper()})
        for entry, seed in zip(entries, seeds, strict=True)
    ] + [line_of({**entries[0], "seq": 9})]
    told = str(verify_lines(lines)).lower()
    assert not any(seed[:16] in told for seed in seeds)
