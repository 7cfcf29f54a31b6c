"""Issuing a paper: finding, document, extracts for its reader, pictures, PDF, kept with its digest.

The PDF is written beside its final name and renamed, so that a paper is whole or not there.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import uuid4

from heelstamp import __version__
from heelstamp.errors import InputError, StorageError
from heelstamp.shop.doubt_examination import doubts_of
from heelstamp.shop.folder import open_shop
from heelstamp.shop.subjects import Subject, date_subject, terms_of

PICTURE_PX = 1800
"""Longer edge of the copies that papers are made of: twice what is printed."""

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.finish import KeptFinding
    from heelstamp.casework.papers.audience import Audience
    from heelstamp.casework.papers.document import Reader, ReportDocument


def report_document(
    subject: Subject,
    reader: Reader,
    *,
    at: str,
    finding: DateFinding,
    doubts: Mapping[str, Any],
    kept: Mapping[str, KeptFinding] | None = None,
) -> ReportDocument:
    """Build the examination report of *subject* for *reader*; parameters as `issue_report` has.

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
        terms=terms_of(subject.chronology),
        doubts=doubts,
        finish=finish,
    )


def issue_report(
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
    with open_shop(subject.shop) as shop:
        return {
            one.id: unpacked(shop.files.get(one.file), where=f"{subject.name}, {one.id}")
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
    with open_shop(subject.shop) as shop:
        return [read_json(line) for line in shop.journals.lines(subject.name)]


def _pictures(subject: Subject, document: ReportDocument) -> dict[str, bytes]:
    if subject.shop is None:
        return {}
    with open_shop(subject.shop) as shop:
        return {
            one.frame: shop.photographs.outgoing(shop.files.get(one.file), one.frame, PICTURE_PX)
            for one in document.pictures
        }


def write_whole(path: Path, data: bytes) -> None:
    """Write a file so that it is whole or not there; an existing regular file is replaced.

    Raises
    ------
    InputError
        The name is no file's, or something that is not a regular file has it.
    StorageError
        No permission, no such folder, or the disk is full; nothing is left behind.
    """
    partial = path.parent / f".{uuid4().hex}.partial"
    try:
        if not path.name or path.is_symlink() or (path.exists() and not path.is_file()):
            raise InputError(
                "not the name of a file that can be written",
                where=str(path),
                remedy="Name a new file, or an ordinary one that may be replaced.",
            )
        with partial.open("wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        partial.replace(path)
    except OSError as error:
        with suppress(OSError):
            partial.unlink(missing_ok=True)
        raise StorageError(
            "the file could not be written",
            where=str(path),
            received=error.strerror,
            remedy="Check the folder, your permission and the space on the disk.",
        ) from error
