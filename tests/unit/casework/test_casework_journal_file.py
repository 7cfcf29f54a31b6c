"""Journals as files: out, in again, replayed, and verified with every file they name."""

from typing import Any

import pytest

from fakes.stores import AT, BY, INSTRUMENT, MemoryFiles, MemoryJournals, memory_shop
from heelstamp.archive import Verdict
from heelstamp.casework.dossier import append, attach_photograph, open_dossier, state_of
from heelstamp.casework.journal_file import export_journal, import_journal, read_journal, verify
from heelstamp.casework.ports import Shop
from heelstamp.errors import ConflictError, InputError, IntegrityError

TAG = "H-0001"
WHEN: Any = {"at": AT, "by": BY}
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
    from heelstamp.archive import line_of, read_json, seal, write_lines

    first = read_json(shop.journals.lines(TAG)[0])
    first["body"]["colour"] = "red"
    with pytest.raises(InputError, match="field colour: unknown field"):
        import_journal(memory_shop(), write_lines([line_of(seal(first))]))


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
