"""Papers signed by the shop, and what is known of a signature with the shop at hand.

Each paper that is issued is signed as a whole with the shop's key. Where ``shop.toml`` names a time
stamp authority, it is asked over HTTP (RFC 3161, 3.4) for a stamp over the signature: it learns a
digest and the time, nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import StorageError
from heelstamp.shop.settings import read_settings

if TYPE_CHECKING:
    from heelstamp.archive.signed import Signature
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.shop_key import ShopKey

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


def sign_page(shop: OpenShop, page: bytes) -> bytes:
    """Sign a page as a whole; errors as `sign_paper`."""
    from heelstamp.archive.signed import signed_data, signed_page

    key = key_of(shop)
    authority = read_settings(shop.folder).time_stamp_authority
    stamp = (lambda value: time_stamp(authority, value)) if authority else None
    return signed_page(page, lambda content: signed_data(content, key.certificate, key.sign, stamp))


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
    from heelstamp.archive.signed import UNSIGNED, SignatureFault, read_detached, read_signature
    from heelstamp.shop.bag import signature_in
    from heelstamp.shop.shop_key import known_keys

    try:
        beside = signature_in(pdf)
        found: Signature = read_detached(*beside) if beside else read_signature(pdf)
    except SignatureFault as fault:
        said = "not signed" if fault.code == UNSIGNED else f"the signature fails: {fault.message}"
        return SignState("", said)
    known = known_keys(folder).get(found.fingerprint)
    said = known.said() if known is not None else "a key that this shop does not know"
    return SignState(found.fingerprint, f"signed with {said}", found.stamped)
