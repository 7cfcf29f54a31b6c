"""Papers at the desk: the document of a reader remembered, previews, and papers issued for good.

An issued paper is kept among the shop's files, and an entry for its reader names its
SHA-256: what was handed out can be shown again, byte for byte.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.catalogue import PaperIssued
from heelstamp.errors import InputError
from heelstamp.shop.folder import now
from heelstamp.shop.kept_bytes import KeptBytes
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.paper_issue import issue_report, report_document
from heelstamp.shop.subjects import terms_of

if TYPE_CHECKING:
    from heelstamp.casework.papers.document import Reader, ReportDocument
    from heelstamp.wording import Statement

PAPER = "report"
PREVIEWS_MAX = 24_000_000
"""Bytes of previews that are remembered."""


@dataclass(frozen=True, slots=True)
class Issued:
    """A paper that was issued: for whom, its SHA-256, when and by whom."""

    reader: str
    digest: str
    at: str
    by: str


def doubts_at(desk: OpenShop, tag: str) -> dict[str, Any]:
    """Give the doubt finding of a dossier, remembered."""
    from heelstamp.shop.doubt_examination import doubts_of

    return desk.remembered(
        "doubts", tag, lambda: dict(doubts_of(desk.subject(tag), desk.finding(tag)).data())
    )


def document_at(desk: OpenShop, tag: str, reader: Reader) -> ReportDocument:
    """Give the report for one reader, as it would be issued now."""
    return desk.remembered(
        f"document for {reader}",
        tag,
        lambda: report_document(
            desk.subject(tag),
            reader,
            at=now(),
            finding=desk.finding(tag),
            doubts=doubts_at(desk, tag),
        ),
    )


def preview(desk: OpenShop, kept: KeptBytes, tag: str, reader: Reader) -> bytes:
    """Typeset the report for one reader without keeping it."""
    subject = desk.subject(tag)
    key = (subject.state.head, subject.chronology.digest, tag, reader)
    return kept.get(key, lambda: _typeset(desk, tag, reader))


def issue(desk: OpenShop, kept: KeptBytes, tag: str, reader: Reader, *, id_: str, by: str) -> str:
    """Keep the report as it was previewed, and enter its digest, which is given back."""
    from heelstamp.casework.ports import FileRecord

    standing = desk.subject(tag).state.of(PaperIssued).get(id_)
    if standing is not None:
        return standing.file
    pdf = preview(desk, kept, tag, reader)
    digest = desk.shop.files.put(pdf)
    desk.shop.journals.record_file(FileRecord(digest, len(pdf), "application/pdf"))
    body = {"id": id_, "paper": PAPER, "reader": reader, "file": digest}
    desk.enter(tag, [("paper", body)], by=by)
    return digest


def issued(desk: OpenShop, tag: str) -> tuple[Issued, ...]:
    """Give the papers that were issued, the newest first."""
    state = desk.subject(tag).state
    found = [
        Issued(one.reader, one.file, state.entered[one.id].at, state.entered[one.id].by)
        for one in state.of(PaperIssued).values()
        if one.paper == PAPER
    ]
    return tuple(reversed(found))


def issued_paper(desk: OpenShop, tag: str, digest: str) -> bytes:
    """Give a paper that was issued.

    Raises
    ------
    InputError
        None of this digest was.
    """
    if digest not in {one.digest for one in issued(desk, tag)}:
        raise InputError(
            "no such paper was issued", where=tag, received=digest, remedy="See Papers."
        )
    return desk.shop.files.get(digest)


def issued_as(desk: OpenShop, tag: str, data: bytes) -> Issued | None:
    """Say as which issued paper a file stands, byte for byte; None when it is none of them."""
    from heelstamp.archive import sha256

    digest = sha256(data)
    return next((one for one in issued(desk, tag) if one.digest == digest), None)


def _typeset(desk: OpenShop, tag: str, reader: Reader) -> bytes:
    return issue_report(
        desk.subject(tag), reader, at=now(), finding=desk.finding(tag), doubts=doubts_at(desk, tag)
    )


def computed_words(desk: OpenShop, tag: str) -> dict[str, Statement]:
    """Give the statements about parts as computed, before any word was chosen."""
    return desk.remembered("computed words", tag, lambda: _computed(desk, tag))


def _computed(desk: OpenShop, tag: str) -> dict[str, Statement]:
    from heelstamp.casework.papers.part_section import part_section
    from heelstamp.casework.papers.unsettled import Unsettled

    subject = desk.subject(tag)
    terms, finding = terms_of(subject.chronology), desk.finding(tag).data()
    rows, said = part_section(subject.state, subject.tree, terms, finding)
    found = doubts_at(desk, tag)["sensitivity"]["unsettled"]
    _, said = Unsettled(found, subject.state, subject.tree, terms).parts(rows, said)
    return {one.id: one for one in said}
