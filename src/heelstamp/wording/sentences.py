"""A sentence of a paper: its text beside what it needs, and the statement that it becomes.

A sentence is a function that gives its text from typed fields, marked by :func:`sentence` with its
id, its layer and the number of the rule it obeys (see ``rules``). Called with the id of a statement
and what that stands on, it gives a :class:`Statement`, so that a printed sentence can be traced:
statement, sentence, rule, entries, photographs. They stand in the modules ``about_…``, one a
subject; no other place of the program phrases a finding. Limits: English only; free text from a
record is quoted as it stands, and refused when it holds a banned word.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, Literal, NamedTuple, ParamSpec

from heelstamp.errors import InputError
from heelstamp.wording.banned import refuse_banned

Layer = Literal["seen", "measured", "inferred", "opinion"]
LAYERS: tuple[Layer, ...] = ("seen", "measured", "inferred", "opinion")
Fields = ParamSpec("Fields")


@dataclass(frozen=True, slots=True)
class Statement:
    """One sentence of a paper with all that it stands on.

    Attributes
    ----------
    id
        Unique within a paper.
    layer
        seen, measured, inferred or opinion.
    text
        The sentence as printed.
    strength
        Word that carries its strength ('very probably', 'supports', …); empty for plain facts.
    rests_on
        Ids of the dossier entries it rests on.
    frames
        Ids of the photographs that show them; empty means that none does.
    not_examined
        What bears on it and was not examined.
    template
        Id of the :class:`Sentence` it was made by.
    plain
        The same without figures of probability, for a reader who finds each beside its word in a
        table; empty where the sentence holds none of them.

    Raises
    ------
    InputError
        The layer is unknown, or an inferred statement names neither entries nor gaps (rule 2).
    BannedWordsError
        The text holds words that no paper may carry.
    """

    id: str
    layer: Layer
    text: str
    strength: str = ""
    rests_on: tuple[str, ...] = ()
    frames: tuple[str, ...] = ()
    not_examined: tuple[str, ...] = ()
    template: str = ""
    plain: str = ""

    def __post_init__(self) -> None:
        if self.layer not in LAYERS:
            raise InputError(
                "unknown layer", where=self.id, received=self.layer, remedy=", ".join(LAYERS) + "."
            )
        if self.layer == "inferred" and not (self.rests_on or self.not_examined):
            raise InputError(
                "an inferred statement rests on nothing",
                where=self.id,
                received=self.text,
                remedy="Name the entries it rests on, or what was not examined.",
            )
        refuse_banned(self.text, where=self.id)
        refuse_banned(self.plain, where=self.id)

    @property
    def grounds(self) -> Grounds:
        """What it stands on, for a statement that replaces it."""
        return Grounds(self.rests_on, self.frames, self.not_examined)


@dataclass(frozen=True, slots=True)
class Grounds:
    """What a statement stands on: entries, frames, and what was not examined."""

    rests_on: tuple[str, ...] = ()
    frames: tuple[str, ...] = ()
    not_examined: tuple[str, ...] = ()


NO_GROUNDS = Grounds()


class Told(NamedTuple):
    """Text of a sentence, the word of its strength, further gaps it names, and its plain form."""

    text: str
    strength: str = ""
    not_examined: tuple[str, ...] = ()
    plain: str = ""


@dataclass(frozen=True)
class Sentence(Generic[Fields]):
    """A sentence: id, layer, number of the rule it obeys, and the text from its fields."""

    id: str
    layer: Layer
    rule: int
    write: Callable[Fields, str | Told]

    def __call__(
        self,
        statement: str,
        grounds: Grounds = NO_GROUNDS,
        /,
        *args: Fields.args,
        **fields: Fields.kwargs,
    ) -> Statement:
        """Make a statement with that id; free text of the fields is tidied.

        Raises
        ------
        InputError, BannedWordsError
            As :class:`Statement`, or as the sentence itself says.
        """
        told = self._told(*args, **fields)
        gaps = tuple(dict.fromkeys((*grounds.not_examined, *told.not_examined)))
        return Statement(
            statement,
            self.layer,
            told.text,
            told.strength,
            grounds.rests_on,
            grounds.frames,
            gaps,
            self.id,
            told.plain,
        )

    def say(self, *args: Fields.args, **fields: Fields.kwargs) -> str:
        """Return the text alone, for screens and tables that show what it stands on beside it.

        Raises
        ------
        BannedWordsError
            The text holds words that no paper may carry.
        """
        return refuse_banned(self._told(*args, **fields).text, where=self.id)

    def _told(self, *args: Fields.args, **fields: Fields.kwargs) -> Told:
        clean = {name: _tidied(value) for name, value in fields.items()}
        told = self.write(*args, **clean)  # type: ignore[arg-type]
        told = told if isinstance(told, Told) else Told(told)
        return told._replace(text=_begun(told.text), plain=_begun(told.plain))


def sentence(
    id_: str, layer: Layer, rule: int
) -> Callable[[Callable[Fields, str | Told]], Sentence[Fields]]:
    """Mark a function from fields, given by name, to text as a sentence of papers."""

    def mark(write: Callable[Fields, str | Told]) -> Sentence[Fields]:
        return Sentence(id_, layer, rule, write)

    return mark


@dataclass(frozen=True, slots=True)
class Agreement:
    """Verbs and pronouns that agree with the name of a part ('frets' are several)."""

    is_: str = "is"
    was: str = "was"
    it: str = "it"
    its: str = "its"
    comes: str = "comes"
    points: str = "points"
    them: str = "it"


_SEVERAL = Agreement("are", "were", "they", "their", "come", "point", "them")


def agreement(part: str) -> Agreement:
    """Return the verbs and pronouns that agree with the name of a part."""
    return _SEVERAL if part.endswith("s") and not part.endswith("ss") else Agreement()


def tidy(text: str) -> str:
    """Join lines and drop control characters; a space at the beginning is kept."""
    lead = " " if text[:1] == " " else ""
    if not text.isprintable():
        text = "".join(char if char.isprintable() else " " for char in text)
    return lead + " ".join(text.split())


def _begun(text: str) -> str:
    text = tidy(text).strip()
    return text[:1].upper() + text[1:]


def _tidied(value: object) -> object:
    if isinstance(value, str):
        return tidy(value)
    if isinstance(value, (tuple, list)):
        items = [_tidied(one) for one in value]
        return type(value)(items) if type(value) in (tuple, list) else value
    return value


def counted(count: float, noun: str, several: str = "") -> str:
    """Write a count with its noun.

    Examples
    --------
    >>> counted(1, "event"), counted(95, "event"), counted(2, "look", "looks again")
    ('1 event', '95 events', '2 looks again')
    """
    return f"{count:g} {noun}" if count == 1 else f"{count:g} {several or noun + 's'}"


def listed(items: tuple[str, ...] | list[str], last: str = "and") -> str:
    """Write a list: ``a``, ``a and b``, ``a, b and c``.

    Examples
    --------
    >>> listed(["front", "back", "edges"])
    'front, back and edges'
    """
    if len(items) <= 1:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"
