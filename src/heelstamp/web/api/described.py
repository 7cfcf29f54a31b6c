"""The description of the API (OpenAPI 3.1): every answer typed, every refusal one component.

Findings are described by the types that they are computed in; nothing is written twice.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

import msgspec
from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from heelstamp.casework.appraisal.finding import PriceFinding
from heelstamp.casework.dating.finding import DateFinding
from heelstamp.casework.inspections.option import Plan
from heelstamp.casework.sharing.tokens import SCOPES
from heelstamp.web.permits import changes, least_role
from heelstamp.web.problems import PROBLEM, Problem

PLACE = "#/components/schemas/"
FOUND = (DateFinding, Plan, PriceFinding)
_TOLD = {"content": {PROBLEM: {"schema": {"$ref": f"{PLACE}Problem"}}}}
REFUSALS: dict[int | str, dict[str, Any]] = {
    401: {"description": "Nobody is signed in, or the token opens nothing", **_TOLD},
    403: {"description": "This account, or this token, may not do that", **_TOLD},
    404: {"description": "There is no such thing", **_TOLD},
    409: {"description": "It does not fit what stands", **_TOLD},
    413: {"description": "Too large", **_TOLD},
    422: {"description": "It cannot be read", **_TOLD},
    503: {"description": "The machine refused: the same may do later", **_TOLD},
}
SAID: Mapping[str, Any] = {
    "said": {"type": "object", "description": "The words that pages and papers print."}
}


def of_type(name: str, **more: Any) -> dict[int | str, dict[str, Any]]:
    """The good answer of an address: a finding of this name, with *more* properties."""
    schema: dict[str, Any] = {"$ref": f"{PLACE}{name}"}
    if more:
        schema = {"allOf": [schema, {"properties": more, "required": list(more)}]}
    return {
        200: {"description": "The finding", "content": {"application/json": {"schema": schema}}}
    }


def describe(app: FastAPI) -> None:
    """Let an application describe its API, once."""
    made: list[dict[str, Any]] = []

    def description() -> dict[str, Any]:
        if not made:
            made.append(_description(app))
        return made[0]

    app.openapi = description  # type: ignore[method-assign]


def _description(app: FastAPI) -> dict[str, Any]:
    told = get_openapi(
        title=app.title,
        version=app.version,
        description="The record of a shop that examines old electric guitars, for other programs.",
        routes=app.routes,
    )
    parts = told.setdefault("components", {})
    schemas = parts.setdefault("schemas", {})
    schemas |= {name: _plain(one) for name, one in schemas.items()}
    problem = Problem.model_json_schema(ref_template=PLACE + "{model}")
    schemas |= {"Problem": problem} | {
        name: one for name, one in _findings().items() if name not in schemas
    }
    for unused in ("HTTPValidationError", "ValidationError"):
        schemas.pop(unused, None)
    words = " ".join(f"{key}: {value}." for key, value in SCOPES.items())
    parts["securitySchemes"] = {
        "token": {
            "type": "http",
            "scheme": "bearer",
            "description": "A token of an account, where the shop is shared; at the machine itself "
            f"none is asked for. Scopes: {words}",
        }
    }
    told["security"] = [{"token": []}, {}]
    for path, operations in told["paths"].items():
        for method, one in operations.items():
            if not changes(path, method.upper()):
                continue
            least = least_role(path, method.upper())
            one["description"] += f"\n\nLeast role: {'none' if least is None else least.value}."
            one.setdefault("parameters", []).append(_KEY)
    return told


_KEY = {
    "name": "Idempotency-Key",
    "in": "header",
    "required": False,
    "description": "Sent again within a day with the same content, the first answer is given again "
    "and nothing is done twice (draft-ietf-httpapi-idempotency-key-header).",
    "schema": {"type": "string", "pattern": '^("[!#-~]{1,253}"|[!#-~]{1,253})$'},
}


@cache
def _findings() -> dict[str, Any]:
    _, parts = msgspec.json.schema_components(FOUND, ref_template=PLACE + "{name}")
    return {name: _plain(one) for name, one in parts.items()}


def _plain(schema: Any) -> Any:
    """The same schema in words that general tools know.

    Without ``items: false`` beside ``maxItems``, which says the same; bytes of a file also as
    ``format: binary``, which OpenAPI 3.0 had and tools still look for.
    """
    if isinstance(schema, list):
        return [_plain(one) for one in schema]
    if not isinstance(schema, dict):
        return schema
    bounded = schema.get("items") is False and "maxItems" in schema
    told = {name: _plain(one) for name, one in schema.items() if not (bounded and name == "items")}
    return {**told, "format": "binary"} if "contentMediaType" in schema else told
