"""In-memory adapters behind the ports of casework; they keep the ports' promises."""

import itertools
from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from heelstamp.archive import read_json, sha256
from heelstamp.casework.persons import Person
from heelstamp.casework.ports import (
    CensusRecord,
    DocumentRecord,
    FileFault,
    FileRecord,
    Head,
    KeptRow,
    PhotographFacts,
    Shop,
    WrittenBetweenError,
)
from heelstamp.errors import ConflictError, IntegrityError
from heelstamp.reference.parts_trees import tree_loader


class MemoryJournals:
    """Journals in a dictionary."""

    def __init__(self) -> None:
        self.kept: dict[str, list[bytes]] = {}
        self.pauses: list[int] = []
        self.found: dict[str, bytes] = {}
        self.noted: dict[str, FileRecord] = {}

    def tags(self) -> tuple[str, ...]:
        return tuple(self.kept)

    def sheet(self, find: str, skip: int, count: int) -> tuple[int, dict[str, Head]]:
        found = [tag for tag in reversed(self.kept) if find.lower() in tag.lower()]
        heads = ((tag, self.head(tag)) for tag in found[skip : skip + count])
        return len(found), {tag: head for tag, head in heads if head is not None}

    def head(self, tag: str) -> Head | None:
        if tag not in self.kept:
            return None
        last = read_json(self.kept[tag][-1])
        return Head(last["seq"], last["digest"])

    def lines(self, tag: str) -> tuple[bytes, ...]:
        return tuple(self.kept.get(tag, ()))

    def append(self, tag: str, lines: Sequence[bytes], previous: str | None) -> Head:
        if not lines:
            raise ValueError("nothing to append")
        head = self.head(tag)
        if (head.digest if head else None) != previous:
            if head is None:
                raise ConflictError("there is no such dossier", where=tag)
            what = "another process wrote to this dossier in between"
            raise WrittenBetweenError(what, where=tag)
        self.kept.setdefault(tag, []).extend(lines)
        made = self.head(tag)
        assert made is not None
        return made

    def take_in(
        self,
        files: Sequence[FileRecord],
        journals: Mapping[str, tuple[Sequence[bytes], str | None]],
    ) -> None:
        for record in files:
            self.record_file(record)
        for tag, (lines, previous) in journals.items():
            if lines:
                self.append(tag, lines, previous)

    def pause(self, tried: int) -> None:
        self.pauses.append(tried)

    def findings(self, digests: Collection[str]) -> dict[str, bytes]:
        return {one: self.found[one] for one in digests if one in self.found}

    def keep_findings(self, kind: str, texts: Mapping[str, bytes]) -> None:
        self.found = {**texts, **self.found}

    def ledger(self) -> str | None:
        return None

    def record_file(self, record: FileRecord) -> None:
        self.noted.setdefault(record.digest, record)

    def files(self) -> tuple[FileRecord, ...]:
        return tuple(self.noted[digest] for digest in sorted(self.noted))

    def close(self) -> None:
        pass


class MemoryRack:
    """Rows of the rack in a dictionary, over journals in memory."""

    def __init__(self, journals: MemoryJournals) -> None:
        self._journals = journals
        self.kept: dict[str, KeptRow] = {}

    def sheet(
        self, words: Sequence[str], skip: int, count: int
    ) -> tuple[int, dict[str, tuple[Head, KeptRow | None]]]:
        found = [tag for tag in reversed(self._journals.kept) if self._holds(tag, words)]
        rows = ((tag, self._journals.head(tag)) for tag in found[skip : skip + count])
        return len(found), {tag: (head, self.kept.get(tag)) for tag, head in rows if head}

    def stale(self, limit: int | None = None) -> tuple[int, tuple[str, ...]]:
        heads = ((tag, self._journals.head(tag)) for tag in self._journals.kept)
        old = [
            tag
            for tag, head in heads
            if head and (tag not in self.kept or self.kept[tag].head != head.digest)
        ]
        return len(old), tuple(old[:limit])

    def keep(self, rows: Mapping[str, KeptRow]) -> None:
        self.kept.update(rows)

    def numbers(self) -> dict[str, frozenset[str]]:
        return {tag: frozenset(one.numbers) for tag, one in self.kept.items()}

    def forget(self, tags: Collection[str]) -> None:
        for tag in tags:
            self.kept.pop(tag, None)

    def numbers_near(self, number: str) -> tuple[tuple[str, str], ...]:
        return tuple((tag, near) for tag, one in self.kept.items() for near in one.numbers)

    def _holds(self, tag: str, words: Sequence[str]) -> bool:
        kept = self.kept[tag].words if tag in self.kept else ""
        return all(one.casefold() in tag.casefold() or one.casefold() in kept for one in words)


class MemoryCensus:
    """Census rows in a dictionary."""

    def __init__(self) -> None:
        self.kept: dict[str, dict[str, CensusRecord]] = {}

    def chronologies(self) -> tuple[str, ...]:
        return tuple(sorted(self.kept))

    def count(self, chronology: str) -> int:
        return len(self.kept.get(chronology, {}))

    def rows(self, chronology: str, *, whole: bool = True) -> Iterator[CensusRecord]:
        for one in list(self.kept.get(chronology, {}).values()):
            yield one if whole else replace(one, observations="")

    def read_otherwise(self, chronology: str, read_as: str) -> int:
        return sum(one.read_as != read_as for one in self.kept.get(chronology, {}).values())

    def add(self, chronology: str, rows: Sequence[CensusRecord]) -> None:
        known = self.kept.get(chronology, {})
        ids = [one.id for one in rows]
        twice = next((one for one in ids if one in known or ids.count(one) > 1), None)
        if twice is not None:
            raise ConflictError("this row is in the census already", received=twice)
        if rows:
            self.kept[chronology] = {**known, **{one.id: one for one in rows}}

    def conclude(self, chronology: str, conclusions: Mapping[str, str]) -> None:
        known = self.kept.get(chronology, {})
        for id_, text in conclusions.items():
            if id_ in known:
                known[id_] = replace(known[id_], conclusion=text)


class MemoryComparables:
    """Comparables in a dictionary."""

    def __init__(self) -> None:
        self.kept: dict[str, dict[str, str]] = {}

    def markets(self) -> tuple[str, ...]:
        return tuple(sorted(self.kept))

    def count(self, market: str) -> int:
        return len(self.kept.get(market, {}))

    def rows(self, market: str) -> tuple[tuple[str, str], ...]:
        return tuple(self.kept.get(market, {}).items())

    def add(self, market: str, rows: Sequence[tuple[str, str]]) -> None:
        known = self.kept.get(market, {})
        ids = [id_ for id_, _ in rows]
        twice = next((one for one in ids if one in known or ids.count(one) > 1), None)
        if twice is not None:
            raise ConflictError("a comparable of this id is kept already", received=twice)
        if rows:
            self.kept[market] = {**known, **dict(rows)}


class MemoryDocuments:
    """What is noted of documents, in a dictionary."""

    def __init__(self) -> None:
        self.kept: dict[str, DocumentRecord] = {}

    def noted(self) -> dict[str, DocumentRecord]:
        return dict(self.kept)

    def note(self, documents: Mapping[str, DocumentRecord | None]) -> None:
        for name, one in documents.items():
            self.kept.pop(name, None)
            if one is not None:
                self.kept[name] = one


class MemoryPersons:
    """Persons in a dictionary."""

    def __init__(self) -> None:
        self.kept: dict[str, Person] = {}

    def all(self) -> tuple[Person, ...]:
        return tuple(self.kept.values())

    def keep(self, one: Person) -> None:
        self.kept[one.id] = one


class MemoryFiles:
    """Files in a dictionary, by what their digest was when they were kept."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}

    def put(self, data: bytes) -> str:
        self.kept[sha256(data)] = data
        return sha256(data)

    def get(self, digest: str) -> bytes:
        if digest not in self.kept:
            raise IntegrityError("a kept file is missing", where=digest)
        if sha256(self.kept[digest]) != digest:
            raise IntegrityError("a kept file has changed", where=digest)
        return self.kept[digest]

    def has(self, digest: str) -> bool:
        return digest in self.kept

    def verify_all(self, expected: Mapping[str, int]) -> tuple[FileFault, ...]:
        missing = [FileFault(one, "missing", one) for one in expected if one not in self.kept]
        changed = [
            FileFault(one, "changed", one) for one, d in self.kept.items() if sha256(d) != one
        ]
        return tuple(missing + changed)


class PlainPhotographs:
    """Takes any bytes for a photograph of 40 by 30 pixels."""

    def read(self, data: bytes, name: str) -> PhotographFacts:
        return PhotographFacts("image/jpeg", 40, 30, 1, "2026-11-02T10:00:00", has_position=True)

    def outgoing(self, data: bytes, name: str, longest_px: int) -> bytes:
        return b"bare " + data


def seeds_in_turn(name: str = "test") -> Callable[[], bytes]:
    """Seeds that are the same in every run; a shop's come from the system's generator."""
    numbers = itertools.count(1)
    return lambda: bytes.fromhex(sha256(f"{name} seed {next(numbers)}".encode()))


def memory_shop(**changes: Any) -> Shop:
    """A shop that lives in memory."""
    journals = changes.get("journals") or MemoryJournals()
    parts: dict[str, Any] = {
        "name": "the shop",
        "currency": "USD",
        "examiners": (),
        "journals": journals,
        "rack": MemoryRack(journals),
        "documents": MemoryDocuments(),
        "persons": MemoryPersons(),
        "files": MemoryFiles(),
        "photographs": PlainPhotographs(),
        "tree_for": tree_loader(),
        "census": MemoryCensus(),
        "comparables": MemoryComparables(),
        "draw_seed": seeds_in_turn(),
    }
    return Shop(**{**parts, **changes})


INSTRUMENT: dict[str, Any] = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "claimed": "1965",
    "chronology": "sallowby-wherry",
    "tag": "H-0001",
}
AT = "2026-11-02T09:14:00Z"
BY = "examiner A"
