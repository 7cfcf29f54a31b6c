"""The proposal of outline and parts against the drawn truth."""

import numpy as np
import pytest

from fakes.finish_simulator import simulate
from heelstamp.luminescence import outline, propose


def overlap(one, two):
    return np.count_nonzero(one & two) / np.count_nonzero(one | two)


@pytest.mark.parametrize("style", ["two horns", "lozenge", "teardrop"])
def test_outline_and_parts(style):
    one = simulate(
        52,
        difficulty="medium",
        width=1200,
        style=style,
        finish="solid light",
        side="front",
        clean=True,
    )
    found = propose(one.visible)
    assert found is not None
    shape = one.labels.shape
    body = outline.filled(one.outline, np.eye(3), shape)
    parts, proposed = np.zeros(shape, bool), np.zeros(shape, bool)
    for _, polygon in one.parts:
        parts |= outline.filled(polygon, np.eye(3), shape)
    for _, polygon in found.parts:
        proposed |= outline.filled(polygon, np.eye(3), shape)
    # the neck may be cut off at the outline or up to the heel
    assert overlap(outline.filled(found.outline, np.eye(3), shape) | parts, body | parts) > 0.96
    assert np.count_nonzero(proposed & parts & body) > 0.9 * np.count_nonzero(parts & body)
    assert np.count_nonzero(proposed & body & ~parts) < 0.06 * np.count_nonzero(body & ~parts)


def test_nothing_to_propose_on_an_empty_frame():
    rng = np.random.default_rng(1)
    noise = rng.normal(120, 4, (500, 700, 3)).clip(0, 255).astype(np.uint8)
    assert propose(noise) is None
    assert propose(np.zeros((500, 700, 3), np.uint8)) is None
