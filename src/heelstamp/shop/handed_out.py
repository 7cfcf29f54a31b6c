"""What somebody holds, checked: a paper, a pack, a journal or a copy; the shop is not needed.

Each part is told by itself: *passed* where nothing contradicts and enough is known from elsewhere,
*failed* where something contradicts, *cannot tell* otherwise. The whole is as its weakest part.
What a file can never tell of itself is said with it: whose key signed it, and whether a later
version supersedes it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path, PurePosixPath
from typing import TYPE_CHECKING

from heelstamp.archive import Verdict
from heelstamp.archive.issued import COPY_SCHEMA
from heelstamp.shop.verification import CANNOT_TELL, Verified, told_of

if TYPE_CHECKING:
    from heelstamp.shop.bag import BagFiles
    from heelstamp.shop.opened import OpenShop

COPY, JOURNAL = "copy.json", "journal.json"
LATER_UNKNOWN = (
    "Whether a later version supersedes it cannot be told without the shop; a later paper lists "
    "the versions before it."
)
KEY_UNKNOWN = (
    "Whose key that is cannot be told from the file: give --key with the 64 digits that the shop "
    "tells by another way."
)
NOT_SIGNED = (
    "It carries no signature: it is a preview, from before the shop had a key, or its signature "
    "was taken away."
)


@dataclass(frozen=True, slots=True)
class Known:
    """What is known from elsewhere.

    Attributes
    ----------
    head
        Digest that a paper prints, or of the last entry of a journal; None for none.
    keys
        Whose each key is, in words, by its fingerprint.
    """

    head: str | None = None
    keys: Mapping[str, str] | None = None


def check_file(path: Path, known: Known) -> tuple[Verified, ...]:
    """Check a file or folder that somebody holds.

    Raises
    ------
    InputError
        It cannot be read, or is nothing that can be checked.
    """
    from heelstamp.archive.signed import is_page
    from heelstamp.shop.bag import is_bag
    from heelstamp.shop.files import read_file

    if path.is_dir() or is_bag(path):
        return _pack(path, known)
    data = read_file(path)
    if data.startswith(b"%PDF-") or path.suffix.lower() == ".pdf":
        return (paper_verified(data, path.name, known),)
    if is_page(data):
        signed = _signed(data, known)
        return (replace(signed, name=path.name, limits=(*signed.limits, LATER_UNKNOWN)),)
    if path.suffix.lower() == ".json" and COPY_SCHEMA.encode() in data:
        return (_copy(path, known),)
    return (_journal(data, path.name, known.head),)


def check_with_shop(folder: Path, path: Path, known: Known) -> tuple[Verified, ...]:
    """Check a file as `check_file` does, with the shop in *folder* at hand.

    Raises
    ------
    HeelstampError
        As `check_file` and `open_shop` do.
    """
    from heelstamp.shop.opened import OpenShop

    with OpenShop(folder) as shop:
        return check_here(shop, path, known)


def check_here(shop: OpenShop, path: Path, known: Known) -> tuple[Verified, ...]:
    """Check a file as `check_file` does, in the shop that may have handed it out.

    The shop's keys are known then; a paper that it issued stands as such, byte for byte, with the
    version that supersedes it.

    Raises
    ------
    InputError
        As `check_file`.
    """
    from heelstamp.archive import sha256
    from heelstamp.shop.files import read_file
    from heelstamp.shop.shop_key import known_keys

    own = {one.fingerprint: one.said() for one in known_keys(shop.folder).values()}
    found = check_file(path, Known(known.head, {**own, **(known.keys or {})}))
    if path.is_dir():
        return found
    data = read_file(path)
    standing = issued_as(shop, sha256(data))
    if not standing and not data.startswith(b"%PDF-"):
        return found  # a pack or a journal: nothing that is issued
    paper, *inside = found
    limits = tuple(one for one in paper.limits if one != LATER_UNKNOWN)
    verdict = paper.verdict
    if standing:  # the digest that the shop keeps covers every byte, also of one that is unsigned
        limits = tuple(one for one in limits if one != NOT_SIGNED)
        verdict = Verdict.SOUND if verdict is Verdict.CANNOT_DECIDE else verdict
    told = standing or "no paper that this shop issued has these bytes"
    whole = replace(paper, verdict=verdict, findings=(*paper.findings, told), limits=limits)
    return (whole, *inside)


def issued_as(shop: OpenShop, digest: str) -> str:
    """Say as what a file of this digest was issued by the shop; empty where it was not."""
    from heelstamp.shop.issuing import issued

    for tag in shop.journals.tags():
        for one in issued(shop, tag):
            if one.digest == digest:
                return (
                    f"issued by this shop for {tag}: {one.paper} for the {one.reader}, entered on "
                    f"{one.at[:10]} by {one.by}. {one.standing}"
                )
    return ""


def worst(found: Iterable[Verdict]) -> Verdict:
    """The weakest of several verdicts."""
    order = (Verdict.SOUND, Verdict.CANNOT_DECIDE, Verdict.BROKEN)
    return max(found, key=order.index, default=Verdict.CANNOT_DECIDE)


def paper_verified(data: bytes, name: str, known: Known) -> Verified:
    """Check a paper: its signature, and what travels inside.

    Raises
    ------
    InputError
        It is no PDF that can be read, and no signature says that it was one.
    """
    from heelstamp.report.attached import attached_files

    signed = _signed(data, known)
    if signed.verdict is Verdict.BROKEN:
        return replace(signed, name=name)
    files = attached_files(data, name)
    trusted = signed.verdict is Verdict.SOUND
    inside = _inside(files, known.head, trusted=trusted)
    limits = (*signed.limits, *inside.limits, LATER_UNKNOWN)
    verdict = worst((signed.verdict, inside.verdict))
    return Verified(name, verdict, (*signed.findings, *inside.findings), limits)


def _signed(data: bytes, known: Known, container: bytes | None = None) -> Verified:
    """The signature over a file, or over *data* where it lies beside as *container*."""
    from heelstamp.archive.signed import UNSIGNED, SignatureFault, read_detached, read_signature

    try:
        found = read_signature(data) if container is None else read_detached(data, container)
    except SignatureFault as fault:
        if fault.code == UNSIGNED:
            return Verified("", Verdict.CANNOT_DECIDE, (), (NOT_SIGNED,))
        return Verified("", Verdict.BROKEN, (f"{fault.message} ({fault.code})",))
    key = f"the key {found.fingerprint}, whose holder calls itself “{found.name}”"
    told = [f"signed as a whole, and unchanged since, with {key}"]
    if found.stamped:
        told.append(
            f"stamped at {found.stamped} by {found.authority}; whether that authority is to be "
            "trusted is not looked at"
        )
    if not known.keys:
        return Verified("", Verdict.CANNOT_DECIDE, tuple(told), (KEY_UNKNOWN,))
    whose = known.keys.get(found.fingerprint)
    if whose is None:
        told.append("that is none of the keys given")
        return Verified("", Verdict.BROKEN, tuple(told))
    return Verified("", Verdict.SOUND, (*told, f"that is {whose}"))


def _inside(files: Mapping[str, bytes], head: str | None, *, trusted: bool) -> Verified:
    """What travels in a paper; *trusted* where a known key signed all of it."""
    from heelstamp.archive.extracted import verify_extracted
    from heelstamp.archive.issued import verify_copy

    if COPY in files:
        others = {name: data for name, data in files.items() if name != COPY}
        proof = verify_copy(files[COPY], others, head=head)
        if proof.verdict is Verdict.BROKEN:
            return Verified("", Verdict.BROKEN, (f"{proof.code}: {proof.message}",))
        told = f"the files inside are those of entry {proof.digest} of the shop's journal"
        if proof.verdict is Verdict.SOUND or trusted:
            return Verified("", Verdict.SOUND, (told,))
        return Verified("", proof.verdict, (told,), (f"{_sentence(proof.message)}: give --last.",))
    if JOURNAL in files:
        report = verify_extracted(files[JOURNAL])
        count = f"the journal inside has {report.length} entries and is {report.verdict.said}"
        return Verified("", report.verdict, (count, *told_of(report)))
    return Verified("", Verdict.SOUND, ())


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


def _copy(path: Path, known: Known) -> Verified:
    from heelstamp.shop.copies import verify_issued

    proof = verify_issued(path, head=known.head)
    said = f"{proof.code}: {proof.message}" if proof.code else f"entry {proof.digest}"
    return Verified(path.name, proof.verdict, (said,), (LATER_UNKNOWN,))


def _journal(data: bytes, name: str, head: str | None) -> Verified:
    from heelstamp.archive.extracted import verify_extracted

    report = verify_extracted(data, head=head)
    limits = () if head else (CANNOT_TELL,)
    return Verified(name, report.verdict, tuple(told_of(report)), limits)


def _pack(path: Path, known: Known) -> tuple[Verified, ...]:
    from heelstamp.archive.bag import PAYLOAD, TAG_MANIFEST
    from heelstamp.errors import InputError
    from heelstamp.shop.bag import SIGNATURE, bag_faults, reading_bag, text_in

    with reading_bag(path) as bag:
        try:
            faults = bag_faults(bag)
        except InputError as error:
            raise error.at(path.name) from None
        if faults:
            told = tuple(f"{one} {wrong}" for one, wrong in faults)
            return (Verified(path.name, Verdict.BROKEN, told),)
        names = sorted(bag.names())
        count = sum(one.startswith(PAYLOAD) for one in names)
        whole = Verified("", Verdict.SOUND, (f"{count} files, each as it was listed, none added",))
        if SIGNATURE in names:
            signed = _signed(text_in(bag, TAG_MANIFEST), known, text_in(bag, SIGNATURE))
        else:
            signed = Verified("", Verdict.CANNOT_DECIDE, (), ("Its list is not signed.",))
        inside = tuple(one for name in names for one in _part(bag, name, known))
        own = Verified(
            path.name,
            worst((whole.verdict, signed.verdict)),
            (*whole.findings, *signed.findings),
            signed.limits,
        )
        return own, *inside


def _part(bag: BagFiles, name: str, known: Known) -> Iterable[Verified]:
    """Journals, copies and papers within a pack."""
    from heelstamp.archive.bag import PAYLOAD
    from heelstamp.archive.extracted import verify_extracted
    from heelstamp.archive.issued import verify_copy
    from heelstamp.shop.bag import text_in

    inside = PurePosixPath(name.removeprefix(PAYLOAD))
    if inside.name == "journal.jsonl":
        report = verify_extracted(text_in(bag, name))
        yield Verified(str(inside), report.verdict, tuple(told_of(report)), (CANNOT_TELL,))
    elif inside.suffix == ".pdf" and "papers" in inside.parts:
        yield paper_verified(text_in(bag, name), str(inside), known)
    elif inside.name == COPY:
        beside = name.removesuffix(COPY)
        files = {
            one.removeprefix(beside): text_in(bag, one)
            for one in bag.names()
            if one.startswith(beside) and "/" not in one.removeprefix(beside) and one != name
        }
        proof = verify_copy(text_in(bag, name), files, head=known.head)
        said = f"{proof.code}: {proof.message}" if proof.code else f"entry {proof.digest}"
        verdict = proof.verdict
        if verdict is Verdict.CANNOT_DECIDE and proof.code == "no head":
            verdict, said = Verdict.SOUND, f"the files beside it are those of entry {proof.digest}"
        yield Verified(str(inside), verdict, (said,))
