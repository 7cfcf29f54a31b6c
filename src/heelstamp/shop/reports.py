"""Reports: what its reader may know, results, document, pictures, PDF; previews.

What an outsider gets is computed from the public record alone. `issuing` hands them out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from heelstamp import __version__
from heelstamp.shop.folder import now
from heelstamp.shop.own_record import record_of
from heelstamp.shop.printed_pictures import boxes_of, print_facts, printed_all
from heelstamp.shop.settings import read_settings
from heelstamp.shop.subjects import Subject, date_subject, doubts_of, names_of

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.finish import KeptFinding
    from heelstamp.casework.own_record import OwnRecord
    from heelstamp.casework.papers.audience import Audience
    from heelstamp.casework.papers.document import Reader, ReportDocument
    from heelstamp.casework.papers.document_rows import Version
    from heelstamp.casework.papers.leaving import Leaving
    from heelstamp.casework.papers.public_record import PublicRecord
    from heelstamp.dating.compiled import CompiledModel
    from heelstamp.shop.opened import OpenShop
    from heelstamp.units import LengthUnit
    from heelstamp.wording import Statement

PAPER = "report"
COPY = "copy.json"


@dataclass(frozen=True, slots=True)
class Told:
    """All that a paper for one reader rests on.

    Attributes
    ----------
    subject
        As this reader may know it.
    finding, doubts, kept
        Computed from that subject; findings of visible / UV-A pairs by observation.
    photographs
        SHA-256 of each photograph as it was taken, by its name in the paper.
    source
        Id of the dossier's entry, by the name it has in the paper; empty where names are the same.
    weight
        Of the instrument, where this subject does not tell it.
    record
        The shop's own record, once there are cases enough to tell of it.
    """

    subject: Subject
    reader: Reader
    finding: DateFinding
    doubts: Mapping[str, Any]
    kept: Mapping[str, KeptFinding]
    photographs: Mapping[str, str]
    source: Mapping[str, str] = field(default_factory=dict)
    weight: str = ""
    record: OwnRecord | None = None

    @property
    def audience(self) -> Audience:
        """Who reads, with the numbers whose hidden characters are printed as hidden."""
        from heelstamp.casework.papers.audience import Audience

        seen = self.subject.state.observations.values()
        unread = tuple(one.text for one in seen if one.kind == "serial" and one.text)
        return Audience(self.reader, unread=unread)

    def attachments(self) -> dict[str, bytes]:
        """Make the files that travel in the paper, without the copy."""
        import msgspec

        from heelstamp.archive import canonical_json
        from heelstamp.casework.examination import examination_data
        from heelstamp.casework.papers.document import OUTSIDERS

        files = {
            "examination.json": canonical_json(examination_data(self.subject.state)),
            "finding.json": canonical_json(self.finding.data()),
            "doubts.json": canonical_json(self.doubts),
        }
        if self.kept:
            files["finish.json"] = canonical_json([one.data for one in self.kept.values()])
        if self.record is not None:
            files["own_record.json"] = canonical_json(msgspec.to_builtins(self.record))
        if self.subject.shop is not None and self.reader not in OUTSIDERS:
            lines = self.subject.shop.journals.lines(self.subject.name)
            files["journal.json"] = b"[" + b",".join(lines[: self.subject.state.length]) + b"]"
        return files


def told_to(
    subject: Subject,
    reader: Reader,
    *,
    finding: DateFinding | None = None,
    doubts: Mapping[str, Any] | None = None,
) -> Told:
    """Gather what a paper for *reader* rests on.

    Parameters
    ----------
    finding, doubts
        Of the whole subject, when they are already at hand; no outsider's paper rests on them.
    """
    from heelstamp.casework.papers.document import OUTSIDERS

    kept = _finish_findings(subject)
    source: Mapping[str, str] = {}
    weight = ""
    files = {one.id: one.file for one in subject.state.photographs.values()}
    if reader in OUTSIDERS:
        from heelstamp.casework.papers.evidence_section import weight_as_found

        public, _ = _public(subject, reader)
        weight = weight_as_found(subject.state, last=True)
        subject = replace(subject, state=public.state)
        files = {name: files[public.source[name]] for name in public.state.photographs}
        source, kept, finding, doubts = public.source, dict(public.kept), None, None
    model = _model_of(subject)
    dated = finding or date_subject(subject, model)
    doubted = doubts if doubts is not None else doubts_of(subject, dated, compiled=model).data()
    counted = None if subject.shop is None else record_of(subject.shop)
    record = counted if counted is not None and counted.stands else None
    return Told(subject, reader, dated, doubted, kept, files, source, weight, record)


def _model_of(subject: Subject) -> CompiledModel | None:
    """The model of its chronology that the shop has ready; None outside of an opened shop."""
    from heelstamp.shop.opened import OpenShop

    shop = subject.shop
    return shop.model(subject.chronology) if isinstance(shop, OpenShop) else None


def report_document(
    told: Told,
    *,
    day: str,
    digest: str = "",
    key: str = "",
    versions: tuple[Version, ...] = (),
    lengths: LengthUnit = "mm",
) -> ReportDocument:
    """Build the examination report for one reader.

    Parameters
    ----------
    digest
        Of the entry that fixes it; empty for a preview.
    key
        Fingerprint of the key that it is signed with; empty for a preview.
    lengths
        Unit of the lengths of its setup.
    """
    from heelstamp.casework.papers.document import OUTSIDERS
    from heelstamp.casework.papers.examination_report import Issue, examination_report
    from heelstamp.shop.opened import OpenShop

    subject = told.subject
    outsider = told.reader in OUTSIDERS
    names = tuple(told.attachments())
    shop = subject.shop
    records = read_settings(shop.folder).records if isinstance(shop, OpenShop) else {}
    hands = dict.fromkeys(one.by for one in subject.state.entered.values() if one.by)
    issue = Issue(
        program=f"Heelstamp {__version__}",
        date=day,
        attachments=(COPY, *names) if outsider and digest else names,
        demonstration=subject.chronology.invented,
        digest=digest,
        key=key,
        weight=told.weight,
        versions=versions,
        lengths=lengths,
        examiners=tuple((one, records.get(one, "")) for one in (records if outsider else hands)),
    )
    return examination_report(
        subject.state,
        subject.tree,
        told.finding.data(),
        reader=told.reader,
        issue=issue,
        names=names_of(subject.chronology),
        doubts=told.doubts,
        finish=told.kept,
        record=told.record,
        audience=told.audience,
    )


def typeset_report(
    subject: Subject,
    reader: Reader,
    *,
    at: str,
    finding: DateFinding | None = None,
    doubts: Mapping[str, Any] | None = None,
    lengths: LengthUnit = "mm",
) -> bytes:
    """Typeset the examination report of *subject* for *reader*, not issued.

    Parameters
    ----------
    at
        UTC time, of which the day is printed: ``2026-11-24T10:00:00Z``.
    finding, doubts
        As `told_to` takes them.
    lengths
        Unit of the lengths of its setup.

    Raises
    ------
    HeelstampError
        The record holds words no paper may carry, a picture is missing, or typesetting failed.
    """
    told = told_to(subject, reader, finding=finding, doubts=doubts)
    return typeset_told(told, at[:10], lengths=lengths)


def typeset_told(
    told: Told,
    day: str,
    entry: Mapping[str, Any] | None = None,
    versions: tuple[Version, ...] = (),
    key: str = "",
    *,
    lengths: LengthUnit = "mm",
) -> bytes:
    """Typeset what was gathered.

    Parameters
    ----------
    day
        Printed: ``2026-11-24``.
    entry, versions, key
        Of a paper that is issued: the entry that fixes it, the versions up to it, and the
        fingerprint of the shop's key; none of a preview.
    lengths
        Unit of the lengths of its setup.
    """
    from heelstamp.archive.issued import copy_of
    from heelstamp.casework.papers.document import OUTSIDERS
    from heelstamp.report import render_report

    digest = "" if entry is None else str(entry["digest"])
    document = report_document(
        told, day=day, digest=digest, key=key, versions=versions, lengths=lengths
    )
    attachments = told.attachments()
    if entry is not None and told.reader in OUTSIDERS:
        attachments[COPY] = copy_of(entry)
    shop = told.subject.shop
    photographs = {}
    if shop is not None:
        files = {one.frame: told.photographs[one.frame] for one in document.pictures}
        boxes = boxes_of(told.subject.state) if told.reader in OUTSIDERS else {}
        photographs = printed_all(shop, files, boxes)
    return render_report(
        document,
        timestamp=datetime.fromisoformat(day).replace(tzinfo=UTC),
        attachments=attachments,
        photographs=photographs,
        plates=plates_of_told(told),
        printed=True,
    )


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


def _printed(subject: Subject) -> dict[str, dict[str, Any]]:
    """Describe each photograph that outsiders may see as it is printed; none without a shop."""
    from heelstamp.casework.papers.public_record import shown_frames

    shop = subject.shop
    if shop is None:
        return {}
    state, boxes = subject.state, boxes_of(subject.state)
    shown = shown_frames(state)
    return {
        one.id: print_facts(shop, one.file, one.id, boxes.get(one.id, ()))
        for one in state.photographs.values()
        if one.id in shown
    }


def plates_of_told(told: Told) -> dict[str, bytes]:
    """Pictures of findings, with the boxes of their photographs filled for outsiders."""
    from heelstamp.casework.finish.finding_file import OVERLAY, PAIR
    from heelstamp.casework.papers.document import OUTSIDERS
    from heelstamp.casework.papers.finish_section import plates_of
    from heelstamp.report.finish_pictures import halves
    from heelstamp.report.pictures import covered

    plates = plates_of(told.kept)
    boxes = boxes_of(told.subject.state) if told.reader in OUTSIDERS else {}
    for id_, one in told.kept.items():
        mine = [
            box for key in ("visible", "uv") for box in boxes.get(str(one.data.get(key, "")), ())
        ]
        for picture, there in ((PAIR, halves(mine)), (OVERLAY, mine)):
            key = f"{id_}:{picture}"
            if there and key in plates:
                plates[key] = covered(plates[key], there, where=key)
    return plates


def told_at(shop: OpenShop, tag: str, reader: Reader) -> Told:
    """Gather what a paper for *reader* rests on as the dossier stands; remembered."""
    from heelstamp.casework.papers.document import OUTSIDERS

    def make() -> Told:
        if reader in OUTSIDERS:
            return told_to(shop.subject(tag), reader)
        finding, doubts = shop.finding(tag), shop.doubts(tag)
        return told_to(shop.subject(tag), reader, finding=finding, doubts=doubts)

    return shop.remembered(f"told to {reader}", tag, make)


def document_at(shop: OpenShop, tag: str, reader: Reader) -> ReportDocument:
    """Build the report for one reader as it would be issued now; remembered."""
    return shop.remembered(
        f"document for {reader}",
        tag,
        lambda: report_document(told_at(shop, tag, reader), day=now()[:10]),
    )


def preview(shop: OpenShop, tag: str, reader: Reader) -> bytes:
    """Typeset the report for one reader; nothing is kept or entered."""
    subject = shop.subject(tag)
    key = (subject.state.head, subject.chronology.digest, tag, reader)
    return shop.previews.get(key, lambda: typeset_told(told_at(shop, tag, reader), now()[:10]))


def computed_words(shop: OpenShop, tag: str) -> dict[str, Statement]:
    """Return the statements about parts as computed, before any word was chosen."""
    return dict(shop.said(tag).computed)


def review_of(subject: Subject, reader: Reader) -> tuple[Leaving, ...]:
    """List the typed words that a paper for *reader* would carry; none for who sees all."""
    from heelstamp.casework.examination import examination_data
    from heelstamp.casework.papers.document import OUTSIDERS
    from heelstamp.casework.papers.leaving import review_list

    if reader not in OUTSIDERS:
        return ()
    public, audience = _public(subject, reader)
    return review_list(examination_data(public.state), public.source, audience.names)


def _public(subject: Subject, reader: Reader) -> tuple[PublicRecord, Audience]:
    from heelstamp.casework.dating.own_acts import late_looks
    from heelstamp.casework.papers.examination_report import audience_of
    from heelstamp.casework.papers.public_record import public_record

    audience = audience_of(subject.state, reader)
    pictures, kept = _printed(subject), _finish_findings(subject)
    made = public_record(
        subject.state,
        subject.tree,
        audience,
        pictures=pictures,
        kept=kept,
        late=late_looks(subject.state, subject.chronology),
    )
    return made, audience
