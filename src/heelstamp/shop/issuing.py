"""Reports handed out: issued as versions, listed, found again byte for byte.

At issue, never at a preview, one entry fixes the files that travel in the paper, and the paper
prints that entry's digest; the file is then signed as a whole and kept, and the digest of the
signed bytes is named by a correction of the entry, so that what was handed out can be shown again.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import Issue
from heelstamp.errors import ConflictError, NotFoundError
from heelstamp.shop.database import is_read_only
from heelstamp.shop.files import keep_file
from heelstamp.shop.folder import now
from heelstamp.shop.reports import PAPER, Told, told_at, told_to, typeset_told
from heelstamp.shop.signing import key_of, sign_paper

if TYPE_CHECKING:
    from heelstamp.casework.papers.document import Reader
    from heelstamp.catalogue import DossierState
    from heelstamp.shop.opened import OpenShop
    from heelstamp.units import LengthUnit


@dataclass(frozen=True, slots=True)
class Issued:
    """A paper that was issued.

    Attributes
    ----------
    reader, paper
        For whom, and which.
    digest
        SHA-256 of its file.
    at, by
        When it was entered, and by which hand.
    version, changed
        Its number, and what changed against the one before.
    later
        Number and day of the version that supersedes it; None for the newest.
    """

    reader: str
    digest: str
    at: str
    by: str
    paper: str = PAPER
    version: int = 1
    changed: tuple[str, ...] = ()
    later: tuple[int, str] | None = None

    @property
    def standing(self) -> str:
        """Whether it is the newest, in words."""
        from heelstamp.wording import about_issues

        if self.later is None:
            return about_issues.newest.say(version=self.version)
        number, day = self.later
        return about_issues.superseded.say(version=self.version, later=number, day=day)


def issue(
    shop: OpenShop, tag: str, reader: Reader, *, id_: str, by: str, lengths: LengthUnit = "mm"
) -> str:
    """Issue the report for one reader, and return the SHA-256 of its file.

    The entry of this id fixes the files that travel in the paper. What was issued to this reader
    with these very files already is that paper again; so is an issue that was cut off before its
    file was kept.

    Raises
    ------
    ConflictError
        Others wrote to the dossier while it was issued.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.papers.issues import next_number

    papers, made_of, told = shop.subject(tag).state.of(Issue), "", None
    if id_ not in papers:
        made_of = shop.subject(tag).state.head
        told = told_at(shop, tag, reader)
        files = {name: sha256(data) for name, data in told.attachments().items()}
        for one in papers.values():
            known = (one.reader, one.files, one.lengths)
            if one.file is not None and known == (reader, files, lengths):
                return one.file
        key_of(shop)  # one that cannot be used is refused before anything is entered
        state = shop.subject(tag).state
        changed = _changed(shop, state, reader, told.attachments())
        body: dict[str, Any] = {"id": id_, "reader": reader, "day": now()[:10], "files": files}
        body |= {"version": next_number(state, PAPER, reader), "changed": list(changed)}
        body |= {"source": dict(told.source)} if told.source else {}
        body |= {"lengths": lengths} if lengths != "mm" else {}
        ledger = shop.journals.ledger()
        body |= {"ledger": ledger} if ledger is not None else {}
        shop.enter(tag, [NewEntry("issue", body)], by=by)
    standing = shop.subject(tag).state.of(Issue)[id_]
    return standing.file or _kept(shop, tag, standing, by=by, told=told, made_of=made_of)


def _kept(
    shop: OpenShop,
    tag: str,
    standing: Issue,
    *,
    by: str,
    told: Told | None = None,
    made_of: str = "",
) -> str:
    """Typeset what an entry fixed, from the dossier as it stood before; keep and name the file."""
    from heelstamp.archive import read_json
    from heelstamp.casework.dossier import entries_of, fold_entries
    from heelstamp.casework.papers.document import READERS
    from heelstamp.casework.papers.issues import versions_of

    seq = shop.subject(tag).state.entered[standing.id].seq
    entry = read_json(shop.journals.lines(tag)[seq - 1])
    reader = next(one for one in READERS if one == standing.reader)

    if told is None or entry["previous"] != made_of:  # an entry came between, or it was cut off
        told = told_as_issued(shop, tag, standing)
    else:
        _require_same(told, tag, standing)
    earlier = fold_entries(shop, entries_of(shop, tag)[: seq - 1]).state
    versions = versions_of(
        earlier,
        paper=standing.paper,
        reader=reader,
        day=str(standing.day),
        changed=tuple(standing.changed),
    )
    day, key = str(standing.day), key_of(shop).fingerprint
    made_pdf = sign_paper(
        shop, typeset_told(told, day, entry, versions, key, lengths=standing.lengths), day=day
    )
    digest = keep_file(shop, made_pdf, "application/pdf")
    correction = {
        "id": f"{standing.id[:59]}.file",
        "corrects": standing.id,
        "reason": "its file, which prints the digest of the entry",
        "replacement": {**entry["body"], "file": digest},
    }
    shop.enter(tag, [NewEntry("correction", correction)], by=by)
    return digest


def issue_made(
    shop: OpenShop,
    tag: str,
    *,
    paper: str,
    reader: str,
    files: Mapping[str, bytes],
    make: Callable[[int, str], bytes],
    media_type: str,
    changed: Callable[[bytes], tuple[str, ...]],
    id_: str,
    by: str,
) -> str:
    """Issue a paper that is not a report, and return the SHA-256 of its file.

    The same id issues it once. Where the shop's folder cannot be written, a paper that was issued
    of the same record stands.

    Parameters
    ----------
    files
        What the paper is made of, by name; their digests are entered.
    make
        Makes the file, signed, from the number of its version and its day.
    changed
        What changed against the file of the version before, a phrase each.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.papers.issues import issues_of, next_number
    from heelstamp.wording.about_issues import computed_anew, same_record

    state = shop.subject(tag).state
    before = state.of(Issue).get(id_)
    if before is not None and before.file is not None:
        return before.file
    digests = {name: sha256(data) for name, data in files.items()}
    earlier = issues_of(state, paper, reader)
    last = earlier[-1] if earlier else None
    same = last is not None and last.files == digests
    if same and last is not None and last.file is not None and is_read_only(shop.folder):
        return last.file  # printed again
    version, day = next_number(state, paper, reader), now()[:10]
    made = make(version, day)
    body: dict[str, Any] = {"id": id_, "paper": paper, "reader": reader, "day": day}
    body |= {"files": digests, "version": version, "file": keep_file(shop, made, media_type)}
    if same:
        body["changed"] = [same_record.say()]
    elif last is not None and last.file is not None:
        body["changed"] = list(changed(shop.files.get(last.file)) or (computed_anew.say(),))
    shop.enter(tag, [NewEntry("issue", body)], by=by)
    return str(body["file"])


def told_as_issued(shop: OpenShop, tag: str, standing: Issue) -> Told:
    """Gather what an issued report rests on, from the dossier as it stood before its entry.

    Raises
    ------
    ConflictError
        The files that the entry fixed can no longer be made.
    """
    from heelstamp.archive import read_json
    from heelstamp.casework.dossier import entries_of, fold_entries
    from heelstamp.casework.papers.document import READERS

    seq = shop.subject(tag).state.entered[standing.id].seq
    previous = read_json(shop.journals.lines(tag)[seq - 1])["previous"]
    reader = next(one for one in READERS if one == standing.reader)

    def before() -> Told:
        state = fold_entries(shop, entries_of(shop, tag)[: seq - 1]).state
        return told_to(replace(shop.subject(tag), state=state), reader)

    told = shop.made_once((f"told to {reader}", tag, previous, shop.shelf()), before)
    _require_same(told, tag, standing)
    return told


def _require_same(told: Told, tag: str, standing: Issue) -> None:
    from heelstamp.archive import sha256

    made = {name: sha256(data) for name, data in told.attachments().items()}
    if made != standing.files:
        raise ConflictError(
            "the dossier, its maker's tables or the program changed while the paper was issued",
            where=f"{tag}, {standing.id}",
            remedy="Issue it again.",
        )


def issued(shop: OpenShop, tag: str) -> tuple[Issued, ...]:
    """List the papers that were issued, the newest first."""
    from heelstamp.casework.papers.issues import issues_of, number_of

    state = shop.subject(tag).state
    found = []
    for one in state.of(Issue).values():
        if one.file is None:
            continue
        entered, last = state.entered[one.id], issues_of(state, one.paper, one.reader)[-1]
        later = None
        if last.id != one.id:
            later = number_of(state, last), last.day or state.entered[last.id].at[:10]
        found.append(
            Issued(
                *(one.reader, one.file, entered.at, entered.by, one.paper),
                version=number_of(state, one),
                changed=tuple(one.changed),
                later=later,
            )
        )
    return tuple(reversed(found))


def _changed(
    shop: OpenShop, state: DossierState, reader: Reader, files: Mapping[str, bytes]
) -> tuple[str, ...]:
    """What a new version carries otherwise than the last one, by the files of both."""
    from heelstamp.casework.papers.issues import changes, issues_of
    from heelstamp.report.attached import attached_files

    earlier = issues_of(state, PAPER, reader)
    if not earlier or earlier[-1].file is None:
        return ()
    return changes(attached_files(shop.files.get(earlier[-1].file), earlier[-1].id), files)


def issued_report(shop: OpenShop, tag: str, digest: str, *, report: bool = True) -> bytes:
    """Return a report that was issued, or with *report* false another paper.

    Raises
    ------
    NotFoundError
        None of this digest was.
    """
    if digest not in {one.digest for one in issued(shop, tag) if (one.paper == PAPER) is report}:
        raise NotFoundError(
            "no such paper was issued", where=tag, received=digest, remedy="See Reports."
        )
    return shop.files.get(digest)
