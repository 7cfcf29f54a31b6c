"""Webhooks: other programs are told that a dossier grew, signed, without what was entered.

A message says which dossier and how many entries it has now; what was entered is asked for by the
JSON API with a token, so that an address alone gives nothing away. Headers and signature are those
of the Standard Webhooks specification 1.0.0 (open specification; from memory, and read back in the
tests by its published verifier): HMAC-SHA256 over ``id.timestamp.body``. Whoever receives one
refuses a time more than five minutes from its own clock, and an id that it has had.

A machine that sends where it is told can be made to knock on doors of its own network (CWE-918).
So an address is looked up once, each address that comes back must be one of the public network,
and the connection goes to the one that was looked at. Private networks are reached only where the
owner of the shop allowed it on the machine itself; link-local addresses, where machines keep their
own credentials, never.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import ipaddress
import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple
from urllib.parse import urlsplit

from heelstamp.casework.sharing.accounts import NAME_MAX
from heelstamp.errors import InputError

CHANGED = "dossier.changed"
"""The one kind of message: a dossier was opened, or entries were made in it."""
SECRET_PREFIX, SECRET_BYTES = "whsec_", 32
ADDRESS_MOST = 500
BACK_OFF = tuple(
    timedelta(seconds=one) for one in (5, 300, 1800, 7200, 18_000, 36_000, 50_400, 72_000, 86_400)
)
"""Pauses after each failure, as the specification proposes; after the last it is stopped."""
LONGEST_ASKED = timedelta(days=1)
"""The longest pause that a receiver may ask for (Retry-After)."""

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
_TRANSLATED = ipaddress.ip_network("64:ff9b::/96")  # RFC 6052, 2.1: an IPv4 address within


class RefusedAddressError(InputError):
    """An address that nothing is sent to."""


@dataclass(frozen=True, slots=True)
class Webhook:
    """Where messages go.

    Attributes
    ----------
    id, name
        Its own; and what the shop calls the program.
    secret
        What messages are signed with; shown once.
    private
        Whether it may be an address of a private network.
    made
        When it was made.
    tries
        Failures in a row.
    since
        When the first of them was; None while none is.
    after
        Before this nothing is sent; None where nothing stands against it.
    error
        What the last failure was; empty after a success.
    stopped
        Whether nothing is sent until a person says so again.
    waiting
        Dossiers that it has not been told of yet.
    """

    id: str
    name: str
    url: str
    secret: str
    private: bool
    made: datetime
    tries: int = 0
    since: datetime | None = None
    after: datetime | None = None
    error: str = ""
    stopped: bool = False
    waiting: int = 0


class Message(NamedTuple):
    """One message: the same id whenever it is sent again."""

    id: str
    body: bytes


def check_url(url: str, *, private: bool) -> str:
    """Hold an address to what can be sent to.

    Raises
    ------
    InputError
        It is none, is not encrypted, or holds a name and password.
    """
    schemes = ("https", "http") if private else ("https",)
    parts = urlsplit(url) if url.isascii() and url.isprintable() and " " not in url else None
    try:
        good = parts is not None and parts.scheme in schemes and parts.hostname and parts.port != 0
    except ValueError:  # a port that is none
        good = False
    if parts is None or not good or len(url) > ADDRESS_MOST:
        raise InputError(
            "not an address that messages can be sent to",
            where="address",
            received=ascii(url[:ADDRESS_MOST]),
            remedy="Give one as https://books.example/hooks; an unencrypted one only where a "
            "private network is allowed.",
        )
    if parts.username is not None or parts.fragment:
        raise InputError(
            "an address of a webhook holds no name, password or fragment",
            where="address",
            received=parts.hostname,
            remedy="Leave out what stands before @ and after #; messages are signed.",
        )
    return url


def new_webhook(
    id_: str, secret: bytes, name: str, url: str, *, private: bool, at: datetime
) -> Webhook:
    """Make a webhook.

    Raises
    ------
    InputError
        A name or an address that cannot be used.
    """
    named = name.strip()
    if not named or len(named) > NAME_MAX or not named.isprintable():
        raise InputError(
            "a webhook is named by what receives it, in plain text",
            where="name",
            received=ascii(name[:NAME_MAX]),
            remedy=f"Use 1 to {NAME_MAX} characters, as bookkeeping.",
        )
    told = SECRET_PREFIX + base64.b64encode(secret).decode()
    return Webhook(id_, named, check_url(url.strip(), private=private), told, private, at)


def message_of(webhook: str, tag: str, length: int, at: datetime) -> Message:
    """The message that a dossier has *length* entries; *at* is when it was found so.

    The id follows from webhook, dossier and length: what is sent again has the same.
    """
    told = f"{webhook}\n{tag}\n{length}".encode()
    body = {
        "type": CHANGED,
        "timestamp": at.isoformat(timespec="seconds").replace("+00:00", "Z"),
        "data": {"tag": tag, "entries": length},
    }
    text = json.dumps(body, separators=(",", ":"), ensure_ascii=False).encode()
    return Message(f"msg_{hashlib.sha256(told).hexdigest()[:32]}", text)


def signed_headers(secret: str, message: Message, at: datetime) -> dict[str, str]:
    """Headers of a message sent at a time: its id, the time in whole seconds, the signature."""
    stamp = str(int(at.timestamp()))
    told = b".".join((message.id.encode(), stamp.encode(), message.body))
    try:
        key = base64.b64decode(secret.removeprefix(SECRET_PREFIX), validate=True)
    except binascii.Error:
        raise InputError("not the secret of a webhook", where="webhook") from None
    signature = base64.b64encode(hmac.new(key, told, hashlib.sha256).digest()).decode()
    return {
        "content-type": "application/json",
        "webhook-id": message.id,
        "webhook-timestamp": stamp,
        "webhook-signature": f"v1,{signature}",
    }


def pause_after(tries: int, asked: timedelta | None = None) -> timedelta | None:
    """How long to wait after so many failures in a row; None when it is to be stopped.

    Parameters
    ----------
    asked
        What the receiver asked for; the longer of both is kept, within `LONGEST_ASKED`.
    """
    if tries > len(BACK_OFF):
        return None
    pause = BACK_OFF[max(0, tries - 1)]
    return pause if asked is None else max(pause, min(asked, LONGEST_ASKED))


def chosen_address(host: str, found: Iterable[str], *, private: bool) -> str:
    """The address to connect to, of those that a name was looked up to.

    Raises
    ------
    RefusedAddressError
        One of them is not of the public network (and not of a private one that is allowed), or
        there is none: a name that leads to both would let the asker choose.
    """
    addresses = [ipaddress.ip_address(one.partition("%")[0]) for one in found]
    refused = [one for one in addresses if not may_reach(one, private=private)]
    if refused or not addresses:
        raise RefusedAddressError(
            "nothing is sent to an address of this machine's own network"
            if refused
            else "the name leads nowhere",
            where=host,
            remedy="Give an address of the public network; or, for a private one, add it on the "
            "shop's machine with --private."
            if refused
            else "Check the name.",
        )
    return str(addresses[0])


def may_reach(address: Address, *, private: bool) -> bool:
    """Whether an address may be sent to, looked at as what it leads to.

    Beside global ones (IANA's special-purpose registries, as Python's `ipaddress` knows them)
    *private* allows loopback, RFC 1918, RFC 4193 and RFC 6598.
    """
    if isinstance(address, ipaddress.IPv6Address):
        within = _within(address)
        if within is not None:
            return may_reach(within, private=private)
        if address.is_site_local:  # RFC 3879: no longer given out, and nobody's but one's own
            return False
    never = address.is_multicast or address.is_link_local or address.is_unspecified
    if never or (address.is_reserved and not address.is_loopback):
        return False
    return address.is_global or (private and _of_a_network(address))


def _of_a_network(address: Address) -> bool:
    nets = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "100.64.0.0/10", "fc00::/7")
    return address.is_loopback or any(address in ipaddress.ip_network(one) for one in nets)


def _within(address: ipaddress.IPv6Address) -> ipaddress.IPv4Address | None:
    """The IPv4 address that one of IPv6 leads to, where it only wraps one."""
    if address in _TRANSLATED:
        return ipaddress.IPv4Address(int(address) & 0xFFFFFFFF)
    teredo = address.teredo
    return address.ipv4_mapped or address.sixtofour or (teredo[1] if teredo else None)
