"""The shop's own record: what it had said, against what later became known.

A case is one part of one instrument, with the probability of first fitting that the shop had given
it, or one date, with its ranges. Parts are sorted by the words of probability, so that the table
answers *of what you called very probably original, how much was?* Cases of one instrument are not
independent of each other; their number and that of the instruments are both told.

Interval of a share: Wilson's; score: Brier's, beside the score of who had said the observed share
of every part (both as in `heelstamp.dating.calibration`).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

import msgspec

from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import DossierState, LaterKnown
from heelstamp.dating.calibration import wilson
from heelstamp.errors import InputError
from heelstamp.units import Period, format_month
from heelstamp.wording.strength import PROBABLY, VERY_PROBABLY

DATE = "date"
PART = "part:"
LEAST_CASES = 20
"""Cases below which a paper is silent of the shop's record (our choice)."""

BANDS: tuple[tuple[str, float, float], ...] = (
    ("very probably not original", 0.0, 1 - VERY_PROBABLY),
    ("probably not original", 1 - VERY_PROBABLY, 1 - PROBABLY),
    ("not determined", 1 - PROBABLY, PROBABLY),
    ("probably original", PROBABLY, VERY_PROBABLY),
    ("very probably original", VERY_PROBABLY, 1.0),
)
"""Words and the probabilities of first fitting that earn them; a threshold earns the firmer."""


class Band(msgspec.Struct, frozen=True, kw_only=True):
    """Cases of which the shop had said the same word.

    Attributes
    ----------
    stated
        Mean probability of first fitting that had been given.
    original
        How many were first fitted.
    low, high
        90 % interval of the share that were.
    """

    words: str
    cases: int
    stated: float
    original: int
    low: float
    high: float


class Ranges(msgspec.Struct, frozen=True, kw_only=True):
    """How many dates lay in the ranges of one level; *low*, *high*: 90 % interval of the share."""

    level: float
    cases: int
    held: int
    low: float
    high: float


class OwnRecord(msgspec.Struct, frozen=True, kw_only=True):
    """The shop's record.

    Attributes
    ----------
    instruments, parts, dates
        Instruments of which something became known later; cases of each kind.
    brier
        Mean squared difference of probability and outcome, parts; None without any.
    brier_of_share
        The same for who had said the observed share of every part.
    """

    instruments: int
    parts: int
    dates: int
    bands: list[Band]
    ranges: list[Ranges]
    brier: float | None
    brier_of_share: float | None

    @property
    def stands(self) -> bool:
        """Whether there are cases enough to print it."""
        return self.parts + self.dates >= LEAST_CASES


@dataclass(frozen=True, slots=True)
class Stated:
    """What a shop had said of a dossier, from its date finding of then."""

    finding: Mapping[str, Any]

    def entry(
        self,
        id_: str,
        about: str,
        *,
        source: str,
        original: bool | None = None,
        months: Period | None = None,
    ) -> NewEntry:
        """The entry that keeps what became known, with what had been said of it.

        Raises
        ------
        InputError
            Nothing was said of this part or date; both or neither of *original* and *months*.
        """
        body: dict[str, Any] = {"id": id_, "about": about, "source": source}
        if about == DATE:
            interval = self.finding["completion"]["interval"]
            if original is not None or months is None:
                raise _wants(about, "the months that the date can have been")
            if not interval.get("90"):
                raise _unsaid(about, "no date was given")
            body |= {
                "months": [format_month(months.first), format_month(months.last)],
                "half": list(interval["50"]),
                "nine_tenths": list(interval["90"]),
            }
        else:
            states = self.finding["parts"].get(about.removeprefix(PART))
            if months is not None or original is None:
                raise _wants(about, "whether it was fitted first")
            if not about.startswith(PART) or states is None:
                raise _unsaid(about, "nothing is computed of this part")
            body |= {"original": original, "stated": round(float(states["original"]), 6)}
        if self.finding.get("digest"):
            body["finding"] = self.finding["digest"]
        return NewEntry("later_known", body)


def own_record(dossiers: Iterable[DossierState]) -> OwnRecord:
    """Count all that became known later, over the dossiers of a shop."""
    instruments, parts, dates = 0, [], []
    for state in dossiers:
        # of one matter the last that became known counts
        known = {one.about: one for one in state.of(LaterKnown).values()}
        instruments += bool(known)
        parts += [one for about, one in known.items() if about != DATE]
        dates += [one for about, one in known.items() if about == DATE]
    pairs = [(one.stated or 0.0, bool(one.original)) for one in parts]
    share = sum(happened for _, happened in pairs) / len(pairs) if pairs else 0.0
    return OwnRecord(
        instruments=instruments,
        parts=len(parts),
        dates=len(dates),
        bands=[band for row in BANDS if (band := _band(row, pairs)) is not None],
        ranges=_ranges(dates),
        brier=_brier(pairs) if pairs else None,
        brier_of_share=_brier([(share, happened) for _, happened in pairs]) if pairs else None,
    )


def _band(row: tuple[str, float, float], pairs: list[tuple[float, bool]]) -> Band | None:
    words, _, _ = row
    inside = [one for one in pairs if _words(one[0]) == words]
    if not inside:
        return None
    original = sum(happened for _, happened in inside)
    low, high = wilson(original / len(inside), len(inside))
    return Band(
        words=words,
        cases=len(inside),
        stated=sum(p for p, _ in inside) / len(inside),
        original=original,
        low=max(0.0, low),
        high=min(1.0, high),
    )


def _words(p: float) -> str:
    """The word of a probability; on the lower side a threshold earns the firmer word too."""
    if p >= PROBABLY:
        return next(words for words, low, _ in reversed(BANDS) if p >= low)
    return next(words for words, _, high in BANDS if p <= high + 1e-12)


def _ranges(dates: list[LaterKnown]) -> list[Ranges]:
    """A range holds a date where all the months that it can have been lie in it."""
    found = []
    for level, field in ((0.5, "half"), (0.9, "nine_tenths")):
        held = 0
        for one in dates:
            stated, known = (Period.parse(list(getattr(one, key))) for key in (field, "months"))
            held += stated.first <= known.first and known.last <= stated.last
        if dates:
            low, high = wilson(held / len(dates), len(dates))
            found.append(
                Ranges(
                    level=level, cases=len(dates), held=held, low=max(0.0, low), high=min(1.0, high)
                )
            )
    return found


def _brier(pairs: list[tuple[float, bool]]) -> float:
    return sum((p - happened) ** 2 for p, happened in pairs) / len(pairs)


def _wants(about: str, what: str) -> InputError:
    return InputError(f"of this tell {what}", received=about, remedy="Give that, and no other.")


def _unsaid(about: str, why: str) -> InputError:
    return InputError(
        "nothing was said of it that could be held against what is known",
        received=f"{about}: {why}",
        remedy="Name date, or a part with a state, as part:neck.",
    )
