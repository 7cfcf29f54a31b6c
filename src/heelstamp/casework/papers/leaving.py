"""The typed words that an outsider's paper would carry, listed before it is issued.

Every string of the public record that a person typed is listed, once, with what in it may tell
more than is meant: likely names, numbers, addresses, mail and telephone. The text is folded first
by Unicode NFKC (UAX #15), then letters that look like Latin ones and digits are taken for them, so
that full-width digits or a letter O pass no more than the plain ones. It marks what a person
should look at; what it does not mark may still tell something.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

MarkKind = Literal["name", "number", "address", "mail", "telephone"]

CLOSED = frozenset(
    {
        *("schema", "id", "kind", "status", "part", "stage", "role", "unit", "light", "link"),
        *("file", "name", "media_type", "frames", "feature", "sign", "reader", "not_before"),
        *("not_after", "verdict", "finding", "look", "sentence", "word", "strings", "volume"),
        *("channel", "stray_light", "side", "period", "by", "chronology"),
    }
)
"""Fields of the public record that hold words of the program, or what it made."""
TYPED = {"statement": frozenset({"role"}), "consent": frozenset({"act"})}
"""Fields of that name that a person types in one kind all the same."""

# Unicode UTS #39 lists far more; those of Greek and Cyrillic that one types for Latin (from memory)
_ALIKE = str.maketrans(
    "АВЕКМНОРСТХаеорсухіІЅѕΑΒΕΖΗΙΚΜΝΟΡΤΥΧο", "ABEKMHOPCTXaeopcyxiISsABEZHIKMNOPTYXo"
)
_AS_DIGITS = str.maketrans("OoIlSB", "001158")

_MAIL = re.compile(r"[\w.+-]+\s*(?:@|\(at\)|\[at\])\s*[\w-]+(?:\.[\w-]+)+", re.IGNORECASE)
_TELEPHONE = re.compile(r"(?<![\w.])\+?\(?\d{2,5}\)?(?:[\s./()-]{1,2}\d{2,5}){2,5}(?![\w.])")
_STREET = re.compile(
    r"\b[\w'-]+\s*(?:street|st\.|road|rd\.|lane|avenue|ave\.|drive|close|square|way|straße|strasse"
    r"|platz|weg|rue)\b(?:\s+\d+\w?)?",
    re.IGNORECASE,
)
_NUMBER = re.compile(r"\b[A-Z]{0,3}[\s-]?(?:[\dOoIlSB?][\s.\-]?){4,}\b")
_NAME = re.compile(r"\b(?:[A-Z]\.\s*)+[A-Z][\w'-]+|\b[A-Z][a-z'-]+(?:\s+[A-Z][\w'-]+)+")


@dataclass(frozen=True, slots=True)
class Mark:
    """Something in a text that may tell more than is meant: what sort, and the words."""

    kind: MarkKind
    found: str


@dataclass(frozen=True, slots=True)
class Leaving:
    """A typed text that would leave: entry and field it is from, and what to look at in it."""

    entry: str
    field: str
    text: str
    marks: tuple[Mark, ...]


def folded(text: str) -> str:
    r"""Write compatibility forms and look-alikes as plain letters and digits.

    Examples
    --------
    >>> folded("\uff33\uff11\uff10\uff13")
    'S103'
    """
    plain = unicodedata.normalize("NFKC", text)
    shown = "".join(char for char in plain if unicodedata.category(char) != "Cf")
    return shown.translate(_ALIKE)


def marks_in(text: str, names: Sequence[str] = ()) -> tuple[Mark, ...]:
    """Find what a person should look at before *text* leaves.

    Parameters
    ----------
    names
        Names of persons in the dossier: each word of one is looked for too.
    """
    plain = folded(text)
    found = [Mark("mail", hit[0]) for hit in _MAIL.finditer(plain)]
    found += [Mark("telephone", hit[0]) for hit in _TELEPHONE.finditer(plain)]
    found += [Mark("address", hit[0]) for hit in _STREET.finditer(plain)]
    found += [
        Mark("number", hit[0])
        for hit in _NUMBER.finditer(plain)
        if sum(char.isdigit() for char in hit[0].translate(_AS_DIGITS)) > 3
        and any(char.isdigit() for char in hit[0])
    ]
    found += [Mark("name", hit[0]) for hit in _NAME.finditer(plain)]
    words = {word.casefold() for name in names for word in re.findall(r"\w{3,}", folded(name))}
    found += [Mark("name", hit) for hit in re.findall(r"\w{3,}", plain) if hit.casefold() in words]
    return tuple(dict.fromkeys(found))


def review_list(
    examination: Mapping[str, Any], source: Mapping[str, str], names: Sequence[str] = ()
) -> tuple[Leaving, ...]:
    """List every text typed by a person that an outsider's paper would carry.

    Parameters
    ----------
    examination
        The public record as plain values.
    source
        Id of the dossier's entry by the name it has in that record.
    names
        Names of persons in the dossier.
    """
    found = []
    for kind, bodies in examination.items():
        for body in bodies if isinstance(bodies, list) else [bodies]:
            if isinstance(body, Mapping):
                name = str(body.get("id", kind))
                for field, text in _typed(kind, body):
                    entry = source.get(name, name)
                    found.append(Leaving(entry, field, text, marks_in(text, names)))
    return tuple(found)


def _typed(kind: str, body: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for field, value in body.items():
        if field in CLOSED and field not in TYPED.get(kind, ()):
            continue
        if isinstance(value, str) and value.strip():
            yield field, value
        elif isinstance(value, Mapping):
            for key, text in _typed(kind, value):
                yield f"{field}.{key}", text
        elif isinstance(value, list):
            for one in value:
                if isinstance(one, Mapping):
                    for key, text in _typed(kind, one):
                        yield f"{field}.{key}", text
