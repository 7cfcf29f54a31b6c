"""Tables of several shops added without any of them being seen: pairwise masks that cancel.

Each two shops share a secret; of it both draw the same numbers, which one adds to its table and the
other takes off, modulo 2^64. One masked table alone is evenly spread over all numbers; the sum over
every shop is that of the tables. It takes all shops: without one of them nothing can be read, so
that in a sum no shop can be tested, and none taken out. All others together can still find what one
shop added.

Bonawitz et al., Practical secure aggregation for privacy-preserving machine learning, CCS 2017
(from memory), without its recovery of shops that fall out. Numbers are drawn with SHAKE-256
(FIPS 202).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping

import numpy as np
import numpy.typing as npt

Words = npt.NDArray[np.uint64]
"""Numbers modulo 2^64."""


def mask_of(secret: bytes, label: bytes, count: int) -> Words:
    """Draw *count* numbers from a secret.

    Parameters
    ----------
    label
        What they are for; no two tables may have the same.
    """
    drawn = hashlib.shake_256(len(label).to_bytes(4, "big") + label + secret).digest(8 * count)
    return np.frombuffer(drawn, dtype="<u8").astype(np.uint64)


def masked(
    steps: npt.NDArray[np.int64], own: str, secrets: Mapping[str, bytes], label: bytes
) -> Words:
    """Mask whole numbers.

    Parameters
    ----------
    own
        Name of this shop in the sum.
    secrets
        Secret shared with each other shop, by its name.
    """
    found = steps.astype(np.int64).view(np.uint64).copy()
    for other, secret in secrets.items():
        mask = mask_of(secret, label, steps.size).reshape(steps.shape)
        found = found + mask if own < other else found - mask
    return found


def summed(parts: Iterable[Words]) -> npt.NDArray[np.int64]:
    """Add the masked numbers of every shop; the masks cancel.

    Raises
    ------
    ValueError
        There is none.
    """
    total: Words | None = None
    for one in parts:
        total = one.copy() if total is None else total + one
    if total is None:
        raise ValueError("nothing to add")
    return total.view(np.int64)
