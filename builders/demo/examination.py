"""The same findings as an examination file: instrument, observations and a few measurements.

Writes the subset of TOML 1.0 that those bodies need: tables of strings, numbers and arrays of
them, and inline tables for weighted readings. A basic string of TOML escapes like one of JSON
for every character used here (TOML 1.0, "String").
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from typing import Any

from demo.telling import Entry

SCHEMA = "heelstamp/examination/2"
OUTSIDE = ("serial", "f01", "f02", "f03", "f05", "f07", "f10", "f12", "f13", "g2")
"""What is seen with nothing touched and the case left out: the outside-only range of the demo."""
MEASURED = (
    "m-weight-found",
    "m-capacitor",
    "m-shim",
    "m-relief-found",
    "m-relief-final",
    "m-relief-tone-down",
    "m-scale",
    "m-frets",
    "m-joint-fret",
    "m-pocket",
    "m-action-treble-found",
    "m-action-bass-found",
    "m-jack-full",
    "m-jack-sweep",
    "m-jack-bridge-full",
    "m-jack-bridge-sweep",
    "m-bridge-pickup",
)


def toml_value(value: Any) -> str:
    """Write one value."""
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml_value(one)}" for key, one in value.items()) + " }"
    if isinstance(value, list):
        if value and isinstance(value[0], dict):
            return "[\n" + "".join(f"  {toml_value(one)},\n" for one in value) + "]"
        return "[" + ", ".join(toml_value(one) for one in value) + "]"
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False)
    return repr(value)


def toml_table(header: str, body: dict[str, Any]) -> str:
    """Write one table; keys without a value (null, empty list, empty note) are left out."""
    lines = [header]
    lines += [
        f"{key} = {toml_value(one)}" for key, one in body.items() if one not in (None, [], "")
    ]
    return "\n".join(lines) + "\n"


def examination(
    title: str, entries: Iterable[Entry], only: tuple[str, ...] | None, measured: tuple[str, ...]
) -> str:
    """Write an examination file.

    Parameters
    ----------
    title
        Comment lines for the head of the file, without ``#``.
    entries
        The journal.
    only
        Observation ids to keep; None keeps all.
    measured
        Measurement ids to keep.
    """
    instrument: list[str] = []
    tables: list[str] = []
    for entry in entries:
        body = {key: one for key, one in entry["body"].items() if key != "frames"}
        if entry["kind"] == "instrument":
            instrument = [toml_table("[instrument]", body)]
        elif entry["kind"] == "observation" and (only is None or body["id"] in only):
            tables.append(toml_table("[[observation]]", body))
        elif entry["kind"] == "measurement" and body["id"] in measured:
            tables.append(toml_table("[[measurement]]", body))
    head = "".join(f"# {line}\n" for line in title.splitlines())
    return "\n".join([head + f'schema = "{SCHEMA}"\n', *instrument, *tables])
