"""Verification of a shop's journals and files, and how far each journal is known to have gone."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.archive import Verdict
from heelstamp.shop.folder import open_shop
from heelstamp.shop.soundness import known_ends, lost_end

if TYPE_CHECKING:
    from heelstamp.archive import ChainReport
    from heelstamp.casework.ports import Shop
    from heelstamp.shop.backup_manifest import KeptEnd

CANNOT_TELL = "Whether entries are missing at the end cannot be told: give --last DIGEST."
WHOLE_FILES = "files of the shop"
WHOLE_DOCUMENTS = "terms and makers' documents"


@dataclass(frozen=True, slots=True)
class Verified:
    """What verification came to.

    Attributes
    ----------
    name
        Tag of a dossier, `WHOLE_FILES` or `WHOLE_DOCUMENTS`.
    findings
        What was found, in sentences.
    limits
        What cannot be told.
    """

    name: str
    verdict: Verdict
    findings: tuple[str, ...]
    limits: tuple[str, ...] = ()


def verify_shop(folder: Path, tag: str | None, last: str | None) -> tuple[Verified, ...]:
    """Verify one dossier, or without *tag* all of them every file kept, and documents.

    Parameters
    ----------
    last
        Digest of the last entry at some time, as known from elsewhere.

    Raises
    ------
    InputError
        The folder is no shop, or there is no such dossier.
    """
    at, ends = known_ends(folder)
    with open_shop(folder) as shop:
        if tag is not None:
            return (_dossier(shop, tag, last, at, ends.get(tag)),)
        tags = shop.journals.tags()
        found = [_dossier(shop, one, last, at, ends.get(one)) for one in tags]
        gone = ("the dossier stood in the last backup and is gone",)
        found += [Verified(one, Verdict.BROKEN, gone) for one in ends if one not in tags]
        return (*found, _files(shop), _documents(shop, folder))


def _dossier(shop: Shop, tag: str, last: str | None, at: str, end: KeptEnd | None) -> Verified:
    from heelstamp.casework.journal_file import verify

    found = verify(shop, tag, head=last)
    messages = told_of(found.chain)
    messages += [f"{fault.message}: file {fault.name[:12]}…" for fault in found.files]
    lost = lost_end(shop.journals, tag, end) if end is not None else ""
    if lost:
        return Verified(tag, Verdict.BROKEN, (*messages, lost))
    if last is not None:
        return Verified(tag, found.verdict, tuple(messages))
    limit = CANNOT_TELL
    if end is not None:
        limit = (
            f"Entry {end.length}, the last of the backup of {at}, is here; whether later ones are "
            "missing at the end cannot be told: give --last DIGEST."
        )
    return Verified(tag, found.verdict, tuple(messages), (limit,))


def _files(shop: Shop) -> Verified:
    from heelstamp.casework.journal_file import verify_files

    faults = verify_files(shop)
    lost = any(fault.code != "left over" for fault in faults)
    verdict = Verdict.BROKEN if lost else Verdict.SOUND
    told = tuple(f"{fault.name}: {fault.code}, {fault.message}" for fault in faults)
    return Verified(WHOLE_FILES, verdict, told)


def _documents(shop: Shop, folder: Path) -> Verified:
    from heelstamp.shop.noted_documents import document_faults

    told = tuple(f"{one.name}: {one.message}" for one in document_faults(shop, folder))
    return Verified(WHOLE_DOCUMENTS, Verdict.BROKEN if told else Verdict.SOUND, told)


def told_of(report: ChainReport) -> list[str]:
    """What to say of a chain: each finding with its entry, and where the expected digest stands."""
    told = [
        f"entry {one.seq}: {one.message}" if one.seq else one.message for one in report.findings
    ]
    if report.head_at is not None:
        since = report.length - report.head_at
        more = f"; {since} entered since" if since else ", the last"
        told.append(f"the expected digest is that of entry {report.head_at}{more}")
    return told
