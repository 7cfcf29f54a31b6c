"""The ports' promises, kept alike by memory, SQLite and PostgreSQL; then what only databases do."""

import json
import multiprocessing
import traceback
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import text

from fakes.databases import engine_on, open_journals
from fakes.sealed import seed_of
from fakes.stores import AT, BY, INSTRUMENT, MemoryJournals, memory_shop
from heelstamp.archive import Verdict, line_of, seal, verify_lines
from heelstamp.casework.dossier import append, open_dossier, state_of
from heelstamp.casework.journal_file import export_journal, import_journal, verify
from heelstamp.casework.ports import FileRecord, Head, JournalStore
from heelstamp.errors import ConflictError, HeelstampError, StorageError
from heelstamp.shop import create_shop
from heelstamp.store.journals import DatabaseJournals

TAG = "H-0001"
ABSENT = {"id": "o1", "part": "body", "kind": "mark", "status": "absent"}
WHEN: Any = {"at": AT, "by": BY}


def lines_of(length: int, start: int = 1, previous: str | None = None) -> list[bytes]:
    lines = []
    for seq in range(start, start + length):
        fields: dict[str, Any] = {"seq": seq, "at": AT, "by": BY, "kind": "decision"}
        fields |= {"body": {"id": f"d{seq}", "note": "schräg 😀 \0"}, "previous": previous}
        sealed = seal(fields, seed_of(seq))
        previous = str(sealed["digest"])
        lines.append(line_of(sealed))
    return lines


def digest_at(lines: list[bytes]) -> str:
    report = verify_lines(lines)
    assert report.head is not None
    return report.head


@pytest.fixture(params=["memory", "sqlite", pytest.param("postgres", marks=pytest.mark.postgres)])
def store(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[JournalStore]:
    if request.param == "memory":
        yield MemoryJournals()
        return
    named = request.param == "postgres"
    address = request.getfixturevalue("postgres_address") if named else str(tmp_path / "shop.db")
    opened = open_journals(address)
    yield opened
    opened.close()


def test_a_new_store_is_empty(store: JournalStore) -> None:
    assert store.tags() == ()
    assert store.head(TAG) is None
    assert store.lines(TAG) == ()
    assert store.files() == ()
    assert store.findings(["a" * 64]) == {}


def test_lines_come_back_byte_for_byte_in_order(store: JournalStore) -> None:
    lines = lines_of(12)
    head = store.append(TAG, lines, None)
    assert store.lines(TAG) == tuple(lines)
    assert head == store.head(TAG) == Head(12, digest_at(lines))


def test_appending_moves_the_head(store: JournalStore) -> None:
    first = store.append(TAG, lines_of(1), None)
    more = lines_of(2, start=2, previous=first.digest)
    assert store.append(TAG, more, first.digest).seq == 3
    assert verify_lines(store.lines(TAG)).verdict is Verdict.SOUND


def test_the_second_writer_is_told_and_has_written_nothing(store: JournalStore) -> None:
    first = store.append(TAG, lines_of(1), None)
    store.append(TAG, lines_of(1, 2, first.digest), first.digest)
    before = store.lines(TAG)
    with pytest.raises(ConflictError, match="another process wrote"):
        store.append(TAG, lines_of(3, 2, first.digest), first.digest)
    with pytest.raises(ConflictError):
        store.append(TAG, lines_of(1), None)
    assert store.lines(TAG) == before


def test_nothing_can_follow_where_there_is_nothing(store: JournalStore) -> None:
    with pytest.raises(ConflictError, match="no such dossier"):
        store.append(TAG, lines_of(1, 2, "a" * 64), "a" * 64)
    assert store.tags() == ()


def test_dossiers_are_listed_as_they_were_opened_and_kept_apart(store: JournalStore) -> None:
    for tag in ("H-0002", "H-0001", "H-0003"):
        store.append(tag, lines_of(2), None)
    assert store.tags() == ("H-0002", "H-0001", "H-0003")
    assert len(store.lines("H-0001")) == 2


def test_findings_and_files_are_kept_once(store: JournalStore) -> None:
    one, other = "a" * 64, "c" * 64
    store.keep_findings("date", {one: b'{"a":1}'})
    store.keep_findings("date", {one: b'{"a":2}', other: b'{"a":3}'})
    store.keep_findings("date", {})
    assert store.findings([one, "d" * 64]) == {one: b'{"a":1}'}
    assert store.findings([one, other]) == {one: b'{"a":1}', other: b'{"a":3}'}
    record = FileRecord("b" * 64, 24_000_000_000, "image/jpeg")
    store.record_file(record)
    store.record_file(record)
    assert store.files() == (record,)


def test_an_empty_run_is_a_mistake_of_the_caller(store: JournalStore) -> None:
    with pytest.raises(ValueError, match="nothing to append"):
        store.append(TAG, [], None)


def test_a_whole_dossier_lives_in_it(store: JournalStore) -> None:
    shop = memory_shop(journals=store)
    open_dossier(shop, INSTRUMENT, **WHEN)
    seen = {"id": "o1", "part": "body", "kind": "mark", "status": "absent", "note": "VIII ?"}
    append(shop, TAG, "observation", seen, **WHEN)
    assert verify(shop, TAG).verdict is Verdict.SOUND
    other = memory_shop()
    assert import_journal(other, export_journal(shop, TAG)) == state_of(shop, TAG)


def test_what_was_written_is_there_when_opened_again(database: str) -> None:
    first = open_journals(database)
    first.append(TAG, lines_of(3), None)
    first.close()
    again = open_journals(database)
    assert again.lines(TAG) == tuple(lines_of(3))
    again.close()


def test_one_byte_changed_in_the_database_is_found(
    journals: DatabaseJournals, database: str
) -> None:
    lines = lines_of(3)
    journals.append(TAG, lines, None)
    engine = engine_on(database)
    with engine.begin() as connection:
        changed = lines[1].decode().replace('"d2"', '"d3"')
        connection.execute(text("UPDATE entry SET line = :line WHERE seq = 2"), {"line": changed})
    engine.dispose()
    report = verify_lines(journals.lines(TAG))
    assert report.verdict is Verdict.BROKEN
    assert [(one.seq, one.code) for one in report.findings] == [(2, "digest")]


def test_entries_of_a_dossier_cannot_be_orphaned(journals: DatabaseJournals, database: str) -> None:
    journals.append(TAG, lines_of(1), None)
    engine = engine_on(database)
    with pytest.raises(Exception, match=r"(?i)foreign key"), engine.begin() as connection:
        connection.execute(text("DELETE FROM dossier"))
    engine.dispose()
    assert len(journals.lines(TAG)) == 1


def test_times_are_kept_in_utc(journals: DatabaseJournals, database: str) -> None:
    from datetime import UTC, datetime

    from sqlalchemy import select

    from heelstamp.store.tables import entry

    journals.append(TAG, lines_of(1), None)
    engine = engine_on(database)
    with engine.connect() as connection:
        found = connection.scalars(select(entry.c.at)).one()
    engine.dispose()
    assert found == datetime(2026, 11, 2, 9, 14, tzinfo=UTC)
    assert found.utcoffset() is not None


def test_a_writer_that_waits_too_long_is_told_who_it_waits_for(
    journals: DatabaseJournals, database: str
) -> None:
    first = journals.append(TAG, lines_of(1), None)
    holder = engine_on(database)
    hasty = open_journals(database, wait_s=0.2)
    with holder.begin() as connection:
        connection.execute(text("UPDATE dossier SET head_seq = head_seq"))
        with pytest.raises(StorageError, match="another process is writing") as caught:
            hasty.append(TAG, lines_of(1, 2, first.digest), first.digest)
        assert caught.value.remedy == "Wait until it has finished, then repeat."
        assert hasty.lines(TAG) == tuple(lines_of(1))  # reading does not wait
    hasty.append(TAG, lines_of(1, 2, first.digest), first.digest)
    hasty.close()
    holder.dispose()
    assert len(journals.lines(TAG)) == 2


def test_an_sqlite_writer_holds_the_lock_from_its_first_moment(tmp_path: Path) -> None:
    database = str(tmp_path / "shop.db")
    open_journals(database).close()
    holder, hasty = engine_on(database), open_journals(database, wait_s=0.1)
    with holder.begin(), pytest.raises(StorageError, match="another process is writing"):
        hasty.append(TAG, lines_of(1), None)  # nothing was read or written by the holder yet
    hasty.close()
    holder.dispose()


WRITERS = 2
ENTRIES_EACH = 25


def _write(database: str, writer: int, start: Any, results: Any) -> None:
    """Append entries one by one, reading the dossier again after every conflict."""
    shop = memory_shop(journals=open_journals(database, wait_s=30.0))
    start.wait()
    conflicts = 0
    try:
        for number in range(ENTRIES_EACH):
            body = {"id": f"w{writer}-{number}", "about": "a", "decided": "b", "reason": "c"}
            while True:
                try:
                    append(shop, TAG, "decision", body, **WHEN)
                except ConflictError:
                    conflicts += 1
                else:
                    break
        results.put((writer, conflicts, ""))
    except HeelstampError as error:
        results.put((writer, conflicts, str(error)))
    finally:
        shop.close()


def test_two_processes_appending_lose_nothing(database: str) -> None:
    shop = memory_shop(journals=open_journals(database))
    open_dossier(shop, INSTRUMENT, **WHEN)
    context = multiprocessing.get_context("spawn")
    start, results = context.Barrier(WRITERS), context.Queue()
    processes = [
        context.Process(target=_write, args=(database, writer, start, results))
        for writer in range(WRITERS)
    ]
    for process in processes:
        process.start()
    outcomes = [results.get(timeout=120) for _ in processes]
    for process in processes:
        process.join(timeout=30)
    assert [message for _, _, message in outcomes] == ["", ""]
    state = state_of(shop, TAG)
    assert len(state.decisions) == WRITERS * ENTRIES_EACH
    assert state.length == 1 + WRITERS * ENTRIES_EACH
    assert verify(shop, TAG).verdict is Verdict.SOUND
    for writer in range(WRITERS):  # each writer's own entries stand in its own order
        own = [id_ for id_ in state.decisions if id_.startswith(f"w{writer}-")]
        assert own == [f"w{writer}-{number}" for number in range(ENTRIES_EACH)]
    shop.close()


def sheet(store: JournalStore, find: str, skip: int, count: int) -> tuple[int, tuple[str, ...]]:
    found, heads = store.sheet(find, skip, count)
    return found, tuple(heads)


def test_a_sheet_of_dossiers_is_newest_first_and_found_by_a_piece_of_the_tag(
    store: JournalStore,
) -> None:
    for tag in ("A-0001", "B_0002", "a-0003", "B%0004"):
        store.append(tag, lines_of(1), None)
    found, heads = store.sheet("", 0, 1)
    assert (found, heads) == (4, {"B%0004": store.head("B%0004")})
    assert sheet(store, "", 0, 3) == (4, ("B%0004", "a-0003", "B_0002"))
    assert sheet(store, "", 3, 3) == (4, ("A-0001",))
    assert sheet(store, "", 9, 3) == (4, ())
    assert sheet(store, "A-", 0, 9) == (2, ("a-0003", "A-0001"))
    assert sheet(store, "%", 0, 9) == (1, ("B%0004",))
    assert sheet(store, "_", 0, 9) == (1, ("B_0002",))


def test_seeds_are_kept_with_their_lines_and_export_carries_them(store: JournalStore) -> None:
    lines = lines_of(3)
    store.append(TAG, lines, None)
    kept = [json.loads(line)["seed"] for line in store.lines(TAG)]
    assert kept == [seed_of(seq).hex() for seq in (1, 2, 3)]


def test_a_refused_line_shows_its_seed_in_no_message_and_no_traceback(
    journals: DatabaseJournals,
) -> None:
    (line,) = lines_of(1)
    with pytest.raises(StorageError) as caught:
        journals.append(TAG, [line, line], None)  # one entry twice
    told = "".join(traceback.format_exception(caught.value))
    assert "INSERT INTO entry" in told
    assert seed_of(1).hex()[:12] not in told
    assert journals.lines(TAG) == ()


def test_every_entry_of_a_shop_has_a_seed_of_its_own(tmp_path: Path) -> None:
    heads = []
    for name in ("one", "other"):
        with create_shop(tmp_path / name, name="bench", currency="USD") as shop:
            open_dossier(shop, INSTRUMENT, **WHEN)
            append(shop, TAG, "observation", ABSENT, **WHEN)
            heads += [json.loads(line)["seed"] for line in shop.journals.lines(TAG)]
    assert len(set(heads)) == 4
