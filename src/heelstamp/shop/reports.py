"""Reports: finding, document, extracts for its reader, pictures, PDF; previews, and issued copies.

An issued report is kept among the shop's files, and an entry for its reader names its SHA-256: what
was handed out can be shown again, byte for byte.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from heelstamp import __version__
from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import PaperIssued
from heelstamp.errors import NotFoundError
from heelstamp.shop.files import keep_file
from heelstamp.shop.folder import now
from heelstamp.shop.subjects import Subject, date_subject, doubts_of, names_of

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.finish import KeptFinding
    from heelstamp.casework.papers.audience import Audience
    from heelstamp.casework.papers.document import Reader, ReportDocument
    from heelstamp.shop.opened import OpenShop
    from heelstamp.wording import Statement

PAPER = "report"
PICTURE_PX = 1800
"""Longer edge of the copies that papers are made of: twice what is printed."""


@dataclass(frozen=True, slots=True)
class Issued:
    """A report that was issued: for whom, its SHA-256, when and by whom."""

    reader: str
    digest: str
    at: str
    by: str


def report_document(
    subject: Subject,
    reader: Reader,
    *,
    at: str,
    finding: DateFinding,
    doubts: Mapping[str, Any],
    kept: Mapping[str, KeptFinding] | None = None,
) -> ReportDocument:
    """Build the examination report of *subject* for *reader*; parameters as `typeset_report` has.

    *kept* are the findings of its visible / UV-A pairs; without them they are read from the shop.
    """
    from heelstamp.casework.papers.examination_report import Issue, examination_report

    finish = _finish_findings(subject) if kept is None else kept
    issue = Issue(
        program=f"Heelstamp {__version__}",
        date=at[:10],
        attachments=_attached(subject, finish),
        demonstration=subject.chronology.invented,
    )
    return examination_report(
        subject.state,
        subject.tree,
        finding.data(),
        reader=reader,
        issue=issue,
        names=names_of(subject.chronology),
        doubts=doubts,
        finish=finish,
    )


def typeset_report(
    subject: Subject,
    reader: Reader,
    *,
    at: str,
    finding: DateFinding | None = None,
    doubts: Mapping[str, Any] | None = None,
) -> bytes:
    """Typeset the examination report of *subject* for *reader*.

    Parameters
    ----------
    at
        UTC time of issue, ``2026-11-24T10:00:00Z``.
    finding, doubts
        The date finding, and the doubt finding as plain values, when they are already at hand.

    Raises
    ------
    HeelstampError
        The record holds words no paper may carry, a picture is missing, or typesetting failed.
    """
    from heelstamp.archive import canonical_json
    from heelstamp.casework.examination import examination_data
    from heelstamp.casework.papers.audience import examination_extract, journal_extract
    from heelstamp.casework.papers.examination_report import audience_of
    from heelstamp.casework.papers.finish_section import plates_of
    from heelstamp.report import render_report

    dated = finding or date_subject(subject)
    doubted = doubts if doubts is not None else doubts_of(subject, dated).data()
    audience = audience_of(subject.state, reader)
    kept = _finish_findings(subject)
    document = report_document(subject, reader, at=at, finding=dated, doubts=doubted, kept=kept)
    attachments = {
        "examination.json": canonical_json(
            examination_extract(examination_data(subject.state), audience)
        ),
        "finding.json": canonical_json(audience.value(dated.data())),
        "doubts.json": canonical_json(audience.value(doubted)),
    }
    if kept:
        attachments["finish.json"] = canonical_json(
            [audience.value(_cut_finish(one.data, audience)) for one in kept.values()]
        )
    if subject.shop is not None:
        attachments["journal.json"] = canonical_json(journal_extract(_entries(subject), audience))
    return render_report(
        document,
        timestamp=datetime.fromisoformat(at).astimezone(UTC),
        attachments=attachments,
        photographs=_pictures(subject, document),
        plates=plates_of(kept),
    )


def _attached(subject: Subject, kept: Mapping[str, KeptFinding]) -> tuple[str, ...]:
    names = ["examination.json", "finding.json", "doubts.json"]
    names += ["finish.json"] if kept else []
    names += ["journal.json"] if subject.shop is not None else []
    return tuple(names)


def _finish_findings(subject: Subject) -> dict[str, KeptFinding]:
    """Read the kept findings of visible / UV-A pairs, by observation."""
    from heelstamp.casework.finish import unpacked
    from heelstamp.casework.papers.finish_section import looks_with_findings

    looks = looks_with_findings(subject.state)
    if subject.shop is None or not looks:
        return {}
    return {
        one.id: unpacked(subject.shop.files.get(one.file), where=f"{subject.name}, {one.id}")
        for one in looks
        if one.file is not None
    }


def _cut_finish(data: Mapping[str, Any], audience: Audience) -> Mapping[str, Any]:
    """Leave outlines out where a reader may not see the frames that they are drawn on."""
    if len(audience.frames((str(data["visible"]), str(data["uv"])))) == 2:
        return data
    hidden = ("masks", "transform", "visible", "uv")
    kept = {key: value for key, value in data.items() if key not in hidden}
    regions = [
        {key: value for key, value in one.items() if key not in ("polygon", "centre")}
        for one in data["regions"]
    ]
    return {**kept, "regions": regions}


def _entries(subject: Subject) -> list[dict[str, object]]:
    from heelstamp.archive import read_json

    assert subject.shop is not None
    return [read_json(line) for line in subject.shop.journals.lines(subject.name)]


def _pictures(subject: Subject, document: ReportDocument) -> dict[str, bytes]:
    if subject.shop is None:
        return {}
    shop = subject.shop
    return {
        one.frame: shop.photographs.outgoing(shop.files.get(one.file), one.frame, PICTURE_PX)
        for one in document.pictures
    }


def document_at(shop: OpenShop, tag: str, reader: Reader) -> ReportDocument:
    """Build the report for one reader as it would be issued now; remembered."""
    return shop.remembered(
        f"document for {reader}",
        tag,
        lambda: report_document(
            shop.subject(tag), reader, at=now(), finding=shop.finding(tag), doubts=shop.doubts(tag)
        ),
    )


def preview(shop: OpenShop, tag: str, reader: Reader) -> bytes:
    """Typeset the report for one reader without keeping it."""
    subject = shop.subject(tag)

    def make() -> bytes:
        finding, doubts = shop.finding(tag), shop.doubts(tag)
        return typeset_report(subject, reader, at=now(), finding=finding, doubts=doubts)

    key = (subject.state.head, subject.chronology.digest, tag, reader)
    return shop.previews.get(key, make)


def issue(shop: OpenShop, tag: str, reader: Reader, *, id_: str, by: str) -> str:
    """Keep the report as it was previewed, and enter its digest, which is returned."""
    standing = shop.subject(tag).state.of(PaperIssued).get(id_)
    if standing is not None:
        return standing.file
    digest = keep_file(shop, preview(shop, tag, reader), "application/pdf")
    body = {"id": id_, "paper": PAPER, "reader": reader, "file": digest}
    shop.enter(tag, [NewEntry("paper", body)], by=by)
    return digest


def issued(shop: OpenShop, tag: str) -> tuple[Issued, ...]:
    """List the reports that were issued, the newest first."""
    state = shop.subject(tag).state
    found = [
        Issued(one.reader, one.file, state.entered[one.id].at, state.entered[one.id].by)
        for one in state.of(PaperIssued).values()
        if one.paper == PAPER
    ]
    return tuple(reversed(found))


def issued_report(shop: OpenShop, tag: str, digest: str) -> bytes:
    """Return a report that was issued.

    Raises
    ------
    NotFoundError
        None of this digest was.
    """
    if digest not in {one.digest for one in issued(shop, tag)}:
        raise NotFoundError(
            "no such paper was issued", where=tag, received=digest, remedy="See Reports."
        )
    return shop.files.get(digest)


def issued_as(shop: OpenShop, tag: str, data: bytes) -> Issued | None:
    """Return as which issued report a file stands, byte for byte; None when it is none of them."""
    from heelstamp.archive import sha256

    digest = sha256(data)
    return next((one for one in issued(shop, tag) if one.digest == digest), None)


def computed_words(shop: OpenShop, tag: str) -> dict[str, Statement]:
    """Return the statements about parts as computed, before any word was chosen; remembered."""
    return shop.remembered("computed words", tag, lambda: _computed(shop, tag))


def _computed(shop: OpenShop, tag: str) -> dict[str, Statement]:
    from heelstamp.casework.papers.part_section import part_section
    from heelstamp.casework.papers.unsettled import Unsettled

    subject = shop.subject(tag)
    names, finding = names_of(subject.chronology), shop.finding(tag).data()
    rows, said = part_section(subject.state, subject.tree, names, finding)
    found = shop.doubts(tag)["sensitivity"]["unsettled"]
    _, said = Unsettled(found, subject.state, subject.tree, names).parts(rows, said)
    return {one.id: one for one in said}
