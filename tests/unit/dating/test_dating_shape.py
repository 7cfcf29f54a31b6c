"""What models share is shared only where it is the same: answers stay bit for bit."""

import sys
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace

import numpy as np
import pytest

from fakes.random_dating import random_evidence, random_model
from fakes.random_openings import random_openings_evidence, random_openings_model
from heelstamp.dating.changed_tables import assumptions
from heelstamp.dating.compiled import CompiledModel
from heelstamp.dating.evidence import Evidence
from heelstamp.dating.model import DatingModel
from heelstamp.dating.posterior import infer
from heelstamp.dating.shape import MOST, Shapes


def case(seed: int) -> tuple[DatingModel, Evidence]:
    rng = np.random.default_rng(seed)
    if seed % 2:
        model = random_openings_model(rng)
        return model, random_openings_evidence(rng, model)
    model = random_model(rng)
    return model, random_evidence(rng, model)


@pytest.mark.parametrize("seed", range(12))
def test_a_changed_table_gives_what_it_gives_alone(seed: int) -> None:
    model, evidence = case(seed)
    base = CompiledModel(model)
    infer(base, evidence)  # contexts are there to be taken by mistake
    for one in assumptions(model, evidence):
        shared = infer(CompiledModel(one.model, like=base), one.evidence)
        alone = infer(CompiledModel(one.model), one.evidence)
        assert np.array_equal(shared.months, alone.months), one.name
        assert np.array_equal(shared.log_evidence, alone.log_evidence), one.name
        for part, states in alone.states.items():
            assert np.array_equal(shared.states[part], states), (one.name, part)


def test_lags_and_errors_leave_the_shape_and_openings_change_it() -> None:
    model, evidence = case(1)
    shapes = Shapes()
    first = shapes.of(model)
    for one in assumptions(model, evidence):
        kept = shapes.of(one.model) is first
        if one.name not in ("careful", "along", "matched"):  # these may find nothing to change
            assert kept == (one.name != "disturbed"), one.name


def test_shapes_are_let_go_of() -> None:
    model, _ = case(1)
    shapes = Shapes()
    first = shapes.of(model)
    for number in range(MOST + 1):
        careful = 0.5 + number / (4 * MOST)
        shapes.of(replace(model, careful_default=careful))
    assert shapes.of(model) is not first
    assert shapes.of(model).columns == first.columns


def test_several_threads_ask_at_once() -> None:
    """The model that a shop keeps ready serves requests beside each other."""
    model, _ = case(1)
    models = [replace(model, careful_default=0.3 + n / 1000) for n in range(MOST + 40)]
    shapes, before = Shapes(), sys.getswitchinterval()

    def ask(begin: int) -> None:
        for one in models[begin::8] + models[::7]:
            assert shapes.of(one).columns.width > 0

    sys.setswitchinterval(1e-6)
    try:
        with ThreadPoolExecutor(8) as threads:
            list(threads.map(ask, range(8)))
    finally:
        sys.setswitchinterval(before)
