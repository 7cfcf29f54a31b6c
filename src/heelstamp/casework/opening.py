"""Opening a dossier: the next tag of the shop, and the instrument's entry from what was asked.

A tag is counted on from the newest one: its last run of figures, as wide as it stands there. What
the chronology knows of maker, model and kind is taken where nothing else was said.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from heelstamp.catalogue.conversion import nearest
from heelstamp.errors import InputError

FIRST_TAG = "H-0001"
TAG_MAX = 40
_NUMBERED = re.compile(r"^(.*?)([0-9]+)([^0-9]*)$")


@dataclass(frozen=True, slots=True)
class Known:
    """A chronology that can be asked.

    Attributes
    ----------
    invented
        Its maker never was: for trying, never for an instrument of the trade.
    """

    id: str
    kind: str
    maker: str
    model: str
    invented: bool

    @property
    def words(self) -> str:
        """Name it in a list."""
        return f"{self.maker} {self.model}" + (" (invented)" if self.invented else "")


def next_tag(newest: str | None, taken: Callable[[str], bool]) -> str:
    """The first free tag after *newest*; the first of all where there is none.

    Empty where the newest tag holds no figures or leaves no room: a person then names the next.
    """
    if newest is None:
        return FIRST_TAG
    parts = _NUMBERED.match(newest)
    if parts is None:
        return ""
    head, figures, tail = parts.groups()
    number = int(figures)
    while True:
        number += 1
        tag = f"{head}{number:0{len(figures)}d}{tail}"
        if len(tag) > TAG_MAX:
            return ""
        if not taken(tag):
            return tag


def instrument_body(
    known: tuple[Known, ...],
    *,
    chronology: str,
    tag: str,
    kind: str = "",
    maker: str = "",
    model: str = "",
    claimed: str = "",
) -> dict[str, Any]:
    """The instrument's entry.

    Raises
    ------
    InputError
        There is no such chronology, or what was said is no plain text.
    """
    asked = next((one for one in known if one.id == chronology), None)
    if asked is None:
        raise InputError(
            "not a chronology that this shop can ask",
            where="chronology",
            received=chronology,
            remedy=nearest(chronology, [one.id for one in known]),
        )
    for field, said in (("maker", maker), ("model", model), ("claimed", claimed)):
        if not said.strip().isprintable():
            raise InputError("not plain text", where=field, received=ascii(said))
    body = {
        "kind": kind.strip() or asked.kind,
        "maker": maker.strip() or asked.maker,
        "model": model.strip() or asked.model,
        "chronology": asked.id,
        "tag": tag.strip(),
    }
    if claimed.strip():
        body["claimed"] = claimed.strip()
    return body
