"""Kind and body of an entry of form 1 into today's, or the reason why not."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

import msgspec

from heelstamp.catalogue.bodies.report import Unconverted
from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.catalogue.entries import (
    INSTRUMENT_ID,
    LONG_TEXTS,
    Body,
    body_data,
    kind_of,
    parse_body,
)
from heelstamp.catalogue.form1.decisions import convert_decision
from heelstamp.catalogue.form1.measurements import convert_measurement
from heelstamp.catalogue.form1.records import KINDS_1, RECORDS
from heelstamp.catalogue.form1.words import NotConvertedError, cut_made
from heelstamp.catalogue.form1.work import convert_recording, convert_treatment
from heelstamp.errors import HeelstampError, InputError

Plain = dict[str, Any]
_GLOW = "glow"
_PLACES = re.compile(r"Differs in (\d+) places?:")
_EVEN = "Even (cohesive)"
_TYPED = re.compile(r"(?:length )?typed as (.+)")


def convert_form1(
    kind: str, data: object, *, where: str = "", kept: bool = False
) -> Body | Unconverted:
    """Read the body of an entry of form 1 as a body of today.

    Parameters
    ----------
    kind, data
        Kind of form 1, and the body as it was written. A correction's replacement is left as it
        is: what it replaces decides its kind.
    kept
        The entry stands in a journal already: its text is taken as it is.

    Raises
    ------
    InputError
        It was no body of form 1 either.
    """
    if kind not in KINDS_1:
        raise InputError(
            "no such kind of entry", where=where, received=kind, remedy=nearest(kind, KINDS_1)
        )
    record = RECORDS.get(kind)
    if record is None:
        written = body_data(parse_body(kind, data, where=where, kept=kept))
    else:
        written = msgspec.to_builtins(
            convert(data, record, where=where, lines=LONG_TEXTS, kept=kept)
        )
        if kind == "measurement":
            _parse_free(written, where)
    try:
        return parse_body(*_converted(kind, dict(written)), where=where, kept=True)
    except NotConvertedError as error:
        reason = error.what
    except HeelstampError as error:
        reason = str(error)
    return Unconverted(
        id=str(written.get("id", INSTRUMENT_ID)), kind=kind, body=written, reason=reason
    )


def typed(kind: str, data: Mapping[str, Any]) -> tuple[str, Plain] | None:
    """Kind and body of today for words that form 1 would have read back; None for others.

    For a body of today that a person writes in the words of form 1, such as a measurement with
    the quantity ``relief at the 8th fret`` or a decision about ``grade``.
    """
    record = RECORDS.get(kind)
    if record is None or set(data) - set(record.__struct_fields__):
        return None
    try:
        body = convert_form1(kind, dict(data))
    except HeelstampError:
        return None
    if isinstance(body, Unconverted):
        return None
    if kind_of(body) == kind:
        today = parse_body(kind, dict(data))
        if all(getattr(body, name) == getattr(today, name) for name in data):
            return None
    return kind_of(body), body_data(body)


def _parse_free(written: Plain, where: str) -> None:
    """Refuse a value that no form takes, whatever its quantity."""
    parse_body("measurement", {**written, "quantity": "a quantity"}, where=where, kept=True)


def _converted(kind: str, written: Plain) -> tuple[str, Plain]:
    cut_made(written)
    converter = _CONVERTERS.get(kind)
    return (kind, written) if converter is None else converter(written)


def _convert_observation(written: Plain) -> tuple[str, Plain]:
    if written.get("sign") == _GLOW and written["status"] == "read":
        note = written.get("note", "")
        if (found := _PLACES.match(note)) is not None:
            written["places"] = int(found[1])
        elif note.startswith(_EVEN):
            written["places"] = 0
    return "observation", written


def _convert_screw(written: Plain) -> tuple[str, Plain]:
    found = _TYPED.fullmatch(written.get("note", ""))
    if found is not None:
        written |= {"typed": found[1], "note": ""}
    return "screw", written


_CONVERTERS: dict[str, Callable[[Plain], tuple[str, Plain]]] = {
    "measurement": convert_measurement,
    "treatment": convert_treatment,
    "recording": convert_recording,
    "decision": convert_decision,
    "observation": _convert_observation,
    "screw": _convert_screw,
}
