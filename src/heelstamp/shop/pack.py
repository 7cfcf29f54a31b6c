"""Packs: what one reader gets of a dossier, in one signed bag that a person reads.

For the shop and the consignor a pack is the whole record, and another shop takes it in. For
outsiders all of it is made of the record as they may know it (`heelstamp.shop.reports.Told`): the
papers issued to them, byte for byte, with that paper's own files and pictures; for everyone (the
*public* pack) the same record without a paper, since a paper is somebody's. An outsider's pictures
are made from pixels at full size, with the boxes over them filled.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError, NotFoundError
from heelstamp.shop.bag import BagWriter, writing_bag
from heelstamp.shop.carrying_out import about_bag, carry_out, signer
from heelstamp.shop.folder import now
from heelstamp.shop.issuing import told_as_issued
from heelstamp.shop.printed_pictures import boxes_of, outgoing
from heelstamp.shop.reports import PAPER, document_at, report_document, told_at

if TYPE_CHECKING:
    from heelstamp.casework.papers.document import Reader, ReportDocument
    from heelstamp.catalogue import Issue
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.reports import Told

PUBLIC = "public"
READERS = ("buyer", "insurer", PUBLIC, "consignor", "shop")
WHOLE = ("consignor", "shop")
"""Readers who get the whole record."""
FULL_PX = 20_000
"""Longer edge of an outsider's pictures: that of the photograph, which is bounded below it."""


@dataclass(frozen=True, slots=True)
class Packed:
    """A pack that was made; *lacking* says what could not be put in."""

    path: Path
    reader: str
    files: int
    size: int
    lacking: tuple[str, ...] = ()


def make_pack(shop: OpenShop, tag: str, reader: str, to: Path) -> Packed:
    """Make the pack of a dossier for one of `READERS`; nothing is entered.

    Parameters
    ----------
    to
        Folder, or file whose name ends in ``.zip``.

    Raises
    ------
    InputError
        There is no such reader, or nothing was issued to this one yet.
    ConflictError
        *to* is there, or the paper's files can no longer be made as they were.
    StorageError
        A machine refused; nothing of the pack appears then.
    """
    if reader not in READERS:
        raise InputError(
            "no such reader", received=reader, remedy=f"Readers: {', '.join(READERS)}."
        )
    shop.subject(tag)  # there is such a dossier
    if reader in WHOLE:
        return _whole(shop, tag, reader, to)
    return _for_outsider(shop, tag, reader, to)


def _whole(shop: OpenShop, tag: str, reader: str, to: Path) -> Packed:
    from heelstamp.archive import canonical_json
    from heelstamp.casework.exported import LINKED_ART_FILE
    from heelstamp.casework.linked_art import linked_art

    whose: Reader = "consignor" if reader == "consignor" else "shop"
    document = document_at(shop, tag, whose)

    def told(kept: Mapping[str, str]) -> bytes:
        paths = {one.frame: kept[one.file] for one in document.pictures if one.file in kept}
        return canonical_json(linked_art(document, shop=shop.name, paths=paths))

    done = carry_out(shop, shop.folder, [tag], to, more={LINKED_ART_FILE: told}, whose=reader)
    size = to.stat().st_size if to.is_file() else sum(
        one.stat().st_size for one in to.rglob("*") if one.is_file()
    )  # fmt: skip
    return Packed(to, reader, done.files, size, done.lacking)


def _for_outsider(shop: OpenShop, tag: str, reader: str, to: Path) -> Packed:
    from heelstamp.archive import canonical_json
    from heelstamp.casework.exported import LINKED_ART_FILE
    from heelstamp.casework.linked_art import linked_art
    from heelstamp.casework.pack_guide import guide
    from heelstamp.report.attached import attached_files
    from heelstamp.report.check_page import CHECK_PAGE, check_page
    from heelstamp.shop.signing import key_of

    day = now()[:10]
    issued = [] if reader == PUBLIC else _issued(shop, tag, reader)
    if reader == PUBLIC:
        told, findings = told_at(shop, tag, "buyer"), {}
        document = report_document(told, day=day)
        findings = told.attachments()
    else:
        report = next(one for one in reversed(issued) if one.paper == PAPER)
        told = told_as_issued(shop, tag, report)
        document = report_document(told, day=str(report.day), lengths=report.lengths)
        findings = attached_files(shop.files.get(str(report.file)), report.id)
    key = key_of(shop).fingerprint
    with writing_bag(to, day=day) as bag:
        for one in issued:
            _add_paper(shop, bag, tag, one)
        paths = _add_pictures(shop, bag, told, document)
        for name, data in sorted(findings.items()):
            bag.add(f"findings/{name}", data)
        described = linked_art(document, shop=shop.name, paths=paths)
        bag.add(LINKED_ART_FILE, canonical_json(described))
        bag.add(CHECK_PAGE, check_page())
        text = guide(
            title=f"{document.title}, {document.subtitle}, {document.tag}",
            reader=reader,
            shop=shop.name,
            day=day,
            banner=document.banner,
            papers=bool(issued),
            schedule=any(one.paper == "insurance" for one in issued),
            key=key,
        )
        bag.add("README.txt", text.encode())
        bag.close(about_bag(shop.name, tag, reader, day), signer(shop.folder, shop.name))
    return Packed(to, reader, len(bag.payload), bag.size)


def _issued(shop: OpenShop, tag: str, reader: str) -> list[Issue]:
    """The newest version of each paper issued to a reader, a report among them."""
    from heelstamp.catalogue import Issue

    mine = [
        one
        for one in shop.subject(tag).state.of(Issue).values()
        if one.reader == reader and one.file is not None
    ]
    newest = list({one.paper: one for one in mine}.values())
    if PAPER not in {one.paper for one in newest}:
        raise NotFoundError(
            f"no report was issued to the {reader} yet",
            where=tag,
            remedy=f"Issue it: heelstamp paper report {tag} --for {reader}",
        )
    return newest


def _add_paper(shop: OpenShop, bag: BagWriter, tag: str, one: Issue) -> None:
    from heelstamp.casework.exported import safe_name
    from heelstamp.casework.papers.issues import number_of

    number = number_of(shop.subject(tag).state, one)
    name = safe_name(f"{one.paper} for the {one.reader}, version {number}")
    bag.add(f"papers/{name}.pdf", shop.files.get(str(one.file)), str(one.file))


def _add_pictures(
    shop: OpenShop, bag: BagWriter, told: Told, document: ReportDocument
) -> dict[str, str]:
    """Add the pictures that the report names; give the path of each by its name there."""
    from heelstamp.casework.exported import free_name, safe_name

    boxes, taken = boxes_of(told.subject.state), set[str]()
    paths = {}
    for one in document.pictures:
        stem = f"photographs/{safe_name(f'{one.frame} {one.caption}')}"
        paths[one.frame] = free_name(stem, ".jpg", taken)
        data = outgoing(shop, told.photographs[one.frame], boxes.get(one.frame, ()), FULL_PX)
        bag.add(paths[one.frame], data)
    return paths
