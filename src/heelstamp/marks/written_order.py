"""The declared order of a written date: which fields, in which sequence, spelled how.

An order is written as field names, such as ``roman-month year2`` (VIII 61), ``year1 month`` (9 1)
or ``year2 month2 letter`` (65/03 R). The names are ours. Separators in a mark are free: a space,
a stroke, a point, a dash or none. Which maker used which order and when is a chronology's
knowledge, not this module's. Month numerals are written as on bench marks: I to XII, with the
additive IIII and VIIII for IV and IX.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import NamedTuple

from heelstamp.errors import InputError

ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
ADDITIVE = {4: "IIII", 9: "VIIII"}
MONTH_NAMES = (
    "JANUARY",
    "FEBRUARY",
    "MARCH",
    "APRIL",
    "MAY",
    "JUNE",
    "JULY",
    "AUGUST",
    "SEPTEMBER",
    "OCTOBER",
    "NOVEMBER",
    "DECEMBER",
)
MONTH_FIELDS = ("month", "month2", "roman-month", "named-month")
YEAR_FIELDS = ("year1", "year2", "year4")
DAY = "day"
OTHER_FIELDS = (DAY, "letter")
FIELDS = MONTH_FIELDS + YEAR_FIELDS + OTHER_FIELDS


@dataclass(frozen=True, slots=True)
class WritingRules:
    """Numbers that weigh slips of the pencil and of the eye. All are our judgement, to be set.

    Attributes
    ----------
    miscount
        A roman numeral with one stroke lost or one too many: VII for VIII.
    wrong_side
        A stroke put on the other side of an X or a V: IX for XI.
    lost_stroke
        The last character gone when it is a single stroke (1 or I): ``9 1`` for ``9 11``.
    lost_character
        The last character gone when it is any other.
    other_spelling
        Month 3 written 03 or the reverse, against the declared spelling.
    no_letter
        The declared bench letter not seen.
    smudge
        Each ``?`` taken as no character of a field.
    """

    miscount: float = 0.08
    wrong_side: float = 0.05
    lost_stroke: float = 0.10
    lost_character: float = 0.03
    other_spelling: float = 0.3
    no_letter: float = 0.5
    smudge: float = 0.1

    def __post_init__(self) -> None:
        for name in self.__slots__:
            if not 0.0 < getattr(self, name) <= 1.0:
                raise InputError(
                    f"{name} must be above 0 and at most 1", received=getattr(self, name)
                )


class Spelling(NamedTuple):
    """One thing that may stand in a field: the characters, what they mean, at what weight."""

    word: str
    value: int | None
    weight: float
    remark: str = ""


@dataclass(frozen=True, slots=True)
class WrittenOrder:
    """Fields in the order in which they are written.

    Raises
    ------
    InputError
        A field is unknown, there is not exactly one year field, or more than one month field.

    Examples
    --------
    >>> WrittenOrder.parse("year2/month2 letter").fields
    ('year2', 'month2', 'letter')
    """

    fields: tuple[str, ...]

    def __post_init__(self) -> None:
        unknown = [field for field in self.fields if field not in FIELDS]
        if unknown:
            raise InputError(
                "unknown field in the order of a written date",
                received=" ".join(unknown)[:60],
                remedy="Fields: " + ", ".join(FIELDS) + ".",
            )
        years = sum(field in YEAR_FIELDS for field in self.fields)
        months = sum(field in MONTH_FIELDS for field in self.fields)
        if years != 1 or months > 1 or len(set(self.fields)) != len(self.fields):
            raise InputError(
                "an order has one year field, at most one month field, and no field twice",
                received=" ".join(self.fields)[:60],
                remedy="Write for example: roman-month year2.",
            )

    @classmethod
    def parse(cls, text: str) -> WrittenOrder:
        """Read an order from field names parted by spaces, commas or strokes."""
        return cls(tuple(text.replace("/", " ").replace(",", " ").split()))

    def __str__(self) -> str:
        return " ".join(self.fields)

    @property
    def last_dated(self) -> str:
        """The last field that holds part of the date."""
        return [field for field in self.fields if field != "letter"][-1]

    def spellings(self, field: str, rules: WritingRules) -> tuple[Spelling, ...]:
        """All that may stand in *field*, slips included, the heaviest of each kept."""
        best: dict[tuple[str, int | None], Spelling] = {}
        for one in self._plain_and_lost(field, rules):
            key = (one.word, one.value)
            if key not in best or one.weight > best[key].weight:
                best[key] = one
        return tuple(best.values())

    def impossible(self, field: str) -> tuple[Spelling, ...]:
        """Numbers that stand where *field* should, and are none: month 13, day 32.

        They serve to say what is wrong in a text, never to read it.
        """
        if field not in (*MONTH_FIELDS, DAY):
            return ()
        last = 31 if field == DAY else 12
        return tuple(
            Spelling(word, value, 1.0)
            for value in (0, *range(last + 1, 100))
            for word in dict.fromkeys((str(value), f"{value:02d}"))
        )

    def _plain_and_lost(self, field: str, rules: WritingRules) -> Iterator[Spelling]:
        for one in _plain(field, rules):
            yield one
            if field == self.last_dated and len(one.word) > 1:
                lost = rules.lost_stroke if one.word[-1] in "1I" else rules.lost_character
                yield Spelling(
                    one.word[:-1],
                    one.value,
                    one.weight * lost,
                    f"if the last character of {one.word} is lost",
                )


def _plain(field: str, rules: WritingRules) -> Iterator[Spelling]:
    """The spellings of *field* without a lost last character."""
    if field == "letter":
        yield Spelling("", None, rules.no_letter)
        for code in range(ord("A"), ord("Z") + 1):
            yield Spelling(chr(code), None, 1.0)
    elif field in ("month", "month2", "day"):
        for value in range(1, 32 if field == "day" else 13):
            bare, padded = str(value), f"{value:02d}"
            usual = padded if field == "month2" else bare
            for word in dict.fromkeys((bare, padded)):
                yield Spelling(word, value, 1.0 if word == usual else rules.other_spelling)
    elif field == "roman-month":
        yield from _roman(rules)
    elif field == "named-month":
        for value, name in enumerate(MONTH_NAMES, start=1):
            for word in dict.fromkeys((name, name[:3], "SEPT" if value == 9 else name[:3])):
                yield Spelling(word, value, 1.0)
    else:
        digits = int(field[-1])
        low, high = (1900, 2100) if digits == 4 else (0, 10**digits)
        for value in range(low, high):
            yield Spelling(f"{value:0{digits}d}", value, 1.0)


def _roman(rules: WritingRules) -> Iterator[Spelling]:
    for value, word in enumerate(ROMAN, start=1):
        yield Spelling(word, value, 1.0)
        if value in ADDITIVE:
            yield Spelling(ADDITIVE[value], value, 1.0)
        for other in ROMAN:
            if _one_stroke_apart(word, other):
                yield Spelling(
                    other, value, rules.miscount, f"if the strokes of {word} are miscounted"
                )
            elif other != word and sorted(other) == sorted(word):
                yield Spelling(
                    other, value, rules.wrong_side, f"if a stroke of {word} is on the wrong side"
                )


def _one_stroke_apart(one: str, other: str) -> bool:
    """Tell whether dropping a single I from the longer numeral gives the shorter."""
    short, long = sorted((one, other), key=len)
    return any(
        long[place] == "I" and long[:place] + long[place + 1 :] == short
        for place in range(len(long))
    )
