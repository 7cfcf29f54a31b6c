"""The openings model by a general Bayesian-network library: pgmpy's variable elimination.

The model is written down once more as a network with a node for every variable: completion month,
history, every opening with its noisy or, careful hands, the whole swap with its source, states, the
make month of the neck, the months of other instruments (one for a whole set, one for each part by
itself). pgmpy: A. Ankan and J. Textor, Journal of Machine Learning Research 25 (2024) (from
memory).
"""

import math

import numpy as np
import pytest

from heelstamp.dating import (
    DatingModel,
    Evidence,
    Feature,
    FeatureSeen,
    Level,
    Mark,
    MixedSet,
    Opening,
    Part,
    PartSet,
    Reading,
    Screws,
    ScrewsSeen,
    SignSeen,
    Timing,
    Transition,
    infer,
    joint_sign,
)
from heelstamp.units import MonthGrid, Period
from published.test_dating_pgmpy import Network

ALLOWED = 1e-12
FIRST, SPAN, BEFORE = 12 * 1960, 12, 5
MARKS = MonthGrid(FIRST - BEFORE, FIRST + SPAN + 9)
LAG, GAP_FIRST, GAP = (0.3, 0.4, 0.2, 0.1), -2, (0.1, 0.2, 0.4, 0.2, 0.1)
LATER_FROM, ANYWHERE = 6, 0.15
PRIOR = np.linspace(1, 3, SPAN) / np.linspace(1, 3, SPAN).sum()
STATES = ("original", "period", "later", "donor")
TIMING = (Timing.BUILT, Timing.PERIOD, Timing.LATER, Timing.DONOR)
KEPT = (0.9997, 0.0001, 0.0001, 0.0001)
NECK, POT = (0.6, 0.1, 0.1, 0.2), (0.4, 0.16, 0.32, 0.12)
HISTORY = (0.7, 0.3)
REFINISH, GUARD, OFF, WIRING, JOINT = (0.05, 0.3), (0.4, 0.8), (0.15, 0.5), (0.2, 0.6), 0.06
HARNESS = (0.1, 0.25)
SOURCE = {"later": 0.6, "donor": 0.4}
CAREFUL = {"guard": 0.2, "neck_off": 0.08}

MODEL = DatingModel(
    completion=MonthGrid(FIRST, FIRST + SPAN - 1),
    marks=MARKS,
    prior=PRIOR,
    history=(("kept", HISTORY[0]), ("used", HISTORY[1])),
    assemblies=(),
    parts=(
        Part("body", ("original",), TIMING[:1], (1.0,)),
        Part("neck", STATES, TIMING, KEPT, levels=(Level((("neck_off",),), NECK),)),
        Part("pot_1", STATES, TIMING, KEPT, levels=(Level((("guard_off", "joint_1"),), POT),)),
        Part("pot_2", STATES, TIMING, KEPT, levels=(Level((("guard_off", "joint_2"),), POT),)),
    ),
    lag=LAG,
    gap_first=GAP_FIRST,
    gap=GAP,
    later_from=LATER_FROM,
    later_anywhere=ANYWHERE,
    features=tuple(
        Feature(name, part, ("a", "b", "x"), (Transition(FIRST + at, 1.5),), (0.2, 0.25, 0.55))
        for name, part, at in (("dots", "neck", 5), ("code_1", "pot_1", 3), ("code_2", "pot_2", 8))
    ),
    signs=(joint_sign("joint 1", "joint_1"), joint_sign("joint 2", "joint_2")),
    openings=(
        Opening("refinish", REFINISH, root=True),
        Opening("guard_off", GUARD, along={"refinish": 0.9}, careful="guard"),
        Opening("neck_off", OFF, along={"refinish": 0.8}),
        Opening("wiring", WIRING, (("guard_off",),), careful="guard"),
        Opening("joint_1", (JOINT,) * 2, (("guard_off",),), {"wiring": 0.6}, "guard"),
        Opening("joint_2", (JOINT,) * 2, (("guard_off",),), {"wiring": 0.5}, "guard"),
    ),
    sets=(PartSet("harness", ("pot_1", "pot_2"), HARNESS, SOURCE, (("guard_off",),)),),
    careful={"guard": CAREFUL["guard"]},
    careful_default=CAREFUL["neck_off"],
)

NECK_MARK = Mark("neck", (Reading(Period(FIRST + 6, FIRST + 6), 0.75),), 0.02)
UNTOUCHED: Evidence = (
    ScrewsSeen("guard_off", 11, 0),
    SignSeen("joint 1", "untouched"),
    SignSeen("joint 2", "doubtful"),
    FeatureSeen("code_1", "b"),
    FeatureSeen("code_2", "a"),
    NECK_MARK,
    FeatureSeen("dots", "b"),
    ScrewsSeen("neck_off", 4, 2),
)
SWAPPED: Evidence = (
    ScrewsSeen("guard_off", 11, 10),
    SignSeen("joint 1", "reworked"),
    SignSeen("joint 2", "reworked"),
    FeatureSeen("code_1", "a"),
    FeatureSeen("code_2", "a"),
    MixedSet("harness"),
    NECK_MARK,
)
FOREIGN: Evidence = (
    FeatureSeen("code_1", "a"),
    FeatureSeen("code_2", "b"),
    SignSeen("joint 1", "reworked"),
    ScrewsSeen("neck_off", 4, 4),
    FeatureSeen("dots", "a"),
    NECK_MARK,
)


def screws_seen(count: int, turned: int, done: int, careful: int) -> float:
    """The table of the method's section on openings, written out once more."""
    given = Screws()
    p = given.shown if done and not careful else given.false
    ways = math.comb(count, turned) * p**turned * (1 - p) ** (count - turned)
    if not (done and not careful):
        ways = (1 - given.tightened) * ways + given.tightened / (count + 1)
    return (1 - given.error) * ways + given.error / (count + 1)


def variant(feature: Feature, seen: int, t: int, state: int) -> float:
    change = feature.transitions[0]

    def true(month: float) -> float:
        done = 1 / (1 + math.exp((change.centre - FIRST - month) / change.width))
        return (1 - done, done, 0.0)[seen]

    p = true(t)
    if state == 1:
        p = sum(share * true(t + GAP_FIRST + i) for i, share in enumerate(GAP))
    elif state == 2:
        p = feature.later[seen]
    return (1 - feature.error) * p + feature.error / 3


def made(state: int, t: int) -> np.ndarray:
    row = np.zeros(len(MARKS))
    if state in (0, 3):
        for i, p in enumerate(LAG):
            row[t + BEFORE - i] += p
    elif state == 1:
        for i, p in enumerate(GAP):
            row[t + BEFORE + GAP_FIRST + i] += p
    else:
        row += ANYWHERE / len(row)
        row[t + BEFORE + LATER_FROM :] += (1 - ANYWHERE) / (len(row) - t - BEFORE - LATER_FROM)
    return row


def yes(p: float) -> np.ndarray:
    return np.array([1 - p, p])


def hands_told(evidence: Evidence) -> list[str]:
    """Careful hands that a look tells of; the network has no others."""
    screws = {one.opening for one in evidence if isinstance(one, ScrewsSeen)}
    joints = any(isinstance(one, SignSeen) for one in evidence)
    told = {"guard": joints or "guard_off" in screws, "neck_off": "neck_off" in screws}
    return [name for name, seen in told.items() if seen]


def network(evidence: Evidence) -> Network:
    """Write the model down as a network."""
    net = Network()
    net.add("T", SPAN, (), lambda: PRIOR)
    net.add("H", 2, (), lambda: np.array(HISTORY))
    for name in hands_told(evidence):
        net.add("careful " + name, 2, (), lambda p=CAREFUL[name]: yes(p))
    net.add("refinish", 2, ("H",), lambda h: yes(REFINISH[h]))
    for name, own, along in (("guard_off", GUARD, 0.9), ("neck_off", OFF, 0.8)):
        net.add(
            name,
            2,
            ("H", "refinish"),
            lambda h, r, own=own, along=along: yes(1 - (1 - own[h]) * (1 - along * r)),
        )
    net.add("wiring", 2, ("H", "guard_off"), lambda h, g: yes(g * WIRING[h]))
    for name, along in (("joint_1", 0.6), ("joint_2", 0.5)):
        net.add(
            name,
            2,
            ("guard_off", "wiring"),
            lambda g, w, along=along: yes(g * (1 - (1 - JOINT) * (1 - along * w))),
        )
    net.add(
        "W",
        3,
        ("H", "guard_off"),
        lambda h, g: np.array([1 - g * HARNESS[h], *(g * HARNESS[h] * p for p in SOURCE.values())]),
    )
    net.add("X set", SPAN, (), lambda: PRIOR)
    for part in ("neck", "pot_1", "pot_2"):
        net.add("X " + part, SPAN, (), lambda: PRIOR)
    net.add("S neck", 4, ("neck_off",), lambda e: np.array((KEPT, NECK)[e]))
    for i in (1, 2):
        net.add(
            f"S pot_{i}",
            4,
            ("W", "guard_off", f"joint_{i}"),
            lambda w, g, j: np.array(POT if g and j else KEPT) if w == 0 else np.eye(4)[1 + w],
        )
    net.add(
        "M neck", len(MARKS), ("T", "S neck", "X neck"), lambda t, s, x: made(s, x if s == 3 else t)
    )
    for one in evidence:
        _see(net, one)
    return net


def _see(net: Network, one: object) -> None:
    if isinstance(one, Mark):
        month, weight = one.readings[0].period.first - MARKS.first, one.readings[0].weight
        floor = one.error * weight / len(MARKS)
        net.see("mark", ("M neck",), lambda m: (1 - one.error) * weight * (m == month) + floor)
    elif isinstance(one, FeatureSeen):
        feature = next(f for f in MODEL.features if f.name == one.feature)
        seen, part = feature.variants.index(one.variant), feature.part
        parents = ("T", f"S {part}", f"X {part}")
        if part == "neck":
            net.see(
                one.feature, parents, lambda t, s, x: variant(feature, seen, x if s == 3 else t, s)
            )
        else:
            net.see(
                one.feature,
                (*parents, "W", "X set"),
                lambda t, s, x, w, y: variant(
                    feature, seen, t if s != 3 else (y if w == 2 else x), s
                ),
            )
    elif isinstance(one, ScrewsSeen):
        hand = "careful guard" if one.opening == "guard_off" else "careful neck_off"
        net.see(
            f"screws {one.opening}",
            (one.opening, hand),
            lambda e, c: screws_seen(one.count, one.turned, e, c),
        )
    elif isinstance(one, SignSeen):
        sign = next(s for s in MODEL.signs if s.name == one.sign)
        place = sign.outcomes.index(one.outcome)
        net.see(
            one.sign,
            (sign.opening or "", "careful guard"),
            lambda e, c: (1 - sign.error) * sign.table[e + e * c][place] + sign.error / 3,
        )
    else:
        assert isinstance(one, MixedSet)
        net.see("mixed", ("W",), lambda w: one.error if w else 1.0)


@pytest.mark.filterwarnings("ignore")  # pgmpy's own, of its tables and of what it calls
@pytest.mark.parametrize(
    "evidence", [UNTOUCHED, SWAPPED, FOREIGN], ids=["untouched", "swapped", "foreign"]
)
def test_same_posterior(evidence: Evidence) -> None:
    ours = infer(MODEL, evidence)
    openings = [one.name for one in MODEL.openings]
    hands = hands_told(evidence)
    parts = ("neck", "pot_1", "pot_2")
    theirs = network(evidence).ask(
        ["T", "H", "W", *openings, *(f"careful {h}" for h in hands), *(f"S {p}" for p in parts)]
    )
    worst = {
        "months": np.abs(ours.months[0] - theirs["T"]).max(),
        "history": np.abs(ours.history[0] - theirs["H"]).max(),
        "swapped": abs(ours.swapped[0, 0] - theirs["W"][1:].sum()),
        **{n: abs(ours.openings[0, i] - theirs[n][1]) for i, n in enumerate(openings)},
        **{
            f"careful {h}": abs(
                ours.careful[0, MODEL.accesses.index(h)] - theirs[f"careful {h}"][1]
            )
            for h in hands
        },
        **{p: np.abs(ours.states[p][0] - theirs[f"S {p}"]).max() for p in parts},
    }
    print({key: f"{value:.1e}" for key, value in worst.items()})  # noqa: T201 - for -s
    assert max(worst.values()) <= ALLOWED


def test_the_cases_tell_different_stories() -> None:
    assert infer(MODEL, UNTOUCHED).openings[0, 1] < 0.3
    assert infer(MODEL, SWAPPED).openings[0, 1] > 0.9
    assert infer(MODEL, FOREIGN).states["neck"][0, 3] > infer(MODEL, ()).states["neck"][0, 3]
