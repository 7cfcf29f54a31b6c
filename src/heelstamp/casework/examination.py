"""The examination file: one instrument, everything seen, measured and done, in one document.

Schema ``heelstamp/examination/2``: a table ``[instrument]`` and arrays of the kinds of entry that
a journal has, with the same bodies. Reading one checks every body as a journal would, so that an
examination and a dossier mean the same; it has no times and no hands, and is not evidence of when
anything was written. Order within the file is free across kinds: entries are taken in the order
of `ORDER`, in which whatever is referred to comes first. A file of schema
``heelstamp/examination/1`` is read through the converter of `heelstamp.catalogue.form1`, as an old
journal is.
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
    Unconverted,
    body_data,
    kind_of,
    parse_body,
)
from heelstamp.catalogue.conversion import nearest
from heelstamp.documents import Format, locate, parse_document
from heelstamp.errors import HeelstampError, InputError

EXAMINATION_SCHEMA = "heelstamp/examination/2"
EXAMINATION_SCHEMA_1 = "heelstamp/examination/1"

ORDER = (
    "consent",
    "custody",
    "photograph",
    "recording",
    "contents",
    "statement",
    "observation",
    "pair_marks",
    "region",
    "border",
    "measurement",
    "treatment",
    "exposure",
    "screw",
    "string_set",
    "grade",
    "colour",
    "case_included",
    "changed_parts",
    "price",
    "terms",
    "title_search",
    "title_note",
    "near_number",
    "material",
    "materials_looked",
    "wording",
    "paper",
    "issue",
    "question",
    "return_verdict",
    "later_known",
    "decision",
)
"""Arrays of an examination file, in the order in which they enter a journal."""


@dataclass(frozen=True, slots=True)
class Examination:
    """An examination that was read.

    Attributes
    ----------
    entries
        Kind and body of each entry in journal order, the instrument's first; bodies as written,
        those of schema 1 as converted.
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
    form = _check_top(data, name, text)
    instrument = data["instrument"]
    try:
        parsed = parse_body("instrument", instrument, where="instrument")
        assert isinstance(parsed, Instrument)
        folding = Folding(tree_for(parsed.kind))
        folding.add("instrument", instrument, form=form, where="instrument")
    except HeelstampError as error:
        raise _placed(error, name, text, "instrument", None) from None
    entries: list[tuple[str, dict[str, Any]]] = [("instrument", dict(instrument))]
    for kind in ORDER:
        for index, body in enumerate(data.get(kind, ())):
            try:
                read = _taken(folding, kind, body, form, _entry_name(kind, index, body))
            except HeelstampError as error:
                raise _placed(error, name, text, kind, index) from None
            if form == 1 and not isinstance(read, Unconverted):
                entries.append((kind_of(read), body_data(read)))
            else:
                entries.append((kind, dict(body)))
    return Examination(parsed, tuple(entries), folding.state)


def _taken(folding: Folding, kind: str, body: object, form: int, where: str) -> Body | Unconverted:
    if form == 1:
        return folding.add(kind, body, form=1, where=where)
    return folding.enter(kind, body, where=where)


def read_examination(
    text: str, form: Format, tree_for: Callable[[str], PartsTree], *, name: str
) -> Examination:
    """Read an examination from the text of a file; see `parse_examination`."""
    data = parse_document(text, name, form)
    return parse_examination(data, tree_for, name=name, text=text)


def examination_data(state: DossierState) -> dict[str, Any]:
    """What stands in a dossier as an examination file's plain values."""
    told: dict[str, Any] = {"schema": EXAMINATION_SCHEMA, "instrument": body_data(state.instrument)}
    standing: dict[str, list[dict[str, object]]] = {}
    for body in state.bodies():
        standing.setdefault(kind_of(body), []).append(body_data(body))
    return told | {kind: standing[kind] for kind in ORDER if kind in standing}


def _check_top(data: Mapping[str, Any], name: str, text: str | None) -> int:
    """Check what stands at the top; return the form of the entries."""
    schema = data.get("schema")
    if schema not in (EXAMINATION_SCHEMA, EXAMINATION_SCHEMA_1):
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
    return 1 if schema == EXAMINATION_SCHEMA_1 else 2


def _entry_name(kind: str, index: int, body: object) -> str:
    id_ = body.get("id") if isinstance(body, Mapping) else None
    number = f"{kind} {index + 1}"
    return f'{number} (id "{id_}")' if id_ is not None else number


def _placed(
    error: HeelstampError, name: str, text: str | None, table: str, index: int | None
) -> HeelstampError:
    """*error* with file, and line where the text is known, in front of its place."""
    line = None
    if text is not None:
        field = error.where.rpartition("field ")[2] if "field " in error.where else ""
        key = field.split(".")[0].split("[")[0] or None
        line = locate(text, table, index, key)
    return error.at(f"{name}, line {line}" if line is not None else name)
