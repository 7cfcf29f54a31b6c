"""Whether printed ranges and words hold in worlds of other mechanisms than the model's.

Instruments of the invented Wherry live in `tests/fakes/lives`: made, owned, mended, and in four
worlds changed in one way each (single parts; the harness whole; a refinish with every part kept;
put together from several), beside untouched ones and a mixture. What an examiner sees of them goes
through the program as a dossier does, and what is printed (range, words, *not settled*) is held
against what was done. The lives use nothing of the model's tables.

Usage: python benchmarks/four_worlds.py [--each 400] [--seed 1] [--processes 1] [--worlds NAME ...]
                                        [--chronology FILE] [--keep FILE] [--show FILE]
"""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from collections.abc import Iterable, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from itertools import groupby
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from heelstamp.casework.dating.procedure import ready_model
from heelstamp.chronology import Chronology
from heelstamp.dating import CompiledModel
from heelstamp.reference.chronology_files import load_chronology, read_chronology_file
from heelstamp.wording.about_unsettled import NOT_SETTLED

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

if TYPE_CHECKING:
    from fakes.lives.scored import Outcome

CHUNK = 100
VERY, PROBABLY = "very probably", "probably"


Task = tuple[str, int, int, int, Path | None]
"""World, seed, number of the first instrument, how many, chronology (None: the bundled one)."""


@cache
def ready(path: Path | None) -> tuple[Chronology, CompiledModel]:
    """A chronology of the Wherry and its model."""
    chronology = read_chronology_file(path) if path else load_chronology("sallowby-wherry")
    return chronology, ready_model(chronology)


def outcomes_of(task: Task) -> list[Outcome]:
    """Some instruments of a world."""
    from fakes.lives.scored import draw, outcomes

    world, seed, first, count, path = task
    chronology, compiled = ready(path)
    drawn = [draw(world, number, seed, chronology) for number in range(first, first + count)]
    return outcomes(drawn, chronology, compiled)


def print_worlds(outcomes: Sequence[Outcome]) -> None:
    """One line a world: ranges and words."""
    from fakes.lives.scored import held, true_words, words_of

    print("share ± standard error over shops (of how many)")
    print(
        f"{'world':<17} {'90 % ranges hold':<22} {'withheld':>8} {'width':>6}  "
        f"{'very probably, true':<25} {'probably, true':<24} {'not settled':>11} {'no word':>8}"
    )
    for world, group in groupby(outcomes, key=lambda one: one.world):
        rows = list(group)
        words = [word for _, word in words_of(rows)]
        given = [one for one in rows if one.first is not None and one.last is not None]
        widths = [one.last - one.first + 1 for one in given if one.last and one.first]
        unsettled = sum(word.verdict == NOT_SETTLED for word in words)
        none = sum(not word.word for word in words) - unsettled
        print(
            f"{world:<17} {held(rows)!s:<22} {1 - len(given) / len(rows):>8.3f} "
            f"{sum(widths) / max(len(widths), 1):>6.1f}  {true_words(rows, VERY)!s:<25} "
            f"{true_words(rows, PROBABLY)!s:<24} {unsettled / len(words):>11.3f} "
            f"{none / len(words):>8.3f}"
        )


def print_states(outcomes: Sequence[Outcome]) -> None:
    """By what the parts are in truth: what was said of them, and how much of it is so."""
    from fakes.lives.scored import words_of

    print(f"\n{'world':<17} {'in truth':<16} {'parts':>6} {'very prob.':>10} {'true':>6} ", end="")
    print(f"{'probably':>9} {'true':>6} {'not settled':>12} {'no word':>8}")
    for world, group in groupby(outcomes, key=lambda one: one.world):
        by_state: dict[str, list[tuple[str, str, bool | None]]] = {}
        for _, one in words_of(group):
            by_state.setdefault(one.state, []).append((one.word, one.verdict, one.true))
        for state, rows in sorted(by_state.items()):
            count = len(rows)
            line = f"{world:<17} {state:<16} {count:>6} "
            for word, wide in ((VERY, 10), (PROBABLY, 9)):
                said = [true for told, _, true in rows if told == word]
                share = f"{sum(map(bool, said)) / len(said):.3f}" if said else "–"
                line += f"{len(said) / count:>{wide}.3f} {share:>6} "
            unsettled = sum(verdict == NOT_SETTLED for _, verdict, _ in rows)
            none = sum(not told for told, _, _ in rows) - unsettled
            print(line + f"{unsettled / count:>12.3f} {none / count:>8.3f}")


def print_wrong(outcomes: Sequence[Outcome], most: int = 12) -> None:
    """Which words are wrong most often, by world."""
    from fakes.lives.scored import words_of

    print("\nwrong most often: part, said, in truth (times; of such words on that part)")
    for world, group in groupby(outcomes, key=lambda one: one.world):
        wrong: Counter[tuple[str, str, str]] = Counter()
        said: Counter[tuple[str, str]] = Counter()
        for _, one in words_of(group):
            if one.word:
                told = f"{one.word} {one.verdict}"
                said[one.part, told] += 1
                wrong[one.part, told, one.state] += not one.true
        print(f"{world}: ", end="")
        told_of = [
            f"{part} {told}, {state} ({count}; {said[part, told]})"
            for (part, told, state), count in wrong.most_common(most)
            if count
        ]
        print("; ".join(told_of) or "none")


def run(
    worlds: Iterable[str], each: int, seed: int, processes: int, path: Path | None = None
) -> list[Outcome]:
    """Draw and print all, in the order of worlds and numbers whatever the processes."""
    tasks = [
        (world, seed, first, min(CHUNK, each - first), path)
        for world in worlds
        for first in range(0, each, CHUNK)
    ]
    if processes == 1:
        return [one for task in tasks for one in outcomes_of(task)]
    with ProcessPoolExecutor(processes) as pool:
        return [one for found in pool.map(outcomes_of, tasks) for one in found]


def main(arguments: list[str]) -> None:
    """Print the tables and what repeats them."""
    from fakes.lives.scored import NAMES, Outcome

    parser = argparse.ArgumentParser(description=(__doc__ or "").splitlines()[0])
    parser.add_argument("--each", type=int, default=400, help="instruments of each world")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--worlds", nargs="+", default=list(NAMES), choices=NAMES)
    parser.add_argument("--chronology", type=Path, help="a file in place of the bundled one")
    parser.add_argument("--keep", type=Path, help="write the outcomes to this file")
    parser.add_argument("--show", type=Path, help="print what was kept before")
    given = parser.parse_args(arguments)
    if given.show:
        outcomes = msgspec.json.decode(given.show.read_bytes(), type=list[Outcome])
    else:
        print(f"{given.each:,} instruments a world, seed {given.seed}")
        outcomes = run(given.worlds, given.each, given.seed, given.processes, given.chronology)
    if given.keep:
        given.keep.write_bytes(msgspec.json.encode(outcomes))
    print_worlds(outcomes)
    print_states(outcomes)
    print_wrong(outcomes)


if __name__ == "__main__":
    main(sys.argv[1:])
