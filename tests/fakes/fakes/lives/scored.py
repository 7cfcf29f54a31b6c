"""Printed words and ranges held against what was done to the instruments.

A word is true by what the glossary says it means, not by the model's states: *period-correct* is
right in type and time, wherever the piece came from; *later* was made after the time of the
period; *replaced* is not the first one.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from fakes.hero_stages import bare
from fakes.lives.examiner import Examiner
from fakes.lives.factory import TUNERS, Factory, Instrument, Piece
from fakes.lives.habits import draw_habits
from fakes.lives.mechanisms import WORLDS, draw_life
from fakes.lives.owners import PERIOD_FIRST, PERIOD_LAST
from fakes.lives.printed import Printed, print_many
from heelstamp.catalogue import DossierState
from heelstamp.chronology import Chronology
from heelstamp.chronology.cross_checks import NON_FACTORY
from heelstamp.dating import CompiledModel

A_SHOP = 20
"""Instruments of one shop, which share its habits and its maker's true change-overs."""
NAMES = (*WORLDS, "untouched", "mixture")


@dataclass(frozen=True)
class Word:
    """What was printed of one part.

    Attributes
    ----------
    state
        What it is in truth.
    word, verdict
        As printed; the word is empty where nothing is claimed.
    true
        Whether the verdict is so, None where nothing is claimed.
    """

    part: str
    state: str
    word: str
    verdict: str
    true: bool | None


@dataclass(frozen=True)
class Outcome:
    """What was printed of one instrument.

    Attributes
    ----------
    completed
        In truth, a month.
    first, last
        Of the printed 90 % range; None where the date was withheld.
    """

    world: str
    shop: int
    completed: int
    first: int | None
    last: int | None
    words: tuple[Word, ...]

    @property
    def held(self) -> bool | None:
        """Whether the range holds the true month."""
        if self.first is None or self.last is None:
            return None
        return self.first <= self.completed <= self.last


@dataclass(frozen=True)
class Drawn:
    """An instrument of a world and the dossier of its examination."""

    world: str
    shop: int
    one: Instrument
    state: DossierState


def draw(world: str, number: int, seed: int, chronology: Chronology) -> Drawn:
    """Draw instrument *number* of a world and examine it.

    The draw depends on world, number and seed alone, so that any part of a run can be repeated.
    """
    shop, place = divmod(number, A_SHOP)
    line = [seed, NAMES.index(world), shop]
    common = np.random.default_rng(line)
    habits = draw_habits(common)
    factory = Factory(chronology, habits, common)
    random = np.random.default_rng([*line, place])
    one = draw_life(world, factory, habits, random)
    entries = Examiner(one, factory, habits, random).examine()
    return Drawn(world, shop, one, bare(*entries))


def outcomes(
    drawn: Sequence[Drawn], chronology: Chronology, compiled: CompiledModel
) -> list[Outcome]:
    """What the program prints of them, held against what was done."""
    printed = print_many([one.state for one in drawn], chronology, compiled)
    return [_outcome(one, told) for one, told in zip(drawn, printed, strict=True)]


def _outcome(drawn: Drawn, printed: Printed) -> Outcome:
    words = []
    for row in printed.rows:
        truth = state_of(drawn.one, row.key)
        if truth is not None:
            true = is_true(drawn.one, row.key, row.verdict) if row.word else None
            words.append(Word(row.key, truth, row.word, row.verdict, true))
    span = printed.interval
    return Outcome(
        drawn.world,
        drawn.shop,
        drawn.one.completed,
        None if span is None else span.first,
        None if span is None else span.last,
        tuple(words),
    )


def state_of(one: Instrument, part: str) -> str | None:
    """What a part is in truth; None for parts that no word is about."""
    if part == "finish":
        return one.finish
    piece = _piece(one, part)
    return None if part == "body" or piece is None else piece.kind


def _piece(one: Instrument, part: str) -> Piece | None:
    if part != "tuners":
        return one.pieces.get(part)
    kinds = [one.pieces[tuner].kind for tuner in TUNERS]
    most = max(sorted(set(kinds)), key=kinds.count)
    return one.pieces[TUNERS[kinds.index(most)]]


def is_true(one: Instrument, part: str, verdict: str) -> bool:
    """Whether a printed verdict is so."""
    if part == "finish":
        return {
            "first finish": one.finish == "original",
            "first finish, touched or not": one.finish in ("original", "touched_up"),
            "touched up": one.finish == "touched_up",
            "refinished": one.finish.endswith("refinish"),
        }[verdict]
    piece = _piece(one, part)
    assert piece is not None
    away = piece.made - one.completed
    first = piece.kind == "original"
    of_type = NON_FACTORY not in piece.shows.values()
    return {
        "original": first,
        "period-correct": first or (of_type and PERIOD_FIRST <= away <= PERIOD_LAST),
        "later": not first and away > PERIOD_LAST,
        "from another": piece.kind == "donor",
        "replaced": not first,
    }[verdict]


@dataclass(frozen=True)
class Share:
    """A share of instruments or words, with the standard error over shops.

    Words of one instrument hang together, and so do instruments of one shop: the error is that of
    a ratio of sums over shops.
    """

    share: float
    error: float
    of: int

    def __str__(self) -> str:
        return "–" if not self.of else f"{self.share:.3f} ± {self.error:.3f} ({self.of:,})"


def share_of(pairs: Iterable[tuple[int, bool]]) -> Share:
    """The share of true ones among (shop, whether true)."""
    counts: dict[int, list[int]] = {}
    for shop, true in pairs:
        row = counts.setdefault(shop, [0, 0])
        row[0] += true
        row[1] += 1
    total = sum(n for _, n in counts.values())
    if not total:
        return Share(math.nan, math.nan, 0)
    share = sum(y for y, _ in counts.values()) / total
    shops = len(counts)
    square = sum((y - share * n) ** 2 for y, n in counts.values())
    error = math.sqrt(square * shops / max(shops - 1, 1)) / total
    return Share(share, error, total)


def held(outcomes: Sequence[Outcome]) -> Share:
    """How many printed ranges hold the true month."""
    return share_of((one.shop, one.held) for one in outcomes if one.held is not None)


def true_words(
    outcomes: Sequence[Outcome], word: str, wanted: Callable[[Word], bool] = lambda _: True
) -> Share:
    """How many parts of which *word* was printed are as said."""
    return share_of(
        (shop, bool(one.true))
        for shop, one in words_of(outcomes)
        if one.word == word and wanted(one)
    )


def words_of(outcomes: Iterable[Outcome]) -> Iterator[tuple[int, Word]]:
    """Every word with its shop."""
    for outcome in outcomes:
        for word in outcome.words:
            yield outcome.shop, word
