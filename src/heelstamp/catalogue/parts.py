"""The tree of parts of one kind of instrument, parsed from data.

A tree names every part that can be looked at, the part it belongs to, the assembly it was put
together with, and the least opening from which it is seen. Kinds of instrument are data, not
code: a bolted-neck solid-body guitar and bass come with the program, others are another file of
the same form. The tree says nothing of any maker's construction; a part that an instrument never
had is recorded as *not applicable*.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated

import msgspec

from heelstamp.catalogue.conversion import convert, join_place, nearest
from heelstamp.errors import InputError

PARTS_SCHEMA = "heelstamp/parts/1"

Key = Annotated[str, msgspec.Meta(pattern=r"^[a-z][a-z0-9_]*$", max_length=40)]


class Opening(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One step of access, from outside inwards.

    Attributes
    ----------
    key
        Name that parts refer to, such as ``guard``.
    act
        The act that gives it, in the words of consent and treatment entries; empty for looking.
    consent
        Whether the owner must agree first.
    """

    key: Key
    label: str
    act: str = ""
    consent: bool = False


class Part(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """One part: its key, its name for a reader, and where it sits in the tree."""

    key: Key
    label: str
    assembly: Key
    seen_from: Key
    parent: Key | None = None


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: str
    kind: Key
    label: str
    opening: list[dict[str, object]]
    part: list[dict[str, object]]


@dataclass(frozen=True, slots=True)
class PartsTree:
    """All parts of one kind of instrument, in drawing order.

    Attributes
    ----------
    kind
        ``guitar``, ``bass``, or another kind given by data.
    openings
        Steps of access, least invasive first.
    """

    kind: str
    label: str
    openings: tuple[Opening, ...]
    parts: tuple[Part, ...]

    def __iter__(self) -> Iterator[Part]:
        return iter(self.parts)

    def __len__(self) -> int:
        return len(self.parts)

    def __contains__(self, key: object) -> bool:
        return any(part.key == key for part in self.parts)

    def __getitem__(self, key: str) -> Part:
        """The part named *key*; see `part` for an error that names a place."""
        return self.part(key)

    @property
    def keys(self) -> tuple[str, ...]:
        """Keys of all parts, in drawing order."""
        return tuple(part.key for part in self.parts)

    @property
    def assemblies(self) -> tuple[str, ...]:
        """Assemblies in the order of their first part."""
        return tuple(dict.fromkeys(part.assembly for part in self.parts))

    def part(self, key: str, *, where: str = "") -> Part:
        """The part named *key*.

        Raises
        ------
        InputError
            The tree has no such part; the message offers the nearest name.
        """
        for part in self.parts:
            if part.key == key:
                return part
        raise InputError(
            f"a {self.label} has no such part",
            where=where,
            received=key,
            remedy=nearest(key, self.keys),
        )

    def named(self, told: str, *, where: str = "") -> str:
        """The key of the part that is called *told*: by its key or by its label, in any case.

        Raises
        ------
        InputError
            No part is called so; the message offers the nearest name.
        """
        folded = " ".join(told.replace("_", " ").casefold().split())
        for part in self.parts:
            if folded in (part.key.replace("_", " "), part.label.casefold()):
                return part.key
        raise InputError(
            f"a {self.label} has no such part",
            where=where,
            received=told,
            remedy=nearest(told, [part.label for part in self.parts]),
        )

    def children(self, key: str | None) -> tuple[Part, ...]:
        """The parts directly under *key*; under ``None``, the roots."""
        return tuple(part for part in self.parts if part.parent == key)

    def opening(self, key: str) -> Opening:
        """The step of access named *key*."""
        for opening in self.openings:
            if opening.key == key:
                return opening
        known = (opening.key for opening in self.openings)
        raise InputError("no such opening", received=key, remedy=nearest(key, known))

    def acts_needing_consent(self) -> frozenset[str]:
        """Name the acts that need the owner's word first."""
        return frozenset(opening.act for opening in self.openings if opening.consent)


def parse_parts_tree(data: Mapping[str, object], *, where: str = "parts tree") -> PartsTree:
    """Read a parts tree from plain values and check that it hangs together.

    Parameters
    ----------
    data
        Table with ``schema``, ``kind``, ``label`` and the arrays ``opening`` and ``part``.
    where
        File named in errors.

    Raises
    ------
    InputError
        A field is unknown, missing or of the wrong kind; a key comes twice; a parent or opening is
        not in the file; a part is its own ancestor.
    """
    document = convert(data, _Document, where=where)
    if document.schema != PARTS_SCHEMA:
        raise InputError(
            "not a parts tree this program reads",
            where=join_place(where, "field schema"),
            received=document.schema,
            remedy=f'Write schema = "{PARTS_SCHEMA}".',
        )
    openings: list[Opening] = []
    for number, row in enumerate(document.opening, start=1):
        openings.append(convert(row, Opening, where=join_place(where, f"opening {number}")))
        _refuse_second(openings, where=join_place(where, f"opening {number}"))
        _check_act(openings[-1], where=join_place(where, f"opening {number}"))
    parts: list[Part] = []
    for number, row in enumerate(document.part, start=1):
        place = join_place(where, f'part {number} (key "{row.get("key")}")')
        parts.append(convert(row, Part, where=place))
        _refuse_second(parts, where=place)
    tree = PartsTree(document.kind, document.label, tuple(openings), tuple(parts))
    _check_links(tree, where)
    return tree


def _refuse_second(rows: list[Opening] | list[Part], *, where: str) -> None:
    if any(row.key == rows[-1].key for row in rows[:-1]):
        raise InputError(
            "this key is taken", where=where, received=rows[-1].key, remedy="Give another key."
        )


def _check_act(opening: Opening, *, where: str) -> None:
    if opening.consent and not opening.act:
        raise InputError(
            "an opening that needs consent names no act",
            where=where,
            received=opening.key,
            remedy='Name the act the owner agrees to, such as act = "lift guard".',
        )


def _check_links(tree: PartsTree, where: str) -> None:
    if not tree.parts or not tree.openings:
        raise InputError(
            "a tree needs parts and openings", where=where, remedy="Give at least one of each."
        )
    openings = {opening.key for opening in tree.openings}
    for part in tree:
        place = join_place(where, f'part "{part.key}"')
        if part.seen_from not in openings:
            raise InputError(
                "seen from an opening that the tree does not name",
                where=join_place(place, "field seen_from"),
                received=part.seen_from,
                remedy=nearest(part.seen_from, openings),
            )
        seen = {part.key}
        above = part.parent
        while above is not None:
            if above in seen:
                raise InputError(
                    "a part cannot belong to itself",
                    where=join_place(place, "field parent"),
                    received=part.parent,
                    remedy="Break the circle of parents.",
                )
            seen.add(above)
            above = tree.part(above, where=join_place(place, "field parent")).parent
