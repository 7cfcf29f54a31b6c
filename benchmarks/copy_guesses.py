"""What can be found by trying: a hidden serial against the hashes that an opening carries.

Every other field of the entry is known to who tries; the salts tried are those shown, zero, and
both halves of each hash carried. The entry is such that the leaf of the serial itself is carried,
which is the best that one who tries can hope for. The control tries the same with the true salt.
"""

from __future__ import annotations

import hashlib
import time
from collections.abc import Iterator
from itertools import count, product
from string import ascii_uppercase

from heelstamp.archive import opening_of, read_json, seal
from heelstamp.archive.fields import leaf_data, leaves_of, salted_leaf
from results import Result

TRIES = 10_000_000
SERIAL = {"id": "o1", "part": "neck_plate", "kind": "serial", "status": "read", "text": "S10350"}
ENTRY = {
    "seq": 2,
    "at": "2026-11-02T09:14:00Z",
    "by": "examiner A",
    "kind": "observation",
    "body": SERIAL,
    "previous": "ab" * 32,
}


def _entry() -> tuple[dict[str, object], bytes]:
    """Seal an entry in whose tree the serial stands beside the part; give it and its salt."""
    for number in count():
        seed = hashlib.sha256(f"bench seed {number}".encode()).digest()
        leaves = leaves_of({**ENTRY, "form": 2}, seed)
        places = {leaf.path: place for place, leaf in enumerate(leaves)}
        if places["/body/text"] ^ 1 == places["/body/part"]:
            return seal(ENTRY, seed), leaves[places["/body/text"]].salt
    raise AssertionError


def _found(carried: frozenset[bytes], salts: list[bytes], most: int) -> tuple[int, int]:
    tried = found = 0
    for letter, number in product("S" + ascii_uppercase, range(100_000)):
        data = leaf_data("/body/text", f"{letter}{number:05}")
        for salt in salts:
            found += salted_leaf(salt, data) in carried
            tried += 1
        if tried >= most:
            break
    return tried, found


def measure() -> Iterator[Result]:
    """Try without and with the true salt."""
    entry, salt = _entry()
    copy = read_json(opening_of(entry, ["/form", "/kind", "/body/part", "/body/status"]))
    carried = frozenset(bytes.fromhex(one) for one in copy["hashes"])
    salts = [bytes(16), *(bytes.fromhex(row[1]) for row in copy["shown"])]
    salts += [bytes.fromhex(half) for one in copy["hashes"] for half in (one[:32], one[32:])]
    begun = time.perf_counter()
    tried, found = _found(carried, salts, TRIES)
    took = time.perf_counter() - begun
    beside = f"{tried:,} tries in {took:.0f} s"
    yield Result("hidden serials found without the salt", found, "", ("at most", 0), beside)
    tried, found = _found(carried, [salt], 100_000)
    yield Result(
        "hidden serials found with it (control)", found, "", ("at least", 1), f"{tried:,} tries"
    )
