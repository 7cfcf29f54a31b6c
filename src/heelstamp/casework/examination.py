"""The examination file: one instrument, everything seen, measured and done, in one document.

Schema ``heelstamp/examination/1``: a table ``[instrument]`` and arrays of the kinds of entry that
a journal has, with the same bodies. Reading one checks every body as a journal would, so that an
examination and a dossier mean the same; it has no times and no hands, and is not evidence of when
anything was written. Order within the file is free across kinds: entries are taken in the order
of `ORDER`, in which whatever is referred to comes first.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.catalogue import (
    Body,
    DossierState,
    Folding,
    Instrument,
    PartsTree,
    body_data,
    parse_body,
)
from heelstamp.catalogue.conversion import nearest
from heelstamp.documents import Format, locate, parse_document
from heelstamp.errors import HeelstampError, InputError

EXAMINATION_SCHEMA = "heelstamp/examination/1"

ORDER = (
    "consent",
    "custody",
    "photograph",
    "recording",
    "contents",
    "statement",
    "observation",
    "measurement",
    "treatment",
    "screw",
    "decision",
)
"""Arrays of an examination file, in the order in which they enter a journal."""


@dataclass(frozen=True, slots=True)
class Examination:
    """An examination that was read.

    Attributes
    ----------
    entries
        Kind and body of each entry in journal order, the instrument's first; bodies as written.
    state
        What a dossier of these entries would hold.
    """

    instrument: Instrument
    entries: tuple[tuple[str, dict[str, Any]], ...]
    state: DossierState


def parse_examination(
    data: Mapping[str, Any],
    tree_for: Callable[[str], PartsTree],
    *,
    name: str = "examination",
    text: str | None = None,
) -> Examination:
    """Read an examination from plain values.

    Parameters
    ----------
    data
        The document, as TOML or JSON gives it.
    tree_for
        Gives the parts tree of a kind of instrument.
    name
        File named in errors.
    text
        The document's text; with it, errors name the line.

    Raises
    ------
    InputError
        Names the file, the line, the entry by number and id, and the field.
    ConflictError
        Custody or consent do not fit what was done.
    """
    _check_top(data, name, text)
    instrument = data["instrument"]
    try:
        parsed = parse_body("instrument", instrument, where="instrument")
        assert isinstance(parsed, Instrument)
        folding = Folding(tree_for(parsed.kind))
        folding.add("instrument", instrument, where="instrument")
    except HeelstampError as error:
        raise _placed(error, name, text, "instrument", None) from None
    entries: list[tuple[str, dict[str, Any]]] = [("instrument", dict(instrument))]
    for kind in ORDER:
        for index, body in enumerate(data.get(kind, ())):
            try:
                folding.add(kind, body, where=_entry_name(kind, index, body))
            except HeelstampError as error:
                raise _placed(error, name, text, kind, index) from None
            entries.append((kind, dict(body)))
    return Examination(parsed, tuple(entries), folding.state)


def read_examination(
    text: str, form: Format, tree_for: Callable[[str], PartsTree], *, name: str
) -> Examination:
    """Read an examination from the text of a file; see `parse_examination`."""
    data = parse_document(text, name, form)
    return parse_examination(data, tree_for, name=name, text=text)


def examination_data(state: DossierState) -> dict[str, Any]:
    """Give what stands in a dossier as an examination file's plain values."""
    standing: dict[str, Any] = {
        "schema": EXAMINATION_SCHEMA,
        "instrument": body_data(state.instrument),
    }
    sources: dict[str, Mapping[str, Body]] = {
        "consent": state.consents,
        "custody": state.custody,
        "photograph": state.photographs,
        "recording": state.recordings,
        "contents": state.contents,
        "statement": state.statements,
        "observation": state.observations,
        "measurement": state.measurements,
        "treatment": state.treatments,
        "screw": state.screws,
        "decision": state.decisions,
    }
    for kind in ORDER:
        if sources[kind]:
            standing[kind] = [body_data(body) for body in sources[kind].values()]
    return standing


def _check_top(data: Mapping[str, Any], name: str, text: str | None) -> None:
    schema = data.get("schema")
    if schema != EXAMINATION_SCHEMA:
        raise _placed(
            InputError(
                "no schema named" if schema is None else "a schema this program does not read",
                where="field schema",
                received=schema,
                remedy=f'Write schema = "{EXAMINATION_SCHEMA}" at the top.',
            ),
            name,
            text,
            "",
            None,
        )
    known = {"schema", "instrument", *ORDER}
    for key, value in data.items():
        if key not in known:
            raise _placed(
                InputError("unknown table", received=key, remedy=nearest(key, known)),
                name,
                text,
                key,
                0 if isinstance(value, list) else None,
            )
        if key in ORDER and not isinstance(value, list):
            raise _placed(
                InputError(
                    f"{key} is not a list of entries",
                    received=value,
                    remedy=f"Write [[{key}]] in TOML, a list in JSON.",
                ),
                name,
                text,
                key,
                None,
            )
    if "instrument" not in data:
        raise InputError(
            "no instrument", where=name, remedy="Add [instrument] with kind, maker and model."
        )


def _entry_name(kind: str, index: int, body: object) -> str:
    id_ = body.get("id") if isinstance(body, Mapping) else None
    number = f"{kind} {index + 1}"
    return f'{number} (id "{id_}")' if id_ is not None else number


def _placed(
    error: HeelstampError, name: str, text: str | None, table: str, index: int | None
) -> HeelstampError:
    """Give *error* with file, and line where the text is known, in front of its place."""
    line = None
    if text is not None:
        field = error.where.rpartition("field ")[2] if "field " in error.where else ""
        key = field.split(".")[0].split("[")[0] or None
        line = locate(text, table, index, key)
    return error.at(f"{name}, line {line}" if line is not None else name)
