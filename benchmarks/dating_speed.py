"""Speed of the dating engine on one core, and of two peers on the same instrument."""

from __future__ import annotations

import json
import statistics
import sys
import time
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import numpy as np

from by_elimination import Elimination
from dating_case import evidence_of, model_of
from heelstamp.dating import CompiledModel, Evidence, infer, infer_many, median
from heelstamp.dating.table import encode
from plain_factors import PlainFactors, PlainTables
from results import Result, brief, seconds
from simulated import draw_instruments

CASE = Path(__file__).parents[1] / "tests" / "published" / "dating_cases" / "case_01.json"
BATCH, SEED = 1000, 7
LOOKED_AT = 0.9
CALIBRATION = (16, 2, 672)
"""Shape of the arrays of the calibration loop: those of a chunk of the engine."""


@cache
def subject() -> tuple[CompiledModel, Evidence]:
    """The model and the instrument of case 01."""
    case = json.loads(CASE.read_text("utf-8"))
    return CompiledModel(model_of(case)), evidence_of(case)


@cache
def one_instrument() -> float:
    """CPU seconds for one instrument, from observations to every marginal."""
    compiled, evidence = subject()
    return seconds(lambda: infer(compiled, evidence), repeat=101)


@cache
def batch() -> tuple[float, float, float]:
    """CPU seconds an instrument of encoding, inference and both, and observations each."""
    compiled, _ = subject()
    drawn = draw_instruments(compiled.model, BATCH, SEED)
    infer_many(compiled, drawn)
    both, coding = [], []
    for _ in range(9):
        begun = time.process_time()
        table = encode(compiled, drawn)
        coded = time.process_time()
        infer_many(compiled, table)
        coding.append((coded - begun) / BATCH)
        both.append((time.process_time() - begun) / BATCH)
    return statistics.median(coding), statistics.median(both), sum(map(len, drawn)) / BATCH


@cache
def factors() -> PlainFactors:
    """The factors of case 01 worked out without the engine."""
    compiled, evidence = subject()
    return PlainTables(compiled.model).factors(evidence)


def engine() -> Iterator[Result]:
    """Measure one instrument, and batches of a thousand."""
    one, other = np.random.default_rng(1).random((2, *CALIBRATION))
    out = np.empty(CALIBRATION)

    def multiply() -> None:
        for _ in range(1000):
            np.multiply(one, other, out=out)

    loop = seconds(multiply) * 1e3
    yield Result("calibration: multiply two arrays of 16 x 2 x 672", loop, "µs")
    yield Result("dating, batch of one", 1e3 * one_instrument(), "ms", ("at most", 3))
    coding, both, observations = batch()
    yield Result(
        "dating, batches of 1,000, encoding included",
        1 / both,
        "a second and core",
        ("at least", 6000),
        f"12 parts, {observations:.1f} observations each; {1e3 * both:.3f} ms each",
    )
    yield Result(
        "  the same, encoding left out",
        1 / (both - coding),
        "a second and core",
        ("at least", 60_000),
        beside=f"encoding alone: {1e3 * coding:.3f} ms each",
    )


def elimination() -> Iterator[Result]:
    """Measure pgmpy on case 01: the month alone, and every marginal."""
    compiled, evidence = subject()
    peer = Elimination(compiled.model, factors())
    fastest = min(
        ("greedy", "MinFill", "MinWeight"), key=lambda order: seconds(lambda: peer.months(order), 3)
    )
    month = seconds(lambda: peer.months(fastest))
    whole = seconds(lambda: peer.marginals(fastest), repeat=3)
    posterior = infer(compiled, evidence)
    ours = {part: states[0] for part, states in posterior.states.items()}
    apart = [np.abs(peer.months(fastest) - posterior.months[0]).sum() / 2]
    apart += [np.abs(peer.states(part, fastest) - ours[part]).sum() / 2 for part in ours]
    yield Result(
        "total variation to pgmpy, worst marginal", float(max(apart)), "", ("at most", 1e-9)
    )
    each = batch()[1]
    for what, took, goal in (
        ("pgmpy: every marginal over ours in batches of 1,000", whole, 8),
        ("  pgmpy: the month alone over every marginal of ours", month, None),
    ):
        yield Result(
            what,
            took / each,
            "times",
            None if goal is None else ("at least", goal),
            f"pgmpy {brief(1e3 * took)} ms ({fastest} order), ours {1e3 * each:.3f} ms; "
            f"over ours in a batch of one: {brief(took / one_instrument())} times",
        )


def sampling() -> Iterator[Result]:
    """Measure PyMC on case 01."""
    from by_sampling import sample

    compiled, evidence = subject()
    drawn = sample(compiled.model, factors(), SEED)
    months = infer(compiled, evidence).months[0]
    grid = compiled.model.completion
    apart = abs(float(np.median(drawn.months)) - (median(months, grid) - grid.first))
    yield Result("median month by PyMC, away from ours", apart, "months", ("at most", 1))
    each, one = batch()[1], one_instrument()
    yield Result(
        "PyMC: 1,000 effective draws over ours in batches of 1,000",
        drawn.for_thousand / each,
        "times",
        ("at least", 1000),
        f"PyMC {drawn.for_thousand:.2f} CPU s ({drawn.effective:.0f} effective draws in "
        f"{drawn.seconds:.2f} s); over ours in a batch of one: "
        f"{brief(drawn.for_thousand / one)} times",
    )


@cache
def openings_subject() -> tuple[CompiledModel, list[Evidence]]:
    """The invented Wherry under default openings, and S10350 with some looks missing."""
    sys.path.insert(0, str(CASE.parents[2]))
    from fakes.wherry_openings import compiled_openings, looks

    random = np.random.default_rng(SEED)
    whole = looks()
    rows = [tuple(one for one in whole if random.random() < LOOKED_AT) for _ in range(BATCH)]
    return compiled_openings(), [whole, *rows]


def openings() -> Iterator[Result]:
    """Measure the same under the openings model: 29 parts, 26 openings."""
    compiled, (whole, *rows) = openings_subject()
    infer_many(compiled, rows)
    alone = seconds(lambda: infer(compiled, whole), repeat=101)
    yield Result("openings, batch of one", 1e3 * alone, "ms", ("at most", 3))
    both = seconds(lambda: infer_many(compiled, rows), repeat=9) / BATCH
    yield Result(
        "openings, batches of 1,000, encoding included",
        1 / both,
        "a second and core",
        ("at least", 6000),
        f"29 parts, {sum(map(len, rows)) / BATCH:.1f} observations each; {1e3 * both:.3f} ms each; "
        f"{batch()[1] / both:.2f} times the speed of the short form in the same run",
    )
