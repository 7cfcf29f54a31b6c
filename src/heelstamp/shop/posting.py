"""One message posted to an address that was looked at before the connection was made.

Nothing else of the machine is asked on the way: no proxy of its surroundings, no redirection, no
second look-up of the name between the look and the connection.
"""

from __future__ import annotations

import socket
import ssl
from collections.abc import Callable, Mapping
from http.client import HTTPConnection, HTTPException, HTTPSConnection
from typing import Any, NamedTuple
from urllib.parse import urlsplit

from heelstamp.casework.sharing.webhooks import chosen_address
from heelstamp.errors import StorageError

PATIENCE_S = 15.0
"""Seconds for each step of a connection, as the Standard Webhooks specification proposes."""
READ_MOST = 4096
"""Bytes of an answer that are read; nothing of it is kept."""
Connect = Callable[..., socket.socket]


class Answer(NamedTuple):
    """Status of an answer, and how many seconds it asks to wait."""

    status: int
    retry_after: int | None


def post(
    url: str,
    body: bytes,
    headers: Mapping[str, str],
    *,
    private: bool,
    context: ssl.SSLContext | None = None,
) -> Answer:
    """Post a body, and give the status that came back.

    Raises
    ------
    RefusedAddressError
        The name leads to an address that nothing is sent to.
    StorageError
        Nobody answered, or the connection was not trusted.
    """
    parts = urlsplit(url)
    host, secure = parts.hostname or "", parts.scheme == "https"
    port = parts.port or (443 if secure else 80)
    try:
        address = chosen_address(host, looked_up(host, port), private=private)
        connection = _connection(host, port, address, context if secure else None, secure=secure)
        try:
            path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
            told = {"user-agent": "heelstamp", "connection": "close", **headers}
            connection.request("POST", path, body, told)
            answer = connection.getresponse()
            answer.read(READ_MOST)
            return Answer(answer.status, _seconds(answer.getheader("retry-after")))
        finally:
            connection.close()
    except (OSError, HTTPException, ValueError) as error:
        raise StorageError(
            "the message did not arrive",
            where=host,
            received=getattr(error, "strerror", None) or str(error) or type(error).__name__,
            remedy="It is sent again.",
        ) from error


def looked_up(host: str, port: int) -> list[str]:
    """Every address that a name leads to, in the order of the machine's own preference."""
    found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    return list(dict.fromkeys(str(one[4][0]) for one in found))


def _connection(
    host: str, port: int, address: str, context: ssl.SSLContext | None, *, secure: bool
) -> HTTPConnection:
    """A connection that goes to *address* and is held to the certificate of *host*."""
    made: HTTPConnection
    if secure:
        trusted = context or ssl.create_default_context()
        made = HTTPSConnection(host, port, timeout=PATIENCE_S, context=trusted)
    else:
        made = HTTPConnection(host, port, timeout=PATIENCE_S)

    def connect(_place: Any, *rest: Any, **named: Any) -> socket.socket:
        return socket.create_connection((address, port), *rest, **named)

    made._create_connection = connect  # type: ignore[attr-defined]  # noqa: SLF001
    return made


def _seconds(told: str | None) -> int | None:
    return int(told) if told is not None and told.isdecimal() and len(told) < 8 else None
