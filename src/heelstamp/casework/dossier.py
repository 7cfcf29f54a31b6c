"""The dossier's procedures: open, append, attach, correct, read.

Object entry and the rest of the journal's life, over ports. Times and hands come from the caller,
the seeds of new entries from the shop; nothing here reads a clock or draws by lot. Every write
folds the journal as it would be and only then stores it, so an entry that breaks a rule leaves no
trace. A file is kept before the entry that names it: the worst a crash leaves is a file without an
entry, never an entry without its file.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from heelstamp.archive import line_of, read_json, seal
from heelstamp.casework.folds import Fold
from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.overtaken import carried_over
from heelstamp.casework.ports import FileRecord, PhotographFacts, Shop, WrittenBetweenError
from heelstamp.casework.sale.gate import GATED, require_sale
from heelstamp.casework.sharing.rights import Hand, require_rights
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
from heelstamp.catalogue.clock import ran_back
from heelstamp.errors import RESTORE, ConflictError, InputError, IntegrityError, NotFoundError

LISTED = 12
"""Dossiers that the error of an unknown tag lists."""


class NoSuchDossierError(NotFoundError):
    """The shop has no dossier of this tag."""


TRIES = 40
"""Times that entries are sealed anew while others write in between; some five seconds of pauses."""


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
    return open_with(shop, [NewEntry("instrument", instrument)], at=at, by=by)


def open_with(shop: Shop, entries: Sequence[NewEntry], *, at: str, by: str) -> DossierState:
    """Open a dossier with several entries, the instrument's first, all or nothing."""
    if not entries or entries[0][0] != "instrument":
        raise InputError("a dossier opens with its instrument", remedy="Enter it first.")
    instrument = parse_body("instrument", entries[0][1], where="instrument")
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
    lines, _ = _sealed(shop, folding, entries, seq=0, previous=None, at=at, by=by)
    if isinstance(by, Hand):
        require_rights(by, None, folding.state)
    require_sale(by, None, folding.state, shop.against)
    shop.journals.append(instrument.tag, lines, None)
    return folding.state


def append(shop: Shop, tag: str, kind: str, body: Mapping[str, Any], *, at: str, by: str) -> Entry:
    """Append one entry; see `append_all`."""
    return append_all(shop, tag, [NewEntry(kind, body)], at=at, by=by)[0]


def append_all(
    shop: Shop, tag: str, new: Sequence[NewEntry], *, at: str, by: str, resent: bool = False
) -> tuple[Entry, ...]:
    """Append entries, all or none; give those that were made.

    Where another process wrote in between they are fitted to what stands now, and sealed anew.
    Where *at* lies before the last entry's time, a note that the clock is unsure follows them.

    Parameters
    ----------
    at
        UTC time, as ``2026-11-02T09:14:00Z``.
    by
        Role of the hand, as ``examiner A``; one of the shop's examiners if it names any.
    resent
        Leave out what stands already with the same body under the same id: a device sends what it
        kept without knowing whether it arrived.

    Raises
    ------
    InputError
        There is no such dossier, or an entry cannot be read; names entry and field.
    NotPermittedError
        The role of the hand may not enter, or change, such an entry.
    OvertakenError
        The same field of the same fact was corrected by somebody else in between.
    ConflictError
        Custody or consent do not allow it, or others kept writing.
    """
    first_seen = 0
    for tried in range(TRIES):
        fold = _fold_to_go_on(shop, tag)
        folding, head = fold.folding, fold.head
        wanted = [act for act in new if not (resent and _is_kept(fold.entries, *act))]
        if not wanted:
            shop.folds.keep(tag, fold)
            return ()
        first_seen = first_seen or head.seq
        if head.seq > first_seen:
            before = fold_entries(shop, tuple(fold.entries[:first_seen])).state
            wanted = carried_over(wanted, before, folding.state)
        judged = isinstance(by, Hand) or any(kind in GATED for kind, _ in wanted)
        stands = folding.state if judged else None
        lines, made = _sealed(
            shop, folding, wanted, seq=head.seq, previous=head.digest, at=at, by=by
        )
        noted: tuple[Entry, ...] = ()
        if ran_back(head.at, at):
            id_, last = next_id(folding.state, "clock"), made[-1]
            note = [NewEntry("clock", {"id": id_, "clock": "unsure", "last": head.at})]
            more, noted = _sealed(
                shop, folding, note, seq=last.seq, previous=last.digest, at=at, by=by
            )
            lines += more
        if stands is not None:
            state = folding.state
            if isinstance(by, Hand):
                require_rights(by, stands, state)
            require_sale(by, stands, state, shop.against)
        try:
            shop.journals.append(tag, lines, head.digest)
        except WrittenBetweenError:
            if tried + 1 == TRIES:
                raise
            shop.journals.pause(tried)
            continue
        fold.entries.extend((*made, *noted))
        shop.folds.keep(tag, fold)
        return made
    return ()


def _is_kept(entries: Sequence[Entry], kind: str, body: Mapping[str, Any]) -> bool:
    """Whether an entry stands in the journal with the same body under the same id."""
    id_ = body.get("id")
    same = next((one for one in entries if id_ is not None and one.body.get("id") == id_), None)
    return same is not None and same.kind == kind and dict(same.body) == dict(body)


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
    """The journal of *tag*.

    Raises
    ------
    NoSuchDossierError
        There is no such dossier.
    IntegrityError
        A stored line is no entry; `verify` tells more.
    """
    lines = shop.journals.lines(tag)
    if not lines:
        raise no_such_dossier(shop, tag)
    try:
        return read_entries(lines, tag)
    except InputError as error:
        raise IntegrityError(
            f"the stored journal cannot be read: {error.what}",
            where=error.where or tag,
            received=error.received,
            remedy=f"Run heelstamp verify. {RESTORE}",
        ) from None


def no_such_dossier(shop: Shop, tag: str) -> NoSuchDossierError:
    """Make the error of a tag that no dossier has, which lists those there are, or the newest."""
    count, newest = shop.journals.sheet("", 0, LISTED)
    known = ", ".join(reversed(newest))
    remedy = "Open one first." if not count else f"Dossiers: {known}."
    if count > LISTED:
        remedy = f"There are {count} dossiers, the newest {known}."
    return NoSuchDossierError("no such dossier", received=tag, remedy=remedy)


def read_entries(lines: Sequence[bytes], name: str) -> tuple[Entry, ...]:
    """Read the lines of a journal, each without its line feed; *name* stands in errors."""
    read: list[Entry] = []
    for seq, line in enumerate(lines, start=1):
        where = f"{name}, entry {seq}"
        try:
            data = read_json(line, where=where)
        except InputError as error:  # the text at that place may be of a seed
            raise InputError(error.what, where=error.where, remedy=error.remedy) from None
        read.append(parse_entry(data, where=where))
    return tuple(read)


def state_of(shop: Shop, tag: str) -> DossierState:
    """Fold the journal of *tag*; raises as `entries_of` does."""
    return _folded(shop, tag)[0].state


def next_id(state: DossierState, prefix: str) -> str:
    """The first free id of the form ``o12``."""
    number = 1
    while f"{prefix}{number}" in state.entered:
        number += 1
    return f"{prefix}{number}"


def _fold_to_go_on(shop: Shop, tag: str) -> Fold:
    """The journal of *tag* folded to its end, for one writer: gone on with, or folded anew."""
    head = shop.journals.head(tag)
    kept = None if head is None else shop.folds.take(tag, head.digest)
    if kept is not None and kept.tree is shop.tree_for(str(kept.entries[0].body["kind"])):
        return kept
    entries = entries_of(shop, tag)
    folding = fold_entries(shop, entries)
    return Fold(folding.tree, folding, list(entries))


def _folded(shop: Shop, tag: str) -> tuple[Folding, tuple[Entry, ...]]:
    entries = entries_of(shop, tag)
    return fold_entries(shop, entries), entries


def fold_entries(shop: Shop, entries: tuple[Entry, ...]) -> Folding:
    """Fold entries with the parts tree of their instrument, in the shop or not."""
    first = parse_body(entries[0].kind, entries[0].body, where="entry 1", kept=True)
    tree = shop.tree_for(first.kind) if isinstance(first, Instrument) else None
    folding = Folding(tree)
    for entry in entries:
        folding.add_entry(entry, where=place_of(entry.kind, entry.body, entry.seq))
    return folding


def _sealed(
    shop: Shop,
    folding: Folding,
    entries: Sequence[NewEntry],
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
    for number, (kind, body) in enumerate(entries, start=seq + 1):
        where = place_of(kind, body, number)
        fields = envelope(seq=number, at=at, by=by, kind=kind, body=body, previous=previous)
        sealed = seal(fields, shop.draw_seed(), where=where)
        entry = parse_entry(sealed, where=where)
        folding.enter(kind, body, at=at, by=by, digest=entry.digest, where=where)
        lines.append(line_of(sealed))
        made.append(entry)
        previous = entry.digest
    return lines, tuple(made)
