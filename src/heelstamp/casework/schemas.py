"""The published schemas of the examination file and of the journal, made from the types.

JSON Schema, draft 2020-12. Fields, types, ranges and allowed words come from the records of
`heelstamp.catalogue`; which fields belong to which kind of observation comes from its table
`CONTENT`. Those of examination 1 and of journal form 1 lie beside them as they were, and do not
change any more. A schema cannot say that ids are unique, that references lead somewhere, that a
month is not after another, or that custody follows its table: the program checks those.
"""

from __future__ import annotations

from typing import Any

import msgspec

from heelstamp.archive import FORM
from heelstamp.casework.examination import EXAMINATION_SCHEMA, ORDER
from heelstamp.catalogue import KINDS, Entry
from heelstamp.catalogue.bodies.observation import CONTENT
from heelstamp.catalogue.bodies.quantities import QUANTITIES
from heelstamp.catalogue.custody import EVENTS
from heelstamp.catalogue.journal import SEED_PATTERN

DRAFT = "https://json-schema.org/draft/2020-12/schema"
MONTH = {"type": "string", "pattern": r"^\d{4}-(0[1-9]|1[0-2])$"}


def examination_schema() -> dict[str, Any]:
    """The schema of an examination file."""
    definitions = _definitions()
    properties: dict[str, Any] = {
        "schema": {"const": EXAMINATION_SCHEMA},
        "instrument": _reference("instrument"),
    }
    properties |= {kind: {"type": "array", "items": _reference(kind)} for kind in ORDER}
    used = definitions.keys() - {"correction"}
    return {
        "$schema": DRAFT,
        "$id": "urn:heelstamp:examination:2",
        "title": "Heelstamp examination file",
        "description": "One instrument: everything seen, measured and done.",
        "type": "object",
        "properties": properties,
        "required": ["schema", "instrument"],
        "additionalProperties": False,
        "$defs": {name: definitions[name] for name in sorted(used)},
    }


def journal_schema() -> dict[str, Any]:
    """The schema of one line of a journal file."""
    definitions = _definitions()
    envelope = msgspec.json.schema(Entry)["$defs"]["Entry"]
    envelope["properties"] |= {
        "kind": {"enum": list(KINDS)},
        "form": {"const": FORM},
        "seed": {"type": "string", "pattern": SEED_PATTERN},
    }
    envelope.pop("description", None)
    return {
        "$schema": DRAFT,
        "$id": "urn:heelstamp:journal:2",
        "title": "One line of a Heelstamp journal, form 2",
        "description": "The digest is the root of a tree over the fields, each salted from the "
        "seed; previous is the digest of the line before. Lines of form 1 have neither form nor "
        "seed.",
        **envelope,
        "required": [*envelope["required"], "form", "seed"],
        "allOf": [
            {
                "if": {"properties": {"kind": {"const": kind}}},
                "then": {"properties": {"body": _reference(kind)}},
            }
            for kind in KINDS
        ],
        "$defs": dict(sorted(definitions.items())),
    }


def _reference(kind: str) -> dict[str, str]:
    return {"$ref": f"#/$defs/{kind}"}


def _definitions() -> dict[str, Any]:
    _, found = msgspec.json.schema_components(list(KINDS.values()), ref_template="#/$defs/{name}")
    names = {record.__name__: kind for kind, record in KINDS.items()}
    definitions: dict[str, Any] = {}
    for name, schema in found.items():
        schema.pop("title", None)
        if "description" in schema:
            schema["description"] = schema["description"].split("\n\n")[0].replace("\n", " ")
        definitions[names.get(name, name)] = schema
    _refine(definitions)
    return definitions


def _refine(definitions: dict[str, Any]) -> None:
    definitions["custody"]["properties"]["event"] = {"enum": list(EVENTS)}
    quantity = definitions["measurement"]["properties"]["quantity"]
    definitions["measurement"]["properties"]["quantity"] = {
        "description": "One of the words that the program reads back, or any other.",
        "anyOf": [{"enum": list(QUANTITIES)}, quantity],
    }
    observation = definitions["observation"]["properties"]
    for name in ("not_before", "not_after"):
        observation[name]["anyOf"] = [MONTH, {"type": "null"}]
    definitions["Reading"]["properties"]["period"]["anyOf"] = [
        MONTH,
        {"type": "array", "items": MONTH, "minItems": 2, "maxItems": 2},
        {"type": "null"},
    ]
    everything = {name for _, _, content in CONTENT.values() for name in content}
    subjects = {subject for subject, _, _ in CONTENT.values() if subject is not None}
    rules: list[dict[str, Any]] = []
    for kind, (subject, needed, content) in CONTENT.items():
        foreign = sorted((everything | subjects) - set(content) - {subject})
        then: dict[str, Any] = {"properties": dict.fromkeys(foreign, False)}
        if subject is not None:
            then["required"] = [subject]
        rules.append({"if": _observed(kind), "then": then})
        read = {"anyOf": [{"required": [name]} for name in needed]}
        silent = {"properties": dict.fromkeys(sorted(set(content) - {"lot"}), False)}
        status = {"properties": {"status": {"const": "read"}}}
        rules.append({"if": {"allOf": [_observed(kind), status]}, "then": read})
        rules.append({"if": {"allOf": [_observed(kind), {"not": status}]}, "then": silent})
    definitions["observation"]["allOf"] = rules


def _observed(kind: str) -> dict[str, Any]:
    return {"properties": {"kind": {"const": kind}}}
