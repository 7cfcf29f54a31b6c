"""A machine on the shop's network: its address, the names it answers to, its certificate."""

from __future__ import annotations

import hashlib
import socket
import ssl
from collections.abc import Sequence
from ipaddress import ip_address
from pathlib import Path

from heelstamp.errors import InputError

ELSEWHERE = ("192.0.2.1", 9)
"""An address of RFC 5737, section 3, that nobody has; nothing is sent to it."""
HOST_NAME = frozenset("abcdefghijklmnopqrstuvwxyz0123456789-.")


def own_address() -> str:
    """The address by which this machine would leave for elsewhere; nothing is sent.

    Raises
    ------
    InputError
        It has none.
    """
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asked:
        try:
            asked.connect(ELSEWHERE)
            return str(asked.getsockname()[0])
        except OSError:
            raise InputError(
                "this machine is on no network",
                where="serve --share",
                remedy="Connect it, or give the address to listen on with --host.",
            ) from None


def shared_names(address: str, names: Sequence[str]) -> tuple[str, ...]:
    """The names by which browsers may call the bench, the one to show first.

    Parameters
    ----------
    address
        Address to listen on. All addresses at once (``0.0.0.0``, ``::``) stand for this machine's
        own one and its name.
    names
        Further names that the shop's network knows it by.

    Raises
    ------
    InputError
        No address, or no name that a host can have (RFC 1123, 2.1).
    """
    try:
        listens = ip_address(address)
    except ValueError:
        raise InputError(
            "not an address of this machine",
            where="--host",
            received=address,
            remedy="Give an address as 192.168.1.20; give names with --name.",
        ) from None
    told = [one.casefold().rstrip(".") for one in names]
    for one in told:
        if not one or set(one) - HOST_NAME:
            raise InputError("not the name of a host", where="--name", received=one)
    found = [str(listens)]
    if listens.is_unspecified:
        found = [own_address(), socket.gethostname().casefold(), "localhost", "127.0.0.1", "::1"]
    return tuple(dict.fromkeys([*told, *found]))


def fingerprint_of(certificate: Path, key: Path) -> str:
    """The SHA-256 of a certificate, in pairs of figures as browsers show it.

    Raises
    ------
    InputError
        Certificate or key cannot be read, or do not belong together.
    """
    try:
        ssl.create_default_context(ssl.Purpose.CLIENT_AUTH).load_cert_chain(certificate, key)
        text = certificate.read_text("ascii")
        first = text[text.index(ssl.PEM_HEADER) :].split(ssl.PEM_FOOTER)[0] + ssl.PEM_FOOTER + "\n"
        digest = hashlib.sha256(ssl.PEM_cert_to_DER_cert(first)).hexdigest().upper()
    except (OSError, ValueError) as error:
        raise InputError(
            "certificate and key cannot be used together",
            where=certificate.name,
            received=getattr(error, "reason", None) or error,
            remedy="Give a certificate and its key without a password, both as PEM.",
        ) from None
    return ":".join(digest[at : at + 2] for at in range(0, len(digest), 2))
