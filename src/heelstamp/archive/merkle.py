"""Hash trees whose number of leaves is a power of two: root, and the path of some leaves to it.

Hashes as in RFC 9162, 2.1.1: a leaf is SHA-256(00 ‖ data), a node SHA-256(01 ‖ left ‖ right); the
first byte keeps a leaf from standing for a node. With a power of two every level is whole, so that
the tree of the RFC is the plain one computed here.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from hashlib import sha256


def leaf_hash(data: bytes) -> bytes:
    """SHA-256 of a leaf holding *data*."""
    return sha256(b"\x00" + data).digest()


def node_hash(left: bytes, right: bytes) -> bytes:
    """SHA-256 of the node over two hashes."""
    return sha256(b"\x01" + left + right).digest()


def root_of(leaves: Sequence[bytes]) -> bytes:
    """Root over the hashes of the leaves, of which there are a power of two."""
    level = list(leaves)
    while len(level) > 1:
        level = [
            sha256(b"\x01" + level[at] + level[at + 1]).digest() for at in range(0, len(level), 2)
        ]
    return level[0]


def hidden_hashes(leaves: Sequence[bytes], shown: Collection[int]) -> list[bytes]:
    """Every hash that who knows the leaves *shown* cannot compute and needs for the root.

    Per level from the leaves up, and from left to right; none when nothing is shown.
    """
    level, known = list(leaves), sorted(set(shown))
    needed: list[bytes] = []
    while len(level) > 1:
        here = set(known)
        needed += [level[place ^ 1] for place in known if place ^ 1 not in here]
        level = [node_hash(level[at], level[at + 1]) for at in range(0, len(level), 2)]
        known = sorted({place // 2 for place in known})
    return needed


def rebuilt_root(
    size: int, shown: Mapping[int, bytes], hashes: Sequence[bytes]
) -> tuple[bytes | None, bool]:
    """Compute the root of a tree of *size* leaves from some of them and `hidden_hashes`.

    Parameters
    ----------
    shown
        Hashes of leaves by place.

    Returns
    -------
    tuple
        The root, None when it cannot be computed, and whether *hashes* are used up exactly.
    """
    level, left = dict(shown), iter(hashes)
    used = 0
    while size > 1:
        above: dict[int, bytes] = {}
        for place in sorted(level):
            if place // 2 in above:
                continue
            sibling = level.get(place ^ 1)
            if sibling is None:
                sibling = next(left, None)
                if sibling is None:
                    return None, False
                used += 1
            pair = (level[place], sibling) if place % 2 == 0 else (sibling, level[place])
            above[place // 2] = node_hash(*pair)
        level, size = above, size // 2
    return level.get(0), used == len(hashes)
