"""Signs that stop an act, as data: which sign, which acts, why, and what may be said instead.

The rules are a document of schema ``heelstamp/stop-rules/1`` (``reference/stop_rules.toml``);
common practice of the trade, no source. A rule fires on what was recorded in a dossier, not on what
could be supposed: a sign nobody recorded stops nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import msgspec

from heelstamp.archive import digest_of
from heelstamp.catalogue import DossierState
from heelstamp.catalogue.conversion import convert
from heelstamp.errors import InputError

STOP_RULES_SCHEMA = "heelstamp/stop-rules/1"


class StopRule(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One row of the stop table.

    Attributes
    ----------
    sign
        Sign observation that fires it, unless its outcome is one of ``clear``.
    acts, acts_by_part
        Acts refused by the sign on any part, and by the sign on one part.
    why, instead, consequence
        The reason, the sentence a paper may carry instead, and what follows at the bench.
    """

    sign: str
    why: str
    instead: str
    acts: list[str] = []
    acts_by_part: dict[str, list[str]] = {}
    clear: tuple[str, ...] = ("no", "none", "not seen")
    consequence: str = ""


class CautionRow(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A caution at the point of use."""

    id: str
    text: str


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: str
    rule: list[StopRule]
    caution: list[CautionRow]


@dataclass(frozen=True)
class StopTable:
    """The rules and cautions, and the digest of the document they came from."""

    rules: tuple[StopRule, ...]
    cautions: Mapping[str, str]
    digest: str


@dataclass(frozen=True)
class Stopped:
    """An act that a recorded sign refuses, with the observation that says so."""

    act: str
    rule: StopRule
    observation: str
    frames: tuple[str, ...]


def parse_stop_table(data: Mapping[str, Any], *, where: str) -> StopTable:
    """Read a stop table from plain values.

    Raises
    ------
    InputError
        Another schema, a field that is unknown, missing or of the wrong kind, or a rule that
        stops no act.
    """
    document = convert(data, _Document, where=where)
    if document.schema != STOP_RULES_SCHEMA:
        raise InputError(
            "not a stop table this program reads",
            where=f"{where}, field schema",
            received=document.schema,
            remedy=f'Write schema = "{STOP_RULES_SCHEMA}".',
        )
    for rule in document.rule:
        if not rule.acts and not rule.acts_by_part:
            raise InputError(
                "the rule stops no act",
                where=f"{where}, rule {rule.sign}",
                remedy="Give acts or acts_by_part.",
            )
    cautions = {row.id: row.text for row in document.caution}
    return StopTable(tuple(document.rule), cautions, digest_of(dict(data)))


def stopped_acts(state: DossierState, table: StopTable) -> dict[str, Stopped]:
    """The acts that signs recorded in a dossier refuse; the first sign on each counts."""
    found: dict[str, Stopped] = {}
    for seen in state.observations.values():
        if seen.kind != "sign" or not seen.is_read:
            continue
        for rule in table.rules:
            if rule.sign != seen.sign or seen.outcome in rule.clear:
                continue
            for act in (*rule.acts, *rule.acts_by_part.get(seen.part, [])):
                found.setdefault(act, Stopped(act, rule, seen.id, tuple(seen.frames)))
    return found
