"""A mail as a file (RFC 5322, MIME): its plain text and the pictures that hang on it, bounded.

Read by the standard library's parser. Nothing is run, no address is opened, no HTML is rendered:
what is only HTML is no text here. A name that a part gives itself is a name and no path.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from email.header import decode_header, make_header
from email.message import Message
from email.parser import BytesParser
from email.policy import compat32

from heelstamp.errors import InputError, LimitError

MOST_BYTES = 150_000_000
MOST_PARTS = 200
MOST_DELIMITERS = 2_000
"""Most lines that begin as those between parts do."""
MOST_DEPTH = 8
MOST_OF_FIELD = 2_000
"""Bytes of a header field with its folds: two lines of RFC 5322, section 2.1.1."""

MOST_TEXT = 200_000
_CONTENT_FIELD = re.compile(rb"^content-[^\n]*(?:\n[ \t][^\n]*)*", re.IGNORECASE | re.MULTILINE)
"""The fields that are taken apart, as they may begin a part; how long that takes grows with the
square of their length."""
PICTURE_ENDINGS = (".jpg", ".jpeg", ".png", ".tif", ".tiff", ".heic", ".heif")


@dataclass(frozen=True, slots=True)
class Hung:
    """A file that hangs on a mail: its bytes, and the name that it gives itself."""

    data: bytes
    name: str


@dataclass(frozen=True, slots=True)
class Mail:
    """What a mail holds.

    Attributes
    ----------
    text
        Its plain text, all parts of it.
    pictures
        Attachments that say they are pictures, in their order.
    left
        Names of attachments that are none.
    """

    text: str
    pictures: tuple[Hung, ...]
    left: tuple[str, ...]


def read_mail(data: bytes, name: str) -> Mail:
    """Read a mail.

    Parameters
    ----------
    data, name
        The whole file, and what to call it in errors.

    Raises
    ------
    LimitError
        Too many bytes, parts, or parts within parts.
    InputError
        Not a mail: it has no header that every mail has.
    """
    if len(data) > MOST_BYTES:
        raise LimitError(
            "the mail is larger than one mail is given",
            where=name,
            received=f"{len(data)} bytes",
            remedy=f"At most {MOST_BYTES // 1_000_000} MB; save the pictures in a folder instead.",
        )
    if data.count(b"\n--") > MOST_DELIMITERS:
        raise _too_many(name)
    longest = max((len(one[0]) for one in _CONTENT_FIELD.finditer(data)), default=0)
    if longest > MOST_OF_FIELD:
        raise LimitError(
            "a header of the mail is longer than one is given",
            where=name,
            received=f"{longest} bytes",
            remedy="Save the pictures in a folder and name that.",
        )
    try:
        message = BytesParser(policy=compat32).parsebytes(data)
        named = {field.casefold() for field, _ in message.raw_items()}
        known = not named.isdisjoint({"from", "date", "subject", "mime-version"})
        read = _read(message, name) if known else None
    except (LimitError, MemoryError):
        raise
    except RecursionError:
        raise _too_many(name) from None
    except Exception as fault:  # noqa: BLE001 - the parser raises what it likes on what is no mail
        raise InputError(
            "the mail cannot be read",
            where=name,
            received=f"{type(fault).__name__}",
            remedy="Save the pictures in a folder and name that.",
        ) from None
    if read is None:
        raise InputError(
            "not a mail", where=name, remedy="Save it from the mail program as an .eml file."
        )
    return read


def _read(message: Message, name: str) -> Mail:
    texts: list[str] = []
    pictures: list[Hung] = []
    left: list[str] = []
    waiting: list[tuple[object, int]] = [(message, 0)]
    seen = 0
    while waiting:
        part, depth = waiting.pop(0)
        assert isinstance(part, Message)
        seen += 1
        if seen > MOST_PARTS or depth > MOST_DEPTH:
            raise _too_many(name)
        if part.is_multipart():
            waiting[:0] = [(one, depth + 1) for one in part.get_payload()]
            continue
        called = _plain_name(_words(part.get_filename() or ""))
        picture = part.get_content_maintype() == "image" or called.lower().endswith(PICTURE_ENDINGS)
        if picture:
            content = part.get_payload(decode=True)
            if isinstance(content, bytes) and content:
                pictures.append(Hung(content, called or f"picture {len(pictures) + 1}"))
        elif part.get_content_type() == "text/plain" and not called:
            texts.append(_text(part)[:MOST_TEXT])
        elif called:
            left.append(called)
    return Mail("\n".join(texts)[:MOST_TEXT], tuple(pictures), tuple(left))


def _text(part: Message) -> str:
    content = part.get_payload(decode=True)
    plain = content if isinstance(content, bytes) else b""
    try:
        return plain.decode(part.get_content_charset("utf-8"), "replace")
    except LookupError:  # no character set of this name
        return plain.decode("utf-8", "replace")


def _words(told: str) -> str:
    """Decode the words of a header (RFC 2047); what cannot be decoded stays as it is."""
    try:
        return str(make_header(decode_header(told)))
    except (ValueError, LookupError):
        return told


def _plain_name(told: str) -> str:
    last = told.replace("\\", "/").rpartition("/")[2]
    return "".join(one for one in last if one.isprintable()).strip()[-100:]


def _too_many(name: str) -> LimitError:
    return LimitError(
        "the mail has more parts than one mail is given",
        where=name,
        received=f"over {MOST_PARTS} parts, or parts within parts {MOST_DEPTH} deep",
        remedy="Save the pictures in a folder and name that.",
    )
