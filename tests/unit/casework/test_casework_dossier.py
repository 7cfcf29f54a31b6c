"""The dossier's procedures over in-memory ports."""

from typing import Any

import pytest

from fakes.stores import AT, BY, INSTRUMENT, MemoryFiles, MemoryJournals, memory_shop
from heelstamp.archive import Verdict, sha256, verify_lines
from heelstamp.casework.dossier import (
    append,
    append_all,
    attach_photograph,
    attach_recording,
    correct,
    entries_of,
    next_id,
    open_dossier,
    state_of,
)
from heelstamp.casework.ports import Shop
from heelstamp.errors import ConflictError, InputError, IntegrityError, StorageError

TAG = "H-0001"
WHEN: Any = {"at": AT, "by": BY}
ABSENT = {"id": "o1", "part": "body", "kind": "mark", "status": "absent"}


@pytest.fixture
def memory() -> Shop:
    memory = memory_shop()
    open_dossier(memory, INSTRUMENT, **WHEN)
    return memory


def test_the_chain_of_a_new_dossier_is_sound(memory: Shop) -> None:
    append(memory, TAG, "observation", ABSENT, **WHEN)
    report = verify_lines(memory.journals.lines(TAG))
    assert report.verdict is Verdict.SOUND
    assert report.head == state_of(memory, TAG).head


def test_entries_carry_time_and_hand(memory: Shop) -> None:
    made = append(memory, TAG, "observation", ABSENT, at="2026-11-03T08:00:00Z", by="examiner B")
    assert (made.seq, made.at, made.by) == (2, "2026-11-03T08:00:00Z", "examiner B")
    assert state_of(memory, TAG).entered["o1"].by == "examiner B"


@pytest.mark.parametrize(
    ("acts", "error", "message"),
    [
        ([("observation", {**ABSENT, "part": "hull"})], InputError, "entry 2 .*field part"),
        ([("observation", ABSENT), ("observation", ABSENT)], InputError, "entry 3 .*id is taken"),
        ([("custody", {"id": "k1", "event": "to bench"})], ConflictError, "not received"),
        ([("observation", {**ABSENT, "note": "\ud800"})], InputError, "lone surrogate"),
        (
            [
                (
                    "measurement",
                    {
                        "id": "m1",
                        "quantity": "relief",
                        "part": "neck",
                        "value": 2**60,
                        "unit": "mm",
                        "stage": "found",
                    },
                )
            ],
            InputError,
            "too large to be kept exactly",
        ),
    ],
)
def test_a_refused_run_of_entries_stores_nothing(
    memory: Shop, acts: Any, error: type[Exception], message: str
) -> None:
    before = memory.journals.lines(TAG)
    with pytest.raises(error, match=message):
        append_all(memory, TAG, acts, **WHEN)
    assert memory.journals.lines(TAG) == before


def test_a_tag_is_taken_once(memory: Shop) -> None:
    with pytest.raises(ConflictError, match="this dossier exists"):
        open_dossier(memory, INSTRUMENT, **WHEN)


def test_a_dossier_needs_a_tag() -> None:
    with pytest.raises(InputError, match="a dossier needs a tag"):
        open_dossier(memory_shop(), {**INSTRUMENT, "tag": ""}, **WHEN)


def test_an_unknown_dossier_names_those_there_are(memory: Shop) -> None:
    with pytest.raises(InputError, match=r"no such dossier .*H-0002.*Dossiers: H-0001"):
        state_of(memory, "H-0002")


@pytest.mark.parametrize("at", ["2026-11-02T09:14:00", "2026-02-30T09:14:00Z", "now"])
def test_an_impossible_time_of_entry_is_refused(memory: Shop, at: str) -> None:
    with pytest.raises(InputError, match="entry 2, field at"):
        append(memory, TAG, "observation", ABSENT, at=at, by=BY)


def test_only_the_shops_examiners_sign() -> None:
    memory = memory_shop(examiners=("examiner A",))
    open_dossier(memory, INSTRUMENT, **WHEN)
    with pytest.raises(InputError, match=r"not one of the shop's examiners .*examiner C"):
        append(memory, TAG, "observation", ABSENT, at=AT, by="examiner C")


def test_a_correction_of_a_correction(memory: Shop) -> None:
    append(memory, TAG, "observation", ABSENT, **WHEN)
    correct(memory, TAG, "o1", None, correction="x1", reason="wrong part", **WHEN)
    assert state_of(memory, TAG).observations == {}
    correct(memory, TAG, "x1", None, correction="x2", reason="right after all", **WHEN)
    assert state_of(memory, TAG).observations["o1"].status == "absent"


def test_a_photograph_is_kept_and_says_what_its_file_says(memory: Shop) -> None:
    made = attach_photograph(
        memory, TAG, b"picture", {"id": "F1", "name": "heel.jpg", "part": "neck"}, **WHEN
    )
    seen = state_of(memory, TAG).photographs["F1"]
    assert made.body["file"] == seen.file == sha256(b"picture")
    assert (seen.width, seen.height, seen.taken) == (40, 30, "2026-11-02T10:00:00")
    assert memory.files.get(seen.file) == b"picture"
    assert [one.size for one in memory.journals.files()] == [7]


def test_a_refused_photograph_keeps_no_file(memory: Shop) -> None:
    for details in ({"id": "F1", "part": "hull"}, {"id": "F1", "light": "moon"}, {"part": "neck"}):
        with pytest.raises(InputError):
            attach_photograph(memory, TAG, b"picture", details, **WHEN)
    assert isinstance(memory.files, MemoryFiles)
    assert memory.files.kept == {}
    assert len(memory.journals.lines(TAG)) == 1


def test_a_recording_is_kept(memory: Shop) -> None:
    details = {"id": "R1", "name": "a.wav", "media_type": "audio/wav", "what": "sweep"}
    attach_recording(memory, TAG, b"sound", details, **WHEN)
    assert state_of(memory, TAG).recordings["R1"].file == sha256(b"sound")


class FailingJournals(MemoryJournals):
    """Journals on a disk that is full."""

    def append(self, *_: Any) -> Any:
        raise StorageError("the disk is full", where="heelstamp.db")


def test_an_entry_that_cannot_be_stored_leaves_only_a_file_without_an_entry(memory: Shop) -> None:
    failing = FailingJournals()
    failing.kept = {TAG: list(memory.journals.lines(TAG))}
    broken = memory_shop(journals=failing, files=memory.files)
    with pytest.raises(StorageError, match="disk is full"):
        attach_photograph(broken, TAG, b"picture", {"id": "F1"}, **WHEN)
    assert state_of(broken, TAG).photographs == {}
    assert memory.files.has(sha256(b"picture"))


def test_next_id_is_the_first_free_one(memory: Shop) -> None:
    append(memory, TAG, "observation", ABSENT, **WHEN)
    assert next_id(state_of(memory, TAG), "o") == "o2"
    assert next_id(state_of(memory, TAG), "F") == "F1"


@pytest.mark.parametrize("line", [b"{broken", b"[]", b'{"seq":2}'])
def test_a_damaged_stored_line_is_an_integrity_error(memory: Shop, line: bytes) -> None:
    assert isinstance(memory.journals, MemoryJournals)
    memory.journals.kept[TAG].append(line)
    with pytest.raises(
        IntegrityError, match=r"H-0001, entry 2.*: the stored journal cannot be read"
    ):
        entries_of(memory, TAG)


def test_a_dossier_opens_with_its_instrument() -> None:
    from heelstamp.casework.dossier import open_with

    with pytest.raises(InputError, match="opens with its instrument"):
        open_with(memory_shop(), [("observation", ABSENT)], **WHEN)
