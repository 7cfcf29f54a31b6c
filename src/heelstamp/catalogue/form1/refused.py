"""Words of form 1 in an entry of today, where a field or a kind of its own says the same."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from heelstamp.catalogue.conversion import join_place
from heelstamp.catalogue.form1.converting import typed
from heelstamp.errors import InputError


def refuse_words(kind: str, data: object, where: str) -> None:
    """Refuse words of form 1 where a field or a kind of its own says the same."""
    told = typed(kind, data) if isinstance(data, Mapping) else None
    if told is None or kind not in ("measurement", "decision", "treatment"):
        return
    if told[0] != kind:
        raise InputError(
            "this has a kind of entry of its own",
            where=join_place(where, "field act" if kind == "treatment" else "field about"),
            received=data.get("about", data.get("act")) if isinstance(data, Mapping) else None,
            remedy=f"Enter it as {told[0]}, with {_fields(told[1])}.",
        )
    if kind == "measurement" and isinstance(data, Mapping):
        raise InputError(
            "words that have fields of their own",
            where=join_place(where, "field quantity"),
            received=data.get("quantity"),
            remedy="Give " + _fields(told[1], but=frozenset(data) - {"quantity"}) + ".",
        )


def _fields(body: Mapping[str, Any], *, but: frozenset[str] = frozenset({"id", "reason"})) -> str:
    told = []
    for name, value in body.items():
        if name in but:
            continue
        nested = value.items() if isinstance(value, dict) else ()
        told += [f"{name}.{inner} = {one}" for inner, one in nested] or [f"{name} = {value}"]
    return ", ".join(told)
