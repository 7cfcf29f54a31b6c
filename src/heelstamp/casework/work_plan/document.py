"""What a shop may do before a sale, as data: minutes, materials, and what of the price it moves.

A document of schema ``heelstamp/work-acts/1`` (``reference/work_acts.toml``): common practice of
the trade, no source. A shop's own ``work-acts.toml`` stands in its place.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

import msgspec

from heelstamp.archive import digest_of
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.casework.condition.vocabulary import SCALE
from heelstamp.catalogue import PlannedAct
from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.errors import InputError

WORK_ACTS_SCHEMA = "heelstamp/work-acts/1"
Sum = Annotated[float, msgspec.Meta(ge=0, le=1_000_000)]
Chance = Annotated[float, msgspec.Meta(ge=0, le=1)]
ANY = "*"
"""Any state a part is in."""


class Move(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """What an act may change of what the price model knows; one of grade, part(s) and effect.

    Attributes
    ----------
    grade, steps
        Aspect that becomes so many letters better, at best A.
    part, parts, from_, to
        Parts whose state becomes another.
    effect
        Effect of the market document that is added once.
    chance
        That it comes about.
    """

    chance: Chance
    grade: str = ""
    steps: Annotated[int, msgspec.Meta(ge=1, le=4)] = 1
    part: str = ""
    parts: tuple[str, ...] = ()
    from_: str = msgspec.field(default="", name="from")
    to: str = ""
    effect: str = ""

    @property
    def of(self) -> tuple[str, ...]:
        """The parts it moves."""
        return self.parts or ((self.part,) if self.part else ())


class WorkAct(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One thing that could be done.

    Attributes
    ----------
    does
        Acts as consents and treatments name them, in their order.
    minutes
        Least, usual and most.
    materials
        In the shop's currency.
    reversible
        What of it can be undone, a clause.
    basis
        Where its numbers come from.
    """

    key: str
    label: str
    does: list[PlannedAct]
    minutes: tuple[Sum, Sum, Sum]
    materials: Sum
    reversible: str
    basis: str
    moves: list[Move] = []


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: str
    per_hour: Sum
    act: list[WorkAct]


@dataclass(frozen=True)
class WorkActs:
    """What may be done, what an hour costs in the shop's currency, and the document's digest."""

    acts: tuple[WorkAct, ...]
    per_hour: float
    digest: str

    def named(self, keys: str) -> tuple[WorkAct, ...]:
        """The acts of keys with commas between; none for ``nothing``.

        Raises
        ------
        InputError
            No such act.
        """
        by_key = {one.key: one for one in self.acts}
        asked = [one.strip() for one in keys.split(",") if one.strip()]
        if asked == ["nothing"]:
            return ()
        for one in asked:
            if one not in by_key:
                raise InputError(
                    "no act of the plan", received=one, remedy=nearest(one, [*by_key, "nothing"])
                )
        if not asked:
            raise InputError(
                "no act named", remedy=f"Name some of {', '.join(by_key)}, or nothing."
            )
        return tuple(by_key[one] for one in dict.fromkeys(asked))


def parse_work_acts(data: Mapping[str, Any], *, where: str) -> WorkActs:
    """Read the document from plain values.

    Raises
    ------
    InputError
        Another schema, an unknown field, aspect or effect, a key twice, minutes that do not rise,
        or a move that is of nothing or of several things.
    """
    document = convert(data, _Document, where=where)
    if document.schema != WORK_ACTS_SCHEMA:
        raise InputError(
            "not a document of acts this program reads",
            where=f"{where}, field schema",
            received=document.schema,
            remedy=f'Write schema = "{WORK_ACTS_SCHEMA}".',
        )
    seen: set[str] = set()
    for act in document.act:
        at = f"{where}, act {act.key}"
        if act.key in seen or act.key == "nothing":
            raise InputError("a key that is taken", where=at, received=act.key)
        seen.add(act.key)
        if list(act.minutes) != sorted(act.minutes) or not act.does:
            raise InputError(
                "minutes that do not rise, or no act",
                where=at,
                received=list(act.minutes),
                remedy="Give least, usual and most, and what it does.",
            )
        for move in act.moves:
            _check_move(move, at)
    return WorkActs(tuple(document.act), document.per_hour, digest_of(dict(data)))


def _check_move(move: Move, at: str) -> None:
    if bool(move.grade) + bool(move.of) + bool(move.effect) != 1:
        raise InputError(
            "a move is of a grade, of parts or of an effect", where=at, remedy="Give one of them."
        )
    if move.grade and move.grade not in SCALE:
        raise InputError("no such aspect", where=at, received=move.grade, remedy=", ".join(SCALE))
    if move.effect and move.effect not in EFFECTS:
        raise InputError(
            "no such effect", where=at, received=move.effect, remedy=nearest(move.effect, EFFECTS)
        )
    if move.of and not (move.from_ and move.to):
        raise InputError("a state that becomes another needs from and to", where=at)
