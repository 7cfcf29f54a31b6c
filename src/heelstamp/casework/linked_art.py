"""What a report says, as Linked Art: JSON-LD over CIDOC-CRM, for other collections' programs.

Made of the report's document alone, already cut to its reader: the same words, numbers and masks.
The terms are those of the profile (linked.art, model 1.0, an instrument as ``HumanMadeObject``).
They stand in the file itself, so that any processor of JSON-LD 1.1 reads it without a network, also
when that address is gone. A range is written with both of its ends and the sentence that says what
it holds: it bounds nothing for certain. Identifiers are UUIDs by name (RFC 9562, 5.5), since a shop
has no address of its own; pictures are named by their path beside the file.
"""

from __future__ import annotations

import calendar
from collections.abc import Iterable, Mapping
from typing import Any
from urllib.parse import quote
from uuid import NAMESPACE_OID, UUID, uuid5

from heelstamp.casework.papers.document import ReportDocument
from heelstamp.casework.papers.document_rows import Timeline
from heelstamp.units import Month

CRM = "http://www.cidoc-crm.org/cidoc-crm/"
_SET = {"@type": "@id", "@container": "@set"}
CONTEXT: dict[str, Any] = {
    "@version": 1.1,
    "crm": CRM,
    "la": "https://linked.art/ns/terms/",
    "dig": "http://www.ics.forth.gr/isl/CRMdig/",
    "rdfs": "http://www.w3.org/2000/01/rdf-schema#",
    "dc": "http://purl.org/dc/elements/1.1/",
    "xsd": "http://www.w3.org/2001/XMLSchema#",
    "id": "@id",
    "type": "@type",
    "HumanMadeObject": "crm:E22_Human-Made_Object",
    "Production": "crm:E12_Production",
    "TimeSpan": "crm:E52_Time-Span",
    "Name": "crm:E33_E41_Linguistic_Appellation",
    "Identifier": "crm:E42_Identifier",
    "LinguisticObject": "crm:E33_Linguistic_Object",
    "VisualItem": "crm:E36_Visual_Item",
    "DigitalObject": "dig:D1_Digital_Object",
    "Group": "crm:E74_Group",
    "Type": "crm:E55_Type",
    "_label": {"@id": "rdfs:label"},
    "content": {"@id": "crm:P190_has_symbolic_content"},
    "format": {"@id": "dc:format"},
    "identified_by": {"@id": "crm:P1_is_identified_by", **_SET},
    "classified_as": {"@id": "crm:P2_has_type", **_SET},
    "referred_to_by": {"@id": "crm:P67i_is_referred_to_by", **_SET},
    "produced_by": {"@id": "crm:P108i_was_produced_by", "@type": "@id"},
    "carried_out_by": {"@id": "crm:P14_carried_out_by", **_SET},
    "timespan": {"@id": "crm:P4_has_time-span", "@type": "@id"},
    "begin_of_the_begin": {"@id": "crm:P82a_begin_of_the_begin", "@type": "xsd:dateTime"},
    "end_of_the_end": {"@id": "crm:P82b_end_of_the_end", "@type": "xsd:dateTime"},
    "part": {"@id": "crm:P46_is_composed_of", **_SET},
    "representation": {"@id": "crm:P138i_has_representation", **_SET},
    "digitally_shown_by": {"@id": "la:digitally_shown_by", **_SET},
    "access_point": {"@id": "la:access_point", **_SET},
}
"""Terms of the profile that are used here, as its published context maps them."""
PREFERRED, UNIQUE = (
    {"id": "http://vocab.getty.edu/aat/300404670", "type": "Type", "_label": "Primary Name"},
    {"id": "http://vocab.getty.edu/aat/300404012", "type": "Type", "_label": "Unique Identifier"},
)


def linked_art(document: ReportDocument, *, shop: str, paths: Mapping[str, str]) -> dict[str, Any]:
    """Describe the instrument of a report.

    Parameters
    ----------
    document
        What its reader is told.
    shop
        Name of the shop, which with its tag makes the identifier.
    paths
        Where each photograph lies, by frame; one without is left out.
    """
    space = uuid5(NAMESPACE_OID, f"heelstamp/{shop}/{document.tag}")
    about = dict.fromkeys(
        statement.text
        for group in (document.conclusions, document.condition, document.seen, document.measured)
        for statement in group
    )
    identifiers = [
        {"type": "Name", "classified_as": [PREFERRED], "content": document.title},
        {"type": "Identifier", "classified_as": [UNIQUE], "content": document.tag},
    ]
    serial = dict(document.identity).get("Serial", "")
    if serial and serial != "none read":
        identifiers.append({"type": "Identifier", "_label": "Serial number", "content": serial})
    described: dict[str, Any] = {
        "@context": CONTEXT,
        "id": _urn(space),
        "type": "HumanMadeObject",
        "_label": f"{document.title}, {document.subtitle}",
        "identified_by": identifiers,
        "referred_to_by": [_said(one) for one in about],
        "part": list(_parts(document, space)),
        "representation": list(_pictures(document, paths)),
    }
    if document.banner:
        described["referred_to_by"].insert(0, _said(document.banner))
    if document.timeline is not None:
        described["produced_by"] = _production(document, document.timeline)
    return described


def _urn(name: UUID) -> str:
    return f"urn:uuid:{name}"


def _said(text: str) -> dict[str, Any]:
    return {"type": "LinguisticObject", "content": text}


def _production(document: ReportDocument, timeline: Timeline) -> dict[str, Any]:
    first, last = timeline.interval_90.first, timeline.interval_90.last
    held = ". ".join(filter(None, (document.headline, document.headline_note)))
    return {
        "type": "Production",
        "_label": "Completion",
        "timespan": {
            "type": "TimeSpan",
            "_label": "90 % range of completion",
            "begin_of_the_begin": f"{_month(first)}-01T00:00:00Z",
            "end_of_the_end": f"{_month(last)}-{_days(last):02}T23:59:59Z",
            "referred_to_by": [_said(held)],
        },
        "carried_out_by": [{"type": "Group", "_label": document.subtitle.split(",")[0]}],
    }


def _month(month: Month) -> str:
    return f"{month // 12:04}-{month % 12 + 1:02}"


def _days(month: Month) -> int:
    return calendar.monthrange(month // 12, month % 12 + 1)[1]


def _parts(document: ReportDocument, space: UUID) -> Iterable[dict[str, Any]]:
    said = {one.id: one.text for one in document.part_statements}
    for row in document.parts:
        text = said.get(f"part:{row.key}") or f"{row.label}: {row.said}"
        yield {
            "id": _urn(uuid5(space, row.key)),
            "type": "HumanMadeObject",
            "_label": row.label,
            "referred_to_by": [_said(text)],
        }


def _pictures(document: ReportDocument, paths: Mapping[str, str]) -> Iterable[dict[str, Any]]:
    for one in document.pictures:
        if one.frame not in paths:
            continue
        path = paths[one.frame]
        shown: dict[str, Any] = {
            "type": "DigitalObject",
            "_label": one.caption,
            "access_point": [{"id": quote(path), "type": "DigitalObject"}],
        }
        if path.lower().endswith((".jpg", ".jpeg")):
            shown["format"] = "image/jpeg"
        yield {"type": "VisualItem", "_label": one.alt, "digitally_shown_by": [shown]}
