"""Papers signed by the shop, and what is known of a signature with the shop at hand.

Each paper that is issued is signed as a whole with the shop's key. Where ``shop.toml`` names a time
stamp authority, it is asked over HTTP (RFC 3161, 3.4) for a stamp over the signature: it learns a
digest and the time, nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import StorageError
from heelstamp.shop.folder import read_settings

if TYPE_CHECKING:
    from heelstamp.archive.signed import Signature
    from heelstamp.shop.handed_out import Known
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.shop_key import ShopKey
    from heelstamp.shop.verification import Verified

PATIENCE_S = 20
ANSWER_MAX = 64_000
"""Bytes of an authority's answer: a token with its certificates has some 6,000."""


@dataclass(frozen=True, slots=True)
class SignState:
    """How an issued paper is signed, for who has the shop.

    Attributes
    ----------
    fingerprint
        Of the key; empty where the paper is not signed.
    said
        Whose key it is, or that there is no signature, or what is wrong with it.
    stamped
        UTC time of a time stamp; empty without one.
    """

    fingerprint: str
    said: str
    stamped: str = ""


def key_of(shop: OpenShop) -> ShopKey:
    """The shop's key, made where there is none; errors as `heelstamp.shop.shop_key.shop_key`."""
    from heelstamp.shop.shop_key import FOLDER, SECRET, shop_key

    def read() -> ShopKey:
        return shop_key(shop.folder, shop.name, passphrase=passphrase())

    secret = shop.folder / FOLDER / SECRET
    stamp = secret.stat().st_mtime_ns if secret.exists() else 0
    return shop.made_once(("key", stamp), read) if stamp else read()


def passphrase() -> str:
    """The passphrase of the shop's key, from the file that the environment names; else empty."""
    import os

    from heelstamp.shop.sealing import read_passphrase
    from heelstamp.shop.shop_key import PASSPHRASE_FILE

    named = os.environ.get(PASSPHRASE_FILE, "")
    return read_passphrase(Path(named)) if named else ""


def sign_paper(shop: OpenShop, pdf: bytes, *, day: str) -> bytes:
    """Sign a paper of *day* as a whole.

    Raises
    ------
    InputError
        The key cannot be used.
    StorageError
        The time stamp authority that the shop names gave no stamp.
    """
    from heelstamp.archive.signed import signed_data
    from heelstamp.report.signing import ROOM, ROOM_STAMPED, signed_pdf

    key = key_of(shop)
    authority = read_settings(shop.folder).time_stamp_authority
    stamp = (lambda value: time_stamp(authority, value)) if authority else None
    return signed_pdf(
        pdf,
        lambda content: signed_data(content, key.certificate, key.sign, stamp),
        day=day,
        room=ROOM_STAMPED if authority else ROOM,
    )


def time_stamp(authority: str, value: bytes) -> bytes:
    """Ask the authority at an address for a time stamp over a signature's value.

    Raises
    ------
    StorageError
        It did not answer, refused, or its answer does not hold.
    """
    import secrets
    from http.client import HTTPException
    from urllib.request import Request, urlopen

    from heelstamp.archive.signed import SignatureFault, stamp_request, stamp_token

    nonce = secrets.randbits(64)
    asked = Request(  # noqa: S310 - the setting allows http and https alone
        authority,
        data=stamp_request(value, nonce),
        headers={"Content-Type": "application/timestamp-query"},
    )
    try:
        with urlopen(asked, timeout=PATIENCE_S) as answer:  # noqa: S310
            return stamp_token(answer.read(ANSWER_MAX), value, nonce)
    except (OSError, HTTPException, ValueError) as error:
        told = str(getattr(error, "reason", error))
    except SignatureFault as fault:
        told = fault.message
    raise StorageError(
        "no time stamp for this paper",
        where=authority,
        received=told,
        remedy="Issue it again; or take time_stamp_authority out of shop.toml, for papers "
        "without one.",
    )


def sign_state(shop: OpenShop, digest: str) -> SignState:
    """How a kept paper is signed; remembered."""
    from heelstamp.shop.shop_key import known_keys

    keys = known_keys(shop.folder)
    return shop.made_once(
        ("sign state", digest, tuple(keys)), lambda: _state(shop.folder, shop.files.get(digest))
    )


def _state(folder: Path, pdf: bytes) -> SignState:
    from heelstamp.archive.signed import UNSIGNED, SignatureFault, read_signature
    from heelstamp.shop.shop_key import known_keys

    try:
        found: Signature = read_signature(pdf)
    except SignatureFault as fault:
        said = "not signed" if fault.code == UNSIGNED else f"the signature fails: {fault.message}"
        return SignState("", said)
    known = known_keys(folder).get(found.fingerprint)
    said = known.said() if known is not None else "a key that this shop does not know"
    return SignState(found.fingerprint, f"signed with {said}", found.stamped)


def check_with_shop(folder: Path, path: Path, known: Known) -> tuple[Verified, ...]:
    """Check a file as `heelstamp.shop.handed_out.check_file` does, with the shop in *folder* at hand.

    The shop's keys are known then; a paper that it issued stands as such, byte for byte, with the
    version that supersedes it.

    Raises
    ------
    HeelstampError
        As `check_file` and `open_shop` do.
    """
    from heelstamp.archive import Verdict, sha256
    from heelstamp.shop.files import read_file
    from heelstamp.shop.handed_out import LATER_UNKNOWN, NOT_SIGNED, Known, check_file
    from heelstamp.shop.shop_key import known_keys

    own = {one.fingerprint: one.said() for one in known_keys(folder).values()}
    found = check_file(path, Known(known.head, {**own, **(known.keys or {})}))
    if path.is_dir() or not (data := read_file(path)).startswith(b"%PDF-"):
        return found
    standing = issued_anywhere(folder, sha256(data))
    (paper,) = found
    told = "no paper of this shop has these bytes" if standing is None else standing
    limits = tuple(one for one in paper.limits if one != LATER_UNKNOWN)
    verdict = paper.verdict
    if standing is not None:  # the kept digest covers every byte, also of one that is not signed
        limits = tuple(one for one in limits if one != NOT_SIGNED)
        verdict = Verdict.SOUND if verdict is Verdict.CANNOT_DECIDE else verdict
    return (replace(paper, verdict=verdict, findings=(*paper.findings, told), limits=limits),)


def issued_anywhere(folder: Path, digest: str) -> str | None:
    """Say as what a file of this digest was issued by the shop; None where it was not."""
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.reports import issued

    with OpenShop(folder) as shop:
        for tag in shop.journals.tags():
            for one in issued(shop, tag):
                if one.digest == digest:
                    return (
                        f"issued by this shop for {tag}: {one.paper} for the {one.reader}, entered "
                        f"on {one.at[:10]} by {one.by}. {one.standing}"
                    )
    return None
