"""What the trade's procedures need from the machine, and the shop that holds it together.

Each port is a Protocol; adapters live in `heelstamp.store` and `heelstamp.media`, in-memory ones
in the tests. Ports speak in bytes, digests and plain records: no database, no path, no picture
library is known on this floor.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol, Self

from heelstamp.casework.folds import Folds
from heelstamp.casework.persons import Person
from heelstamp.casework.sale.blocks import ShopsBlocks, nothing_more
from heelstamp.catalogue import PartsTree
from heelstamp.errors import ConflictError


class WrittenBetweenError(ConflictError):
    """Another process wrote to the dossier since it was read: read it again and repeat."""


@dataclass(frozen=True, slots=True)
class Head:
    """The end of a dossier's chain."""

    seq: int
    digest: str


@dataclass(frozen=True, slots=True)
class NamedFile:
    """A file handed in to be examined.

    Attributes
    ----------
    data
        The whole file.
    name
        What to call it: a file's name, or the id of an entry.
    """

    data: bytes
    name: str


@dataclass(frozen=True, slots=True)
class FileRecord:
    """What is known of a kept file: SHA-256, length in bytes, media type."""

    digest: str
    size: int
    media_type: str


@dataclass(frozen=True, slots=True)
class DocumentRecord:
    """What a document of the shop's folder was when it was noted: SHA-256, length in bytes."""

    digest: str
    size: int


@dataclass(frozen=True, slots=True)
class FileFault:
    """A kept file or document that is not what it was: ``missing``, ``changed``, ``left over``."""

    name: str
    code: str
    message: str


@dataclass(frozen=True, slots=True)
class PhotographFacts:
    """What a photograph says of itself.

    Attributes
    ----------
    width, height
        Pixels as displayed, after orientation.
    orientation
        EXIF orientation, 1 to 8; 1 when there is none.
    taken
        ISO 8601 time from EXIF, with offset when the camera wrote one; None when it has none.
    has_position
        Whether the file holds a GPS position; the position itself is not read.
    """

    media_type: str
    width: int
    height: int
    orientation: int
    taken: str | None
    has_position: bool


class JournalStore(Protocol):
    """Keeps the lines of journals, appends whole runs of them, never changes one."""

    def tags(self) -> tuple[str, ...]:
        """Tags of all dossiers, in the order they were opened."""
        ...

    def sheet(self, find: str, skip: int, count: int) -> tuple[int, dict[str, Head]]:
        """Count the dossiers whose tag holds *find*, and give *count* of them after *skip*.

        The newest come first, each with the end of its chain; letters A to Z match in either case.
        """
        ...

    def head(self, tag: str) -> Head | None:
        """End of the chain of *tag*; None when there is no such dossier."""
        ...

    def lines(self, tag: str) -> tuple[bytes, ...]:
        """All lines of *tag* as they are stored, in order; empty when there is no such dossier."""
        ...

    def append(self, tag: str, lines: Sequence[bytes], previous: str | None) -> Head:
        """Append all *lines* or none.

        Raises
        ------
        WrittenBetweenError
            The head is no longer *previous*: another process wrote. With *previous* None the
            dossier must not exist yet.
        ConflictError
            There is no such dossier.
        StorageError
            The machine refused.
        """
        ...

    def take_in(
        self,
        files: Sequence[FileRecord],
        journals: Mapping[str, tuple[Sequence[bytes], str | None]],
    ) -> None:
        """Note *files* and append to every one of *journals*, all or nothing.

        Parameters
        ----------
        journals
            By tag: lines, and the digest that they follow, as `append` takes them.

        Raises
        ------
        ConflictError, StorageError
            As `append`; nothing of all was written.
        """
        ...

    def pause(self, tried: int) -> None:
        """Wait a short while, at random, after *tried* writers were quicker."""
        ...

    def findings(self, digests: Collection[str]) -> dict[str, bytes]:
        """Kept findings by the digests of their inputs; what is not kept is left out."""
        ...

    def keep_findings(self, kind: str, texts: Mapping[str, bytes]) -> None:
        """Keep findings by their digests, all or none; the same one again changes nothing."""
        ...

    def ledger(self) -> str | None:
        """Digest of the last line of the shop's ledger; None while there is none."""
        ...

    def record_file(self, record: FileRecord) -> None:
        """Note a kept file; noting it again changes nothing."""
        ...

    def files(self) -> tuple[FileRecord, ...]:
        """All files noted, by digest."""
        ...

    def close(self) -> None:
        """Let go of the database."""
        ...


@dataclass(frozen=True, slots=True)
class KeptRow:
    """A dossier's row of the rack as it is kept, for the entry that ``head`` is the digest of.

    Attributes
    ----------
    text
        JSON; see `heelstamp.casework.rack`.
    words
        What a search may ask for, in small letters.
    """

    head: str
    text: str
    words: str
    numbers: tuple[str, ...] = ()


class RackStore(Protocol):
    """Keeps the rows of the rack, which are derived from the dossiers and made anew at need."""

    def sheet(
        self, words: Sequence[str], skip: int, count: int
    ) -> tuple[int, dict[str, tuple[Head, KeptRow | None]]]:
        """Count the dossiers that hold every word, and give some of them, newest first."""
        ...

    def stale(self, limit: int | None = None) -> tuple[int, tuple[str, ...]]:
        """Count the dossiers whose row is wanting or older than its head; name some, or all."""
        ...

    def keep(self, rows: Mapping[str, KeptRow]) -> None:
        """Keep rows by tag in the place of what was kept; one that is older than its head is not.

        A row is taken out when its journal grows.
        """
        ...

    def numbers(self) -> Mapping[str, frozenset[str]]:
        """Serial numbers by tag of every kept row, also where there are none."""
        ...

    def forget(self, tags: Collection[str]) -> None:
        """Take rows out, to be made anew."""
        ...

    def numbers_near(self, number: str) -> tuple[tuple[str, str], ...]:
        """Tag and serial number of each kept row that may be near *number*; some are not.

        None of those with at most `heelstamp.marks.misread.MOST_MISREAD` misread characters is
        left out.
        """
        ...


@dataclass(frozen=True, slots=True)
class CensusRecord:
    """A row of a census as it is stored; the texts are JSON, see `heelstamp.casework.census`.

    Attributes
    ----------
    read_as
        Digest of the ways of reading under which *evidence* was made.
    conclusion
        What was concluded last; None when nothing was yet.
    """

    id: str
    how_dated: str
    observations: str
    evidence: str
    read_as: str
    conclusion: str | None = None


class CensusStore(Protocol):
    """Keeps the census of each chronology: rows are added, only conclusions change."""

    def chronologies(self) -> tuple[str, ...]:
        """Ids of the chronologies that have rows, sorted."""
        ...

    def count(self, chronology: str) -> int:
        """How many rows there are."""
        ...

    def rows(self, chronology: str, *, whole: bool = True) -> Iterator[CensusRecord]:
        """All rows in the order they were added, a few at a time.

        Without *whole* their observations are left blank, which is much quicker for many.
        """
        ...

    def read_otherwise(self, chronology: str, read_as: str) -> int:
        """How many rows have evidence that was read in another way than *read_as*."""
        ...

    def add(self, chronology: str, rows: Sequence[CensusRecord]) -> None:
        """Add all *rows* or none.

        Raises
        ------
        ConflictError
            A row of that id is there already.
        StorageError
            The machine refused.
        """
        ...

    def conclude(self, chronology: str, conclusions: Mapping[str, str]) -> None:
        """Keep the latest conclusions by id, all or none."""
        ...


class ComparableStore(Protocol):
    """Keeps the comparables of each market, named by the chronology; rows are only ever added."""

    def markets(self) -> tuple[str, ...]:
        """Chronologies that have rows, sorted."""
        ...

    def count(self, market: str) -> int:
        """How many rows there are."""
        ...

    def rows(self, market: str) -> tuple[tuple[str, str], ...]:
        """Id and text of all rows in the order they were added."""
        ...

    def add(self, market: str, rows: Sequence[tuple[str, str]]) -> None:
        """Add all *rows*, each an id and its text, or none.

        Raises
        ------
        ConflictError
            A row of that id is there already.
        StorageError
            The machine refused.
        """
        ...


class DocumentStore(Protocol):
    """Notes what the documents of the shop's folder were, by name."""

    def noted(self) -> Mapping[str, DocumentRecord]:
        """What was noted last."""
        ...

    def note(self, documents: Mapping[str, DocumentRecord | None]) -> None:
        """Note documents as they are now, None where one is no more; all or none."""
        ...


class PersonStore(Protocol):
    """Keeps the names behind the roles of the journals, each until it is erased."""

    def all(self) -> tuple[Person, ...]:
        """Every person, by dossier."""
        ...

    def keep(self, one: Person) -> None:
        """Add a person, or write the row of this id anew; what stood there is overwritten."""
        ...


class FileStore(Protocol):
    """Keeps files by the SHA-256 of their content."""

    def put(self, data: bytes) -> str:
        """Keep *data* and give its digest; what is already kept is not written again."""
        ...

    def get(self, digest: str) -> bytes:
        """The file, verified.

        Raises
        ------
        IntegrityError
            It is missing, or no longer has this digest.
        """
        ...

    def has(self, digest: str) -> bool:
        """Whether a file of this digest is kept; its content is not read."""
        ...

    def verify_all(self, expected: Mapping[str, int]) -> tuple[FileFault, ...]:
        """Read every file, and report all faults; *expected* maps digest to length in bytes."""
        ...


class Photographs(Protocol):
    """Reads photographs and makes the copies that leave the shop."""

    def read(self, data: bytes, name: str) -> PhotographFacts:
        """Sniff, bound and fully decode a photograph.

        Raises
        ------
        InputError
            Not a photograph of a known kind, too large, or cut short.
        """
        ...

    def outgoing(self, data: bytes, name: str, longest_px: int) -> bytes:
        """A JPEG without position, names or other hidden data, turned upright."""
        ...


@dataclass(frozen=True)
class Shop:
    """One shop: its name, money, and ports joined to adapters.

    Attributes
    ----------
    currency
        ISO 4217 code.
    examiners
        Roles that may sign entries; empty allows any.
    tree_for
        Gives the parts tree of a kind of instrument; raises InputError for an unknown kind.
    draw_seed
        Gives 32 bytes from the system's generator for one new entry: never the same, never kept
        elsewhere, never foreseen.
    folds
        Dossiers as they were folded last.
    against
        What the shop's lists, tables and terms hold against a step of a sale.
    """

    name: str
    currency: str
    examiners: tuple[str, ...]
    journals: JournalStore
    files: FileStore
    photographs: Photographs
    tree_for: Callable[[str], PartsTree]
    census: CensusStore
    comparables: ComparableStore
    rack: RackStore
    documents: DocumentStore
    persons: PersonStore
    draw_seed: Callable[[], bytes]
    folds: Folds = field(default_factory=Folds, kw_only=True)
    against: ShopsBlocks = field(default=nothing_more, kw_only=True)

    def close(self) -> None:
        """Let go of everything held open."""
        self.journals.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()
