"""The same posterior by a general Bayesian-network library: pgmpy's variable elimination.

The model is written down once more as a network with a node for every variable (completion month,
history, disturbance, states, each make month, the make month of the lot, the other instrument's
month of a donor part) and asked for the same marginals. On short grids, since the library's
tables grow with the product of their parents. pgmpy: A. Ankan and J. Textor, "pgmpy: A Python
Toolkit for Bayesian Networks", Journal of Machine Learning Research 25 (2024) (from memory).
"""

import math
import warnings
from collections.abc import Callable
from itertools import product

import numpy as np
import pytest

from heelstamp.dating import (
    Assembly,
    Batch,
    DatingModel,
    Document,
    Feature,
    FeatureSeen,
    Mark,
    Part,
    Posterior,
    Reading,
    SerialNumber,
    SerialScheme,
    Sign,
    SignSeen,
    Timing,
    Transition,
    infer,
)
from heelstamp.units import MonthGrid, Period

with warnings.catch_warnings():
    # pgmpy and what it imports announce their own future changes when loaded; not ours to fix
    warnings.simplefilter("ignore")
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

ALLOWED = 1e-9
FIRST = 12 * 1960
SPAN = 24
BEFORE = 8
MARKS = MonthGrid(FIRST - BEFORE, FIRST + SPAN + 19)
LAG = (0.2, 0.3, 0.25, 0.15, 0.07, 0.03)
POT_LAG = (0.1, 0.2, 0.3, 0.2, 0.1, 0.06, 0.04)
GAP_FIRST, GAP = -4, tuple((np.arange(1, 12) / 66).tolist())
LATER_FROM, ANYWHERE = 12, 0.15
PRIOR = np.linspace(1, 3, SPAN) / np.linspace(1, 3, SPAN).sum()
STATES = ("original", "period", "later", "foreign")
TIMING = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)
KEPT, OPENED = (0.97, 0.01, 0.01, 0.01), (0.4, 0.2, 0.15, 0.25)
POT_KEPT, POT_OPENED = (0.98, 0.01, 0.01), (0.55, 0.25, 0.2)
SHARE = 0.7

MODEL = DatingModel(
    completion=MonthGrid(FIRST, FIRST + SPAN - 1),
    marks=MARKS,
    prior=PRIOR,
    history=(("kept", 0.7), ("used", 0.3)),
    assemblies=(
        Assembly("body", ("body",), (0, 0)),
        Assembly("neck", ("neck",), (0.03, 0.3)),
        Assembly("pots", ("pot_1", "pot_2"), (0.1, 0.6)),
    ),
    parts=(
        Part("body", ("original",), TIMING[:1], (1.0,), (1.0,)),
        Part("neck", STATES, TIMING, KEPT, OPENED),
        Part("pot_1", STATES[:3], TIMING[:3], POT_KEPT, POT_OPENED, POT_LAG),
        Part("pot_2", STATES[:3], TIMING[:3], POT_KEPT, POT_OPENED, POT_LAG),
    ),
    lag=LAG,
    gap_first=GAP_FIRST,
    gap=GAP,
    later_from=LATER_FROM,
    later_anywhere=ANYWHERE,
    features=(
        Feature("dots", "neck", ("a", "b", "x"), (Transition(FIRST + 11, 1.5),), (0.2, 0.25, 0.55)),
        Feature("code", "pot_1", ("a", "b"), (Transition(FIRST + 6, 3.0),), (0.5, 0.5), 0.05),
    ),
    serial=SerialScheme("body", 4.0, 0.0, 0.02),
    signs=(
        Sign(
            "fit",
            ("matched", "not"),
            ((0.9, 0.1), (0.4, 0.6), (0.3, 0.7), (0.35, 0.65)),
            "neck",
            group="look",
        ),
        Sign(
            "edge",
            ("even", "not"),
            ((0.8, 0.2), (0.5, 0.5), (0.2, 0.8), (0.4, 0.6)),
            "neck",
            group="look",
        ),
        Sign("joints", ("one", "two"), ((0.9, 0.1), (0.2, 0.8)), assembly="pots"),
    ),
    batches=(Batch(("pot_1", "pot_2"), SHARE),),
    group_failure={"look": 0.1},
)


def mark(part: str, *months: int) -> Mark:
    readings = tuple(
        Reading(Period(FIRST + m, FIRST + m), 1 / (1 + i)) for i, m in enumerate(months)
    )
    return Mark(part, readings, 0.02)


AGREE = (
    mark("body", 9),
    mark("neck", 8, 13),
    FeatureSeen("dots", "a"),
    SignSeen("fit", "matched"),
    mark("pot_1", 6),
    mark("pot_2", 6),
    FeatureSeen("code", "b"),
    SignSeen("joints", "one"),
    SerialNumber(((FIRST + 10, 1.0), (FIRST + 14, 0.5))),
    SignSeen("edge", "even"),
)
FOREIGN_NECK = (
    mark("body", 17),
    mark("neck", 1),
    mark("neck", 2, 4),
    FeatureSeen("dots", "a"),
    SignSeen("fit", "not"),
    SignSeen("edge", "not"),
    Document(Period(FIRST + 15, FIRST + 20), 0.8),
)
CHANGED_POT = (
    mark("pot_1", 5),
    mark("pot_2", 30),
    SignSeen("joints", "two"),
    FeatureSeen("code", "a"),
    mark("body", 4),
    FeatureSeen("dots", "x"),
)


def made(timing: Timing, t: int, lag: tuple[float, ...]) -> np.ndarray:
    """P(make month | completion month, timing class), on the grid of make months."""
    row = np.zeros(len(MARKS))
    if timing is Timing.BUILT:
        for months, p in enumerate(lag):
            row[t + BEFORE - months] += p
    elif timing is Timing.PERIOD:
        for months, p in enumerate(GAP):
            row[t + BEFORE + GAP_FIRST + months] += p
    else:
        row += ANYWHERE / len(row)
        after = t + BEFORE + LATER_FROM
        row[after:] += (1 - ANYWHERE) / (len(row) - after)
    return row


def mark_seen(one: Mark) -> np.ndarray:
    """P(mark | make month)."""
    named = np.zeros(len(MARKS))
    for reading in one.readings:
        named[reading.period.first - MARKS.first] += reading.weight
    return (1 - one.error) * named + one.error * named.sum() / len(MARKS)


def variant(feature: Feature, seen: int, t: int, timing: Timing) -> float:
    change = feature.transitions[0]

    def true(month: float) -> float:
        done = 1 / (1 + math.exp((change.centre - FIRST - month) / change.width))
        return (1 - done, done, 0.0)[seen]

    if timing is Timing.BUILT:
        p = true(t)
    elif timing is Timing.PERIOD:
        p = sum(share * true(t + GAP_FIRST + i) for i, share in enumerate(GAP))
    else:
        p = feature.later[seen]
    return (1 - feature.error) * p + feature.error / len(feature.variants)


def serial_seen(number: SerialNumber, t: int) -> float:
    scheme = MODEL.serial
    assert scheme is not None
    tails = [(1 + ((u - t) / scheme.scale) ** 2 / 3) ** -2 for u in range(SPAN)]
    return sum(
        w * ((1 - scheme.error) * tails[u - FIRST] / sum(tails) + scheme.error / SPAN)
        for u, w in number.months
    )


class Network:
    """A pgmpy network under construction; everything observed is a node seen in its state 1."""

    def __init__(self) -> None:
        self.tables: list[TabularCPD] = []
        self.edges: list[tuple[str, str]] = []
        self.size: dict[str, int] = {}
        self.seen: dict[str, int] = {}

    def add(
        self, name: str, size: int, parents: tuple[str, ...], row: Callable[..., np.ndarray]
    ) -> None:
        """Add a node; *row* gives its distribution for the parents' states."""
        sizes = [self.size[one] for one in parents]
        columns = [row(*given) for given in product(*map(range, sizes))]
        table = np.array(columns).T
        self.size[name] = size
        self.edges += [(one, name) for one in parents]
        self.tables.append(TabularCPD(name, size, table, list(parents) or None, sizes or None))

    def see(self, name: str, parents: tuple[str, ...], likelihood: Callable[..., float]) -> None:
        def row(*given: int) -> np.ndarray:
            p = likelihood(*given) / 3  # weights of readings may add to more than one
            return np.array([1 - p, p])

        self.add(name, 2, parents, row)
        self.seen[name] = 1

    def ask(self, names: list[str]) -> dict[str, np.ndarray]:
        network = DiscreteBayesianNetwork(self.edges)
        network.add_cpds(*self.tables)
        assert network.check_model()
        engine = VariableElimination(network)
        return {
            name: np.asarray(
                engine.query([name], evidence=self.seen, show_progress=False).values, dtype=float
            )
            for name in names
        }


def network(evidence: tuple[object, ...]) -> Network:
    """Write the model down as a network."""
    net = Network()
    marks = [one for one in evidence if isinstance(one, Mark)]
    net.add("T", SPAN, (), lambda: PRIOR)
    net.add("H", 2, (), lambda: np.array([p for _, p in MODEL.history]))
    for one in MODEL.assemblies[1:]:
        net.add(f"D {one.name}", 2, ("H",), lambda h, p=one.disturbed: np.array([1 - p[h], p[h]]))
    net.add("S neck", 4, ("D neck",), lambda d: np.array((KEPT, OPENED)[d]))
    net.add("X neck", SPAN, (), lambda: PRIOR)  # completion of the neck's own instrument
    net.add(
        "M neck",
        len(MARKS),
        ("T", "S neck", "X neck"),
        lambda t, s, x: made(TIMING[s], t, LAG) if s < 3 else made(Timing.BUILT, x, LAG),
    )
    net.add("M body", len(MARKS), ("T",), lambda t: made(Timing.BUILT, t, LAG))
    net.add("lot", 2, (), lambda: np.array([1 - SHARE, SHARE]))
    net.add("M lot", len(MARKS), ("T",), lambda t: made(Timing.BUILT, t, POT_LAG))
    for pot in ("pot_1", "pot_2"):
        net.add(f"S {pot}", 3, ("D pots",), lambda d: np.array((POT_KEPT, POT_OPENED)[d]))
        net.add(
            f"M {pot}",
            len(MARKS),
            ("T", f"S {pot}", "lot", "M lot"),
            lambda t, s, lot, m: (
                np.eye(len(MARKS))[m] if lot and s == 0 else made(TIMING[s], t, POT_LAG)
            ),
        )
    for i, one in enumerate(marks):
        likelihood = mark_seen(one)
        net.see(f"R {i}", (f"M {one.part}",), lambda m, p=likelihood: p[m])
    for one in evidence:
        if isinstance(one, FeatureSeen):
            feature = next(f for f in MODEL.features if f.name == one.feature)
            seen = feature.variants.index(one.variant)
            if feature.part == "neck":
                net.see(
                    f"F {one.feature}",
                    ("T", "S neck", "X neck"),
                    lambda t, s, x, f=feature, v=seen: (
                        variant(f, v, t, TIMING[s]) if s < 3 else variant(f, v, x, Timing.BUILT)
                    ),
                )
            else:
                net.see(
                    f"F {one.feature}",
                    ("T", f"S {feature.part}"),
                    lambda t, s, f=feature, v=seen: variant(f, v, t, TIMING[s]),
                )
        elif isinstance(one, SerialNumber):
            net.see("serial", ("T",), lambda t, n=one: serial_seen(n, t))
        elif isinstance(one, Document):
            count = len(one.period)
            inside = range(one.period.first - FIRST, one.period.last - FIRST + 1)
            wrong = 1 - one.reliability
            net.see(
                "paper",
                ("T",),
                lambda t, r=one.reliability, c=count, m=inside, w=wrong: (
                    r * (t in m) + w * c / SPAN
                ),
            )
    _add_signs(net, [one for one in evidence if isinstance(one, SignSeen)])
    return net


def _add_signs(net: Network, signs: list[SignSeen]) -> None:
    if any(one.sign in ("fit", "edge") for one in signs):
        net.add("failed", 2, (), lambda: np.array([0.9, 0.1]))
    for one in signs:
        sign = next(s for s in MODEL.signs if s.name == one.sign)
        column = [row[sign.outcomes.index(one.outcome)] for row in sign.table]
        blank = 1 / len(sign.outcomes)
        p = [(1 - sign.error) * value + sign.error * blank for value in column]
        if sign.group:
            net.see(
                f"sign {one.sign}",
                (f"S {sign.part}", "failed"),
                lambda s, failed, p=p, blank=blank: blank if failed else p[s],
            )
        else:
            net.see(f"sign {one.sign}", (f"D {sign.assembly}",), lambda d, p=p: p[d])


def distance(ours: np.ndarray, theirs: np.ndarray) -> float:
    return float(np.abs(ours - theirs).sum() / 2)


@pytest.mark.filterwarnings("ignore")  # pgmpy's own, of its tables and of what it calls
@pytest.mark.parametrize(
    "evidence", [AGREE, FOREIGN_NECK, CHANGED_POT], ids=["agree", "foreign neck", "changed pot"]
)
def test_same_posterior(evidence: tuple[object, ...]) -> None:
    ours: Posterior = infer(MODEL, evidence)  # type: ignore[arg-type]
    parts = ("neck", "pot_1", "pot_2")
    theirs = network(evidence).ask(["T", "H", "D neck", "D pots", *(f"S {p}" for p in parts)])
    worst = {
        "months": distance(ours.months[0], theirs["T"]),
        "history": distance(ours.history[0], theirs["H"]),
        "neck disturbed": abs(float(ours.disturbed[0, 1] - theirs["D neck"][1])),
        "pots disturbed": abs(float(ours.disturbed[0, 2] - theirs["D pots"][1])),
        **{part: distance(ours.states[part][0], theirs[f"S {part}"]) for part in parts},
    }
    print({key: f"{value:.1e}" for key, value in worst.items()})  # noqa: T201 - for -s
    assert max(worst.values()) <= ALLOWED


def test_the_cases_tell_different_stories() -> None:
    """What the cases are for: an original neck, a foreign one, a changed pot."""
    assert infer(MODEL, AGREE).states["neck"][0, 0] > 0.9
    assert infer(MODEL, FOREIGN_NECK).states["neck"][0, 3] > 0.5
    assert infer(MODEL, CHANGED_POT).states["pot_2"][0, 0] < 0.1
