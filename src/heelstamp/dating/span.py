"""The completion months that can hold a noticeable share of the posterior of some instruments.

Z(g, t) grows with every function of the month it is made of, so put together from the most that
each of these has within a block of months it bounds Z of every month of the block. Blocks on either
side that add up to little are left out; how much that little is against the evidence is checked
afterwards, and where it is too much nothing is left out.
"""

from __future__ import annotations

import numpy as np

from heelstamp.dating.model import Array

HALVINGS = 5
BLOCK = 2**HALVINGS
"""Months of a block."""

LN_DROPPED = float(np.log(1e-12))
"""ln of the share of the evidence that may at most be left out."""

LOOSE = 1e-4
"""How far the bound of all months usually lies above the evidence: so much less is left out."""

WORTH_IT = 0.75
"""Share of the months above which all are kept."""


def block_maxima(values: Array) -> Array:
    """The largest value of each block of months, along the last axis."""
    whole = values.shape[-1] // BLOCK * BLOCK
    blocks = values[..., :whole]
    for _ in range(HALVINGS):  # several times faster than the maximum along a short axis
        blocks = np.maximum(blocks[..., ::2], blocks[..., 1::2])
    if whole == values.shape[-1]:
        return blocks
    rest = values[..., whole:].max(axis=-1, keepdims=True)
    return np.concatenate([blocks, rest], axis=-1)


def months_that_matter(bound: Array, span: int) -> tuple[slice, Array]:
    """A run of months, and a bound on what lies beyond it, (n,).

    Parameters
    ----------
    bound
        A bound on the evidence of every month of a block, (n, blocks), up to a factor a row.
    span
        Months in all.
    """
    starts = np.arange(bound.shape[1]) * BLOCK
    mass = bound * np.minimum(BLOCK, span - starts)
    tolerated = mass.sum(axis=1, keepdims=True) * (np.exp(LN_DROPPED) * LOOSE / 2)
    first = int((np.cumsum(mass, axis=1) <= tolerated).sum(axis=1).min())
    behind = int((np.cumsum(mass[:, ::-1], axis=1) <= tolerated).sum(axis=1).min())
    last = bound.shape[1] - behind
    if (last - first) * BLOCK > WORTH_IT * span or not (tolerated > 0).all():
        return slice(0, span), np.zeros(len(bound))
    beyond = mass[:, :first].sum(axis=1) + mass[:, last:].sum(axis=1)
    return slice(first * BLOCK, min(last * BLOCK, span)), beyond
