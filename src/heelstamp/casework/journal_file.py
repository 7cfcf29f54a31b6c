"""A dossier's journal as a file of JSON lines: out of a shop, into a shop, and verified.

The file is byte for byte what the shop stores, so that verifying a copy verifies the shop. A
journal is never merged: a shop takes the rest of a journal whose beginning it holds, and refuses
one that goes another way.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.archive import (
    ChainReport,
    Finding,
    Verdict,
    read_json,
    split_lines,
    verify_file,
    verify_lines,
    write_lines,
)
from heelstamp.casework.dossier import entries_of, fold_entries, read_entries, state_of
from heelstamp.casework.ports import FileFault, Shop
from heelstamp.catalogue import DossierState, Entry
from heelstamp.errors import ConflictError, InputError, IntegrityError


@dataclass(frozen=True, slots=True)
class Verification:
    """What a dossier's verification came to: its chain, the files it names, the verdict of both."""

    verdict: Verdict
    chain: ChainReport
    files: tuple[FileFault, ...]


def export_journal(shop: Shop, tag: str) -> bytes:
    """Give the journal as a file of JSON lines, byte for byte as it is stored."""
    entries_of(shop, tag)
    return write_lines(shop.journals.lines(tag))


def read_journal(data: bytes, *, name: str, head: str | None = None) -> tuple[Entry, ...]:
    """Read a journal file, verified.

    Raises
    ------
    IntegrityError
        The chain is broken or cannot be decided; the message names the first finding.
    InputError
        A sound line is not an entry this program reads.
    """
    report = verify_file(data, head=head)
    if report.verdict is not Verdict.SOUND:
        first = report.findings[0]
        more = len(report.findings) - 1
        raise IntegrityError(
            f"the journal is not sound: {first.message}" + (f" (and {more} more)" if more else ""),
            where=f"{name}, entry {first.seq}" if first.seq else name,
            received=first.code,
            remedy="Get the journal again from where it was made.",
        )
    return read_entries(split_lines(data), name)


def import_journal(
    shop: Shop, data: bytes, *, name: str = "journal", head: str | None = None
) -> DossierState:
    """Take a journal file into the shop, entry by entry as it was made.

    A shop that holds a beginning of the same journal gets the rest; one that holds all of it
    is left as it is.

    Raises
    ------
    IntegrityError
        The file is not sound.
    InputError
        An entry breaks a rule of the fold, or the instrument has no tag.
    ConflictError
        The shop's journal of this tag goes another way.
    """
    fits = fitting(shop, data, name=name, head=head)
    if fits.rest:
        shop.journals.append(fits.tag, fits.rest, fits.previous)
    return state_of(shop, fits.tag)


@dataclass(frozen=True, slots=True)
class FittingJournal:
    """A journal that a shop may take in.

    Attributes
    ----------
    lines
        All of its lines, each without its line feed.
    rest
        Those that the shop does not hold yet.
    previous
        Digest of the last that it holds; None where it holds none.
    """

    tag: str
    lines: tuple[bytes, ...]
    rest: tuple[bytes, ...]
    previous: str | None


def fitting(shop: Shop, data: bytes, *, name: str, head: str | None = None) -> FittingJournal:
    """Read a journal file and compare it with what the shop holds; errors as `import_journal`."""
    entries = read_journal(data, name=name, head=head)
    fold_entries(shop, entries)
    tag = str(entries[0].body.get("tag", ""))
    if not tag:
        raise InputError("the journal's instrument has no tag", where=name, remedy="Give one.")
    lines = tuple(line.removesuffix(b"\n") for line in split_lines(data))
    present = shop.journals.lines(tag)
    common = min(len(present), len(lines))
    if present[:common] != lines[:common]:
        first = next(i for i in range(common) if present[i] != lines[i])
        raise ConflictError(
            "the shop holds another journal of this tag",
            where=f"{tag}, entry {first + 1}",
            remedy="Keep the one you can vouch for; a journal is never merged.",
        )
    previous = None if common == 0 else entries[common - 1].digest
    return FittingJournal(tag, lines, lines[common:], previous)


def verify(shop: Shop, tag: str, *, head: str | None = None) -> Verification:
    """Verify a dossier's chain as stored, and every file its entries name.

    All findings are collected before the verdict: broken when anything is contradicted, also
    when the journal does not end with the entry that the shop noted as its last.

    Raises
    ------
    InputError
        There is no such dossier.
    """
    noted = shop.journals.head(tag)
    lines = shop.journals.lines(tag)
    if noted is None and not lines:
        entries_of(shop, tag)  # raises, naming the dossiers there are
    chain = verify_lines(lines, head=head)
    if noted is not None and (noted.seq, noted.digest) != (chain.length, chain.head):
        message = (
            f"the shop noted entry {noted.seq} ({noted.digest[:12]}…) as the last, the journal "
            f"ends with entry {chain.length} ({(chain.head or 'unreadable')[:12]}…)"
        )
        chain = chain.with_finding(Finding(chain.length, "head", message))
    faults: list[FileFault] = []
    for seq, line in enumerate(lines, start=1):
        for digest in files_named(line):
            try:
                shop.files.get(digest)
            except IntegrityError as error:
                code = "missing" if not shop.files.has(digest) else "changed"
                faults.append(FileFault(digest, code, f"entry {seq}: {error.what}"))
    verdict = Verdict.BROKEN if faults else chain.verdict
    return Verification(verdict, chain, tuple(faults))


def verify_files(shop: Shop) -> tuple[FileFault, ...]:
    """Verify every file the shop noted, and list what lies in its folder besides."""
    return shop.files.verify_all({one.digest: one.size for one in shop.journals.files()})


def files_named(line: bytes) -> list[str]:
    """SHA-256 of every file that a stored line names; none where it cannot be read."""
    try:
        data = read_json(line)
    except InputError:
        return []
    body = data.get("body") if isinstance(data, dict) else None
    if not isinstance(body, dict):
        return []
    bodies = [body, body.get("replacement")]
    return [one["file"] for one in bodies if isinstance(one, dict) and "file" in one]
