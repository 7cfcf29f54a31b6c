"""What may be asked of a part: each feature, sign, mark and serial number, and what was entered.

A question belongs to the opening from which it can be answered. Its choices are the variants or
outcomes that the chronology lists; *not looked*, *absent*, *illegible* and *not applicable* stand
beside them as equals. Nothing is asked that neither the chronology nor the price knows how to use,
except a mark, which any part may carry. Alterations that bear on the price are asked as signs: what
is entered once is priced, printed and remembered.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Literal

from heelstamp.casework.appraisal.market import SignRow as AlterationRow
from heelstamp.catalogue import DossierState, Observation, PartsTree
from heelstamp.chronology import Chronology

Kind = Literal["feature", "sign", "mark", "serial"]
OTHERWISE = ("absent", "illegible", "not looked", "not applicable")
"""Statuses besides *read*, in the order in which they are offered."""


@dataclass(frozen=True, slots=True)
class Choice:
    """An answer: its value in the entry, and the words for it."""

    value: str
    words: str


@dataclass(frozen=True, slots=True)
class Question:
    """Something to look for on one part.

    Attributes
    ----------
    kind, subject
        Kind of observation, and the id of the feature or sign; empty for marks and serials.
    part
        Where the answer belongs: the part asked about, or the one on which it was entered.
    words
        What to call it.
    choices
        Empty where the answer is written.
    opening
        Key of the opening from which it is seen.
    standing
        The observation that answers it now, or None.
    """

    kind: Kind
    subject: str
    part: str
    words: str
    choices: tuple[Choice, ...]
    opening: str
    standing: Observation | None

    @property
    def answer(self) -> str:
        """The words of what stands: a variant, a text, or one of the four other facts."""
        seen = self.standing
        if seen is None:
            return "not looked"
        if not seen.is_read:
            return seen.status
        if seen.kind == "serial" and seen.readings:
            return " or ".join(one.text or "" for one in seen.readings)
        value = seen.variant or seen.outcome or seen.text or ""
        return next((one.words for one in self.choices if one.value == value), value or "read")


def questions_of(
    state: DossierState,
    tree: PartsTree,
    chronology: Chronology,
    part: str,
    alterations: Sequence[AlterationRow] = (),
) -> tuple[Question, ...]:
    """The questions about *part*, those seen from outside first.

    Parameters
    ----------
    alterations
        What the price knows of alterations.

    Raises
    ------
    InputError
        The tree has no such part.
    """
    home = tree.part(part).seen_from
    order = [opening.key for opening in tree.openings]
    found = list(_features(state, chronology, part))
    found += _signs(state, chronology, part, home)
    found += _alterations(state, chronology, part, home, alterations)
    found += _texts(state, chronology, part, home)
    rank = {key: place for place, key in enumerate(order)}
    return tuple(sorted(found, key=lambda one: rank.get(one.opening, len(rank))))


def _features(state: DossierState, chronology: Chronology, part: str) -> Iterator[Question]:
    for row in chronology.features:
        names = partial(_names_feature, {row.id, *row.also})
        here = _last(state, part, names)
        if part not in row.parts and here is None:
            continue
        # a feature of one part may be entered where it is seen: a rod's adjuster on rod or neck
        standing = here or (_last_anywhere(state, names) if len(row.parts) == 1 else None)
        choices = tuple(Choice(one, _words(chronology, one)) for one in row.variants)
        on = part if standing is None else standing.part
        yield Question("feature", row.id, on, row.name, choices, row.seen_from, standing)


def _signs(state: DossierState, chronology: Chronology, part: str, home: str) -> Iterator[Question]:
    for row in chronology.signs:
        if part not in row.parts:
            continue
        standing = _last(state, part, partial(_names_sign, row.id))
        choices = tuple(Choice(one, _words(chronology, one)) for one in row.outcomes)
        yield Question("sign", row.id, part, row.name, choices, home, standing)


def _alterations(
    state: DossierState, chronology: Chronology, part: str, home: str, rows: Sequence[AlterationRow]
) -> Iterator[Question]:
    weighed = {row.id for row in chronology.signs if part in row.parts}
    for row in rows:
        if row.sign not in weighed and {"*", part} & set(row.parts):
            standing = _last(state, part, partial(_names_sign, row.sign))
            choices = (Choice(row.outcome, row.words),)
            yield Question("sign", row.sign, part, row.label, choices, home, standing)


def _texts(state: DossierState, chronology: Chronology, part: str, home: str) -> Iterator[Question]:
    if chronology.serial is not None and chronology.serial.part == part:
        standing = _last(state, part, lambda one: one.kind == "serial")
        yield Question("serial", "", part, "serial number", (), home, standing)
    marks = [one for one in state.of_part(part) if one.kind == "mark"]
    if marks or any(one.part == part for one in chronology.writings):
        last = marks[-1] if marks else None
        yield Question("mark", "", part, "mark", (), home, last)


def _names_feature(ids: set[str], seen: Observation) -> bool:
    return seen.feature in ids


def _names_sign(id_: str, seen: Observation) -> bool:
    return seen.sign == id_


def _last(
    state: DossierState, part: str, fits: Callable[[Observation], bool]
) -> Observation | None:
    found = [one for one in state.of_part(part) if fits(one)]
    return found[-1] if found else None


def _last_anywhere(state: DossierState, fits: Callable[[Observation], bool]) -> Observation | None:
    found = [one for one in state.observations.values() if fits(one)]
    return found[-1] if found else None


def _words(chronology: Chronology, value: str) -> str:
    return chronology.words.get(value, value.replace("_", " "))
