"""The dossier's procedures: open, append, attach, correct, read, export, import, verify.

Object entry and the rest of the journal's life, over ports. Times and hands come from the caller;
nothing here reads a clock. Every write folds the journal as it would be and only then stores it,
so an entry that breaks a rule leaves no trace. A file is kept before the entry that names it: the
worst a crash leaves is a file without an entry, never an entry without its file.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from heelstamp.archive import (
    ChainReport,
    Verdict,
    line_of,
    read_json,
    seal,
    split_lines,
    verify_file,
    verify_lines,
    write_lines,
)
from heelstamp.casework.examination import Examination
from heelstamp.casework.ports import FileFault, FileRecord, PhotographFacts, Shop
from heelstamp.catalogue import (
    DossierState,
    Entry,
    Folding,
    Instrument,
    envelope,
    parse_body,
    parse_entry,
    place_of,
)
from heelstamp.errors import ConflictError, InputError, IntegrityError

Act = tuple[str, Mapping[str, Any]]
"""Kind and body of an entry to be made."""


@dataclass(frozen=True, slots=True)
class Verification:
    """What a dossier's verification came to: its chain, the files it names, the verdict of both."""

    verdict: Verdict
    chain: ChainReport
    files: tuple[FileFault, ...]


def open_dossier(shop: Shop, instrument: Mapping[str, Any], *, at: str, by: str) -> DossierState:
    """Open a dossier with the instrument's entry.

    Parameters
    ----------
    instrument
        Body of the entry; its ``tag`` names the dossier from now on.

    Raises
    ------
    InputError
        The body cannot be read, or has no tag.
    ConflictError
        A dossier of this tag exists.
    """
    return open_with(shop, [("instrument", instrument)], at=at, by=by)


def open_examination(
    shop: Shop, examination: Examination, *, tag: str, at: str, by: str
) -> DossierState:
    """Open a dossier named *tag* with everything an examination holds, all or nothing."""
    (_, instrument), *rest = examination.entries
    acts: list[Act] = [("instrument", {**instrument, "tag": tag}), *rest]
    return open_with(shop, acts, at=at, by=by)


def open_with(shop: Shop, acts: Sequence[Act], *, at: str, by: str) -> DossierState:
    """Open a dossier with several entries, the instrument's first, all or nothing."""
    if not acts or acts[0][0] != "instrument":
        raise InputError("a dossier opens with its instrument", remedy="Enter it first.")
    instrument = parse_body("instrument", acts[0][1], where="instrument")
    assert isinstance(instrument, Instrument)
    if not instrument.tag:
        raise InputError(
            "a dossier needs a tag", where="instrument, field tag", remedy="Give one, as H-0001."
        )
    if shop.journals.head(instrument.tag) is not None:
        raise ConflictError(
            "this dossier exists",
            where=instrument.tag,
            remedy="Give another tag, or append to this dossier.",
        )
    folding = Folding(shop.tree_for(instrument.kind))
    lines, _ = _sealed(shop, folding, acts, seq=0, previous=None, at=at, by=by)
    shop.journals.append(instrument.tag, lines, None)
    return folding.state


def append(shop: Shop, tag: str, kind: str, body: Mapping[str, Any], *, at: str, by: str) -> Entry:
    """Append one entry; see `append_all`."""
    return append_all(shop, tag, [(kind, body)], at=at, by=by)[0]


def append_all(shop: Shop, tag: str, acts: Sequence[Act], *, at: str, by: str) -> tuple[Entry, ...]:
    """Append entries, all or none.

    Parameters
    ----------
    at
        UTC time, as ``2026-11-02T09:14:00Z``.
    by
        Role of the hand, as ``examiner A``; one of the shop's examiners if it names any.

    Raises
    ------
    InputError
        There is no such dossier, or an entry cannot be read; names entry and field.
    ConflictError
        Custody or consent do not allow it, or another process wrote in between.
    """
    folding, entries = _folded(shop, tag)
    head = entries[-1]
    lines, made = _sealed(shop, folding, acts, seq=head.seq, previous=head.digest, at=at, by=by)
    if lines:
        shop.journals.append(tag, lines, head.digest)
    return made


def attach_photograph(
    shop: Shop, tag: str, data: bytes, details: Mapping[str, Any], *, at: str, by: str
) -> Entry:
    """Keep a photograph's file, then enter it.

    Parameters
    ----------
    details
        Body of the entry; file, media type, size and time taken are filled in from the file, and
        ``name`` is the file's own name.

    Raises
    ------
    InputError
        Not a photograph, or the details cannot be read; nothing is kept then.
    """
    name = str(details.get("name", details.get("id", "photograph")))
    facts = shop.photographs.read(data, name)
    body = photograph_body(facts, details, digest="0" * 64, name=name)
    folding, entries = _folded(shop, tag)
    head = entries[-1]
    where = place_of("photograph", body, head.seq + 1)
    folding.add("photograph", body, where=where)  # refuse before a file is kept
    digest = shop.files.put(data)
    shop.journals.record_file(FileRecord(digest, len(data), facts.media_type))
    body = {**body, "file": digest}
    return append(shop, tag, "photograph", body, at=at, by=by)


def photograph_body(
    facts: PhotographFacts, details: Mapping[str, Any], *, digest: str, name: str
) -> dict[str, Any]:
    """Join what the person says of a photograph with what its file says."""
    from_file: dict[str, Any] = {
        "file": digest,
        "name": name,
        "media_type": facts.media_type,
        "width": facts.width,
        "height": facts.height,
    }
    if facts.taken is not None and "taken" not in details:
        from_file["taken"] = facts.taken
    return {**details, **from_file}


def attach_recording(
    shop: Shop, tag: str, data: bytes, details: Mapping[str, Any], *, at: str, by: str
) -> Entry:
    """Keep a sound recording's file, then enter it; the details name its media type."""
    folding, entries = _folded(shop, tag)
    body = {**details, "file": "0" * 64}
    folding.add("recording", body, where=place_of("recording", body, entries[-1].seq + 1))
    digest = shop.files.put(data)
    shop.journals.record_file(FileRecord(digest, len(data), str(details["media_type"])))
    return append(shop, tag, "recording", {**body, "file": digest}, at=at, by=by)


def correct(
    shop: Shop,
    tag: str,
    corrects: str,
    replacement: Mapping[str, Any] | None,
    *,
    correction: str,
    reason: str,
    at: str,
    by: str,
) -> Entry:
    """Correct an entry, or withdraw it with *replacement* None; *correction* is the new id."""
    body = {
        "id": correction,
        "corrects": corrects,
        "reason": reason,
        "replacement": None if replacement is None else dict(replacement),
    }
    return append(shop, tag, "correction", body, at=at, by=by)


def entries_of(shop: Shop, tag: str) -> tuple[Entry, ...]:
    """Give the journal of *tag*.

    Raises
    ------
    InputError
        There is no such dossier.
    IntegrityError
        A stored line is no entry; `verify` tells more.
    """
    lines = shop.journals.lines(tag)
    if not lines:
        known = shop.journals.tags()
        raise InputError(
            "no such dossier",
            received=tag,
            remedy="Dossiers: " + ", ".join(known) + "." if known else "Open one first.",
        )
    try:
        return tuple(
            parse_entry(read_json(line), where=f"{tag}, entry {seq}")
            for seq, line in enumerate(lines, start=1)
        )
    except InputError as error:
        raise IntegrityError(
            f"the stored journal cannot be read: {error.what}",
            where=error.where or tag,
            received=error.received,
            remedy="Run verify, and restore the journal from its last backup.",
        ) from None


def state_of(shop: Shop, tag: str) -> DossierState:
    """Fold the journal of *tag*; raises as `entries_of` does."""
    return _folded(shop, tag)[0].state


def next_id(state: DossierState, prefix: str) -> str:
    """Give the first free id of the form ``o12``."""
    number = 1
    while f"{prefix}{number}" in state.entered:
        number += 1
    return f"{prefix}{number}"


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
    return tuple(
        parse_entry(read_json(line), where=f"{name}, entry {seq}")
        for seq, line in enumerate(split_lines(data), start=1)
    )


def fold_journal(shop: Shop, entries: Iterable[Entry]) -> DossierState:
    """Fold entries that are not (yet) in the shop."""
    return _fold_entries(shop, tuple(entries)).state


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
    entries = read_journal(data, name=name, head=head)
    folded = _fold_entries(shop, entries).state
    tag = str(entries[0].body.get("tag", ""))
    if not tag:
        raise InputError("the journal's instrument has no tag", where=name, remedy="Give one.")
    lines = [line.removesuffix(b"\n") for line in split_lines(data)]
    present = shop.journals.lines(tag)
    common = min(len(present), len(lines))
    if list(present[:common]) != lines[:common]:
        first = next(i for i in range(common) if present[i] != lines[i])
        raise ConflictError(
            "the shop holds another journal of this tag",
            where=f"{tag}, entry {first + 1}",
            remedy="Keep the one you can vouch for; a journal is never merged.",
        )
    if len(lines) > common:
        previous = None if common == 0 else entries[common - 1].digest
        shop.journals.append(tag, lines[common:], previous)
    return folded if len(lines) >= len(present) else state_of(shop, tag)


def verify(shop: Shop, tag: str, *, head: str | None = None) -> Verification:
    """Verify a dossier's chain as stored, and every file its entries name.

    All findings are collected before the verdict: broken when anything is contradicted, cannot
    decide when nothing is but the journal is empty.
    """
    lines = shop.journals.lines(tag)
    chain = verify_lines(lines, head=head)
    faults: list[FileFault] = []
    for seq, line in enumerate(lines, start=1):
        for digest in _files_named(line):
            try:
                shop.files.get(digest)
            except IntegrityError as error:
                code = "missing" if not shop.files.has(digest) else "changed"
                faults.append(FileFault(digest, code, f"entry {seq}: {error.what}"))
    verdict = Verdict.BROKEN if faults else chain.verdict
    return Verification(verdict, chain, tuple(faults))


def _files_named(line: bytes) -> list[str]:
    try:
        data = read_json(line)
    except InputError:
        return []
    body = data.get("body") if isinstance(data, dict) else None
    if not isinstance(body, dict):
        return []
    bodies = [body, body.get("replacement")]
    return [one["file"] for one in bodies if isinstance(one, dict) and "file" in one]


def _folded(shop: Shop, tag: str) -> tuple[Folding, tuple[Entry, ...]]:
    entries = entries_of(shop, tag)
    return _fold_entries(shop, entries), entries


def _fold_entries(shop: Shop, entries: tuple[Entry, ...]) -> Folding:
    first = parse_body(entries[0].kind, entries[0].body, where="entry 1")
    tree = shop.tree_for(first.kind) if isinstance(first, Instrument) else None
    folding = Folding(tree)
    for entry in entries:
        where = place_of(entry.kind, entry.body, entry.seq)
        folding.add(
            entry.kind, entry.body, at=entry.at, by=entry.by, digest=entry.digest, where=where
        )
    return folding


def _sealed(
    shop: Shop,
    folding: Folding,
    acts: Sequence[Act],
    *,
    seq: int,
    previous: str | None,
    at: str,
    by: str,
) -> tuple[list[bytes], tuple[Entry, ...]]:
    if shop.examiners and by not in shop.examiners:
        raise InputError(
            "not one of the shop's examiners",
            where="by",
            received=by,
            remedy="Use one of: " + ", ".join(shop.examiners) + ".",
        )
    lines: list[bytes] = []
    made: list[Entry] = []
    for number, (kind, body) in enumerate(acts, start=seq + 1):
        where = place_of(kind, body, number)
        fields = envelope(seq=number, at=at, by=by, kind=kind, body=body, previous=previous)
        sealed = seal(fields, where=where)
        entry = parse_entry(sealed, where=where)
        folding.add(kind, body, at=at, by=by, digest=entry.digest, where=where)
        lines.append(line_of(sealed))
        made.append(entry)
        previous = entry.digest
    return lines, tuple(made)
