"""Terms of the bench with their meanings, and the line that tells what a screen is for.

Both are documents beside the program, read with strict types; a term is named as people write it
and found whatever its case, its spaces or its hyphens.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Annotated, Any

import msgspec

from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.errors import InputError

GLOSSARY_SCHEMA = "heelstamp/glossary/1"
LINES_SCHEMA = "heelstamp/screen-lines/1"
Words = Annotated[str, msgspec.Meta(min_length=1, max_length=400)]


class Term(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A term.

    Attributes
    ----------
    name
        As it is written in a sentence.
    text
        What it means here.
    source
        Where that comes from, or that it is common practice.
    """

    name: Words
    text: Words
    source: Words

    @property
    def key(self) -> str:
        """The name as an address holds it."""
        return key_of(self.name)


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    schema: str
    term: list[Term]


class _Lines(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    schema: str
    lines: dict[str, Words]


def key_of(name: str) -> str:
    """A name as an address holds it: ``period-correct`` for *Period correct*."""
    return "-".join("".join(c if c.isalnum() else " " for c in name.casefold()).split())


def parse_glossary(data: Mapping[str, Any], *, where: str) -> dict[str, Term]:
    """Read terms from plain values, by key, in the document's order.

    Raises
    ------
    InputError
        Another schema, a field that is unknown or missing, or a term that stands twice.
    """
    document = convert(data, _Document, where=where)
    _check(document.schema, GLOSSARY_SCHEMA, where)
    terms: dict[str, Term] = {}
    for term in document.term:
        if term.key in terms:
            raise InputError("a term that stands twice", where=where, received=term.name)
        terms[term.key] = term
    return terms


def parse_lines(data: Mapping[str, Any], *, where: str) -> dict[str, str]:
    """Read the lines of screens from plain values.

    Raises
    ------
    InputError
        Another schema, or a line that is no text.
    """
    document = convert(data, _Lines, where=where)
    _check(document.schema, LINES_SCHEMA, where)
    return document.lines


def find_term(name: str, terms: Mapping[str, Term]) -> Term:
    """A term by its name.

    Raises
    ------
    InputError
        There is none of this name.
    """
    found = terms.get(key_of(name))
    if found is None:
        known = [one.name for one in terms.values()]
        raise InputError("no such term", received=name, remedy=nearest(name, known))
    return found


def put_away(kept: str, known: Iterable[str]) -> frozenset[str]:
    """Read which lines a device has hidden; names that are no screen's are passed over."""
    return frozenset(kept.split(".")) & frozenset(known)


def _check(schema: str, wanted: str, where: str) -> None:
    if schema != wanted:
        raise InputError(
            "not a document of this kind",
            where=f"{where}, field schema",
            received=schema,
            remedy=f'Write schema = "{wanted}".',
        )
