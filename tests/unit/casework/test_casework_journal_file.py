"""Journals as files: out, in again, replayed, and verified with every file they name."""

from typing import Any

import pytest

from fakes.sealed import WHERRY_FORM_1, seal_form_1, sealed_again
from fakes.stores import AT, BY, INSTRUMENT, MemoryFiles, MemoryJournals, memory_shop
from heelstamp.archive import (
    Verdict,
    copy_of,
    line_of,
    read_json,
    sha256,
    verify_copy,
    verify_file,
    write_lines,
)
from heelstamp.casework.dossier import append, attach_photograph, entries_of, open_dossier, state_of
from heelstamp.casework.journal_file import export_journal, import_journal, read_journal, verify
from heelstamp.casework.ports import Shop
from heelstamp.errors import ConflictError, InputError, IntegrityError

TAG = "H-0001"
WHEN: Any = {"at": AT, "by": BY}
DECIDED = {"id": "d90", "about": "neck", "decided": "leave it", "reason": "asked"}
ABSENT = {"id": "o1", "part": "body", "kind": "mark", "status": "absent"}


@pytest.fixture
def shop() -> Shop:
    shop = memory_shop()
    open_dossier(shop, INSTRUMENT, **WHEN)
    attach_photograph(shop, TAG, b"picture", {"id": "F1", "part": "neck"}, **WHEN)
    append(shop, TAG, "observation", ABSENT, **WHEN)
    return shop


def test_a_journal_replayed_elsewhere_gives_the_same_state(shop: Shop) -> None:
    other = memory_shop()
    data = export_journal(shop, TAG)
    assert import_journal(other, data) == state_of(shop, TAG)
    assert export_journal(other, TAG) == data


def test_taking_a_journal_in_twice_changes_nothing(shop: Shop) -> None:
    data = export_journal(shop, TAG)
    import_journal(shop, data)
    assert export_journal(shop, TAG) == data


def test_a_shop_that_holds_the_beginning_gets_the_rest(shop: Shop) -> None:
    other = memory_shop()
    import_journal(other, export_journal(shop, TAG))
    append(shop, TAG, "observation", {**ABSENT, "id": "o2"}, **WHEN)
    shorter = export_journal(other, TAG)
    assert import_journal(other, export_journal(shop, TAG)) == state_of(shop, TAG)
    assert import_journal(other, shorter) == state_of(shop, TAG)  # the longer one stays


def test_two_journals_are_never_merged(shop: Shop) -> None:
    other = memory_shop()
    import_journal(other, export_journal(shop, TAG))
    append(shop, TAG, "observation", {**ABSENT, "id": "o2"}, **WHEN)
    append(other, TAG, "observation", {**ABSENT, "id": "o3"}, **WHEN)
    before = export_journal(other, TAG)
    with pytest.raises(ConflictError, match="H-0001, entry 4: the shop holds another journal"):
        import_journal(other, export_journal(shop, TAG))
    assert export_journal(other, TAG) == before


def test_one_changed_byte_is_refused_with_the_entry_named(shop: Shop) -> None:
    data = export_journal(shop, TAG)
    changed = data.replace(b'"status":"absent"', b'"status":"absenT"')
    assert changed != data
    other = memory_shop()
    with pytest.raises(IntegrityError, match=r"j\.jsonl, entry 3: the journal is not sound"):
        import_journal(other, changed, name="j.jsonl")
    assert other.journals.tags() == ()


@pytest.mark.parametrize(("data", "code"), [(b"", "empty"), (b'{"a"', "cut short")])
def test_what_cannot_be_decided_is_not_taken_in(data: bytes, code: str) -> None:
    with pytest.raises(IntegrityError, match=rf"received: {code}\)"):
        import_journal(memory_shop(), data)


def test_a_cut_off_end_is_found_against_a_head_kept_elsewhere(shop: Shop) -> None:
    head = state_of(shop, TAG).head
    lines = export_journal(shop, TAG).splitlines(keepends=True)
    read_journal(b"".join(lines), name="j", head=head)
    with pytest.raises(IntegrityError, match="expected digest"):
        read_journal(b"".join(lines[:-1]), name="j", head=head)


def test_a_sound_chain_of_impossible_entries_is_refused(shop: Shop) -> None:
    first = read_json(shop.journals.lines(TAG)[0])
    first["body"]["colour"] = "red"
    with pytest.raises(InputError, match="field colour: unknown field"):
        import_journal(memory_shop(), write_lines([line_of(sealed_again(first))]))


def test_verification_reads_chain_and_files(shop: Shop) -> None:
    found = verify(shop, TAG, head=state_of(shop, TAG).head)
    assert found.verdict is Verdict.SOUND
    assert found.files == ()


def test_a_missing_and_a_changed_file_are_told_apart(shop: Shop) -> None:
    attach_photograph(shop, TAG, b"second", {"id": "F2"}, **WHEN)
    assert isinstance(shop.files, MemoryFiles)
    first, second = shop.files.kept
    del shop.files.kept[first]
    shop.files.kept[second] = b"other"
    found = verify(shop, TAG)
    assert found.verdict is Verdict.BROKEN
    assert [(one.name, one.code) for one in found.files] == [
        (first, "missing"),
        (second, "changed"),
    ]


def test_a_changed_stored_entry_is_found(shop: Shop) -> None:
    assert isinstance(shop.journals, MemoryJournals)
    kept = shop.journals.kept[TAG]
    kept[2] = kept[2].replace(b'"absent"', b'"illegible"')
    found = verify(shop, TAG)
    assert found.verdict is Verdict.BROKEN
    assert [(one.seq, one.code) for one in found.chain.findings] == [(3, "digest")]


def test_a_dossier_there_is_not_is_an_error_that_names_those_there_are(shop: Shop) -> None:
    with pytest.raises(InputError, match="H-0001"):
        verify(shop, "H-0009")


def test_new_entries_are_of_form_2_and_export_carries_their_seeds(shop: Shop) -> None:
    entries = [read_json(line) for line in export_journal(shop, TAG).splitlines()]
    assert [one["form"] for one in entries] == [2, 2, 2]
    assert len({one["seed"] for one in entries}) == 3
    assert [one.form for one in entries_of(shop, TAG)] == [2, 2, 2]


def test_a_journal_of_form_1_is_taken_in_and_goes_on_in_form_2() -> None:
    shop = memory_shop()
    data = WHERRY_FORM_1.read_bytes()
    import_journal(shop, data)
    append(shop, "W-0001", "decision", DECIDED, at="2026-12-01T09:00:00Z", by=BY)
    append(shop, "W-0001", "decision", {**DECIDED, "id": "d91"}, at="2026-12-01T09:00:00Z", by=BY)
    longer = export_journal(shop, "W-0001")
    assert longer.startswith(data)
    assert verify_file(longer).verdict is Verdict.SOUND
    assert [one.form for one in entries_of(shop, "W-0001")] == [1] * 206 + [2, 2]
    other = memory_shop()
    import_journal(other, longer)
    assert export_journal(other, "W-0001") == longer


def test_an_entry_of_form_1_cannot_follow_one_of_form_2(shop: Shop) -> None:
    last = entries_of(shop, TAG)[-1]
    fields = {"seq": 4, "at": AT, "by": BY, "kind": "decision", "body": DECIDED}
    old = line_of(seal_form_1({**fields, "previous": last.digest}))
    with pytest.raises(IntegrityError, match="received: form"):
        import_journal(memory_shop(), export_journal(shop, TAG) + old + b"\n")


def test_an_issue_is_entered_and_its_copy_verifies(shop: Shop) -> None:
    files = {"finding.json": sha256(b"{}")}
    body = {"id": "i1", "reader": "buyer", "day": "2026-11-09", "files": files}
    made = append(shop, TAG, "issue", body, **WHEN)
    text = copy_of(read_json(shop.journals.lines(TAG)[-1]))
    proof = verify_copy(text, {"finding.json": b"{}"}, head=made.digest)
    assert proof.verdict is Verdict.SOUND
    assert state_of(shop, TAG).length == 4


def test_errors_about_a_line_do_not_show_its_seed(shop: Shop) -> None:
    assert isinstance(shop.journals, MemoryJournals)
    kept = shop.journals.kept[TAG]
    seed = read_json(kept[2])["seed"]
    whole = kept[2]
    kept[2] = whole.replace(seed.encode(), b'"' + seed.encode())  # the text ends before the seed
    with pytest.raises(IntegrityError) as caught:
        state_of(shop, TAG)
    assert seed[:12] not in str(caught.value) + caught.value.received
    kept[2] = whole
    for spoilt in (seed.upper(), seed[:63], [seed], seed + "0"):
        kept[2] = line_of({**read_json(kept[2]), "seed": spoilt})
        told = str(verify(shop, TAG))
        with pytest.raises(IntegrityError) as caught:
            state_of(shop, TAG)
        assert seed[:12] not in (told + str(caught.value) + caught.value.received).lower()
