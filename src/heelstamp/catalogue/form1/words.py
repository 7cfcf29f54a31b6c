"""What all converters share: the device's time taken out of a note, and why a body is left."""

from __future__ import annotations

import re
from contextlib import suppress
from typing import Any

from heelstamp.catalogue.bodies.base import parse_time
from heelstamp.errors import HeelstampError, InputError

_MADE = re.compile(r"(?:^|; )taken on the device at (\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ)$", re.ASCII)


class NotConvertedError(HeelstampError):
    """The words of a body of form 1 say something that today's fields cannot hold."""


def cut_made(written: dict[str, Any]) -> None:
    """Move the device's time from the end of note or reason to its field; *written* changes."""
    for field in ("note", "reason"):
        text = written.get(field, "")
        found = _MADE.search(text) if isinstance(text, str) else None
        if found is not None and _is_time(found[1]):
            written["made"] = found[1]
            rest = text[: found.start()].strip()
            written[field] = rest if rest or field == "note" else text


def _is_time(text: str) -> bool:
    """Tell whether it is a time of the calendar: a note may only look like it."""
    with suppress(InputError):
        return parse_time(text) is not None
    return False


def noted(*words: str) -> str:
    """Join notes that say something."""
    return "; ".join(one for one in (word.strip() for word in words) if one)
