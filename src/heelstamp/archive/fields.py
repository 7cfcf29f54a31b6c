"""An entry of form 2 as a tree of salted fields, whose root is its digest.

Each field of the entry is a leaf with a salt of its own, so that one can be shown and checked
without the others, and what is not shown cannot be confirmed by trying. The leaves are filled up
with decoys to one size and stand in an order drawn by lot, so that neither number nor place of the
hidden ones tells anything. All salts and places follow from one seed of 32 random bytes, which is
kept with the entry and never leaves with a copy.

1. *Fields.* For every name of the entry but ``digest`` and ``seed`` a pair of path (JSON Pointer,
   RFC 6901) and value; ``body``, and ``replacement`` in it when that is an object, are split into
   theirs. Values are whole. The lists of text `LISTS` give besides one pair for each distinct
   item, at the list's path with ``/-``.
2. *Leaf data*: RFC 8785 of ``[path, value]``, sorted by bytes; then empty data up to the size of
   the tree, the least power of two that holds them, `LEAST` to `MOST`.
3. *Secrets* of leaf j: HMAC-SHA-256 (RFC 2104) of the seed over ``heelstamp/leaf/2``, a zero byte
   and j as four bytes, the first first; 16 bytes of salt, 16 bytes of place key. The leaves stand
   in ascending order of place key.
4. *Root* after RFC 9162, 2.1.1, the data of a leaf being ``heelstamp/entry/2``, a zero byte, its
   salt and its leaf data. First bytes hashed: 00 leaf, 01 node, 7b an entry of form 1.

Salted digests of single fields after RFC 9901; decoys and shuffled places after Haber, Horne and
Zhang, "Efficient Transparent Redactable Signatures with a Single Signature Invocation".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Any

from heelstamp.archive.canonical import canonical_json, checked_json
from heelstamp.archive.merkle import leaf_hash, root_of
from heelstamp.errors import InputError

FORM = 2
"""The form that newly sealed entries have."""

SEED_BYTES = 32
SALT_BYTES = 16
LEAST, MOST = 32, 4096
"""Fewest and most leaves of a tree."""

LISTS = ("frames", "before", "after")
"""Fields of a body, lists of text, of which single items can be shown."""

_UNCOVERED = ("digest", "seed")
_LEAF_DOMAIN = b"heelstamp/entry/2\x00"
_BLOCK = 64
_INNER, _OUTER = (bytes(byte ^ pad for byte in range(256)) for pad in (0x36, 0x5C))
"""Block of SHA-256 and the two pads of HMAC (RFC 2104, 2), as tables that XOR a byte."""
_SECRET_DOMAIN = b"heelstamp/leaf/2\x00"


@dataclass(frozen=True, slots=True)
class Leaf:
    """One leaf of an entry's tree; the salt is secret until it is shown.

    Attributes
    ----------
    path, value
        JSON Pointer and value of the field; empty and None for a decoy.
    hash
        SHA-256 that stands in the tree.
    """

    salt: bytes = field(repr=False)
    path: str
    value: object
    hash: bytes


def pairs_of(entry: Mapping[str, object]) -> list[tuple[str, object]]:
    """Split an entry into the paths and values that its digest covers.

    Different entries never give the same pairs: every value is in one of them whole.
    """
    pairs: list[tuple[str, object]] = []
    for name, value in entry.items():
        if name in _UNCOVERED:
            continue
        path = "/" + _escaped(name)
        if name == "body" and isinstance(value, Mapping):
            _split_body(pairs, path, value)
        else:
            pairs.append((path, value))
    return pairs


def _split_body(
    pairs: list[tuple[str, object]], path: str, body: Mapping[str, object], *, inner: bool = False
) -> None:
    if not body:
        pairs.append((path, {}))
    for name, value in body.items():
        below = f"{path}/{_escaped(name)}"
        if name == "replacement" and not inner and isinstance(value, Mapping):
            _split_body(pairs, below, value, inner=True)
            continue
        pairs.append((below, value))
        if name in LISTS and isinstance(value, list | tuple):
            items = [item for item in value if isinstance(item, str)]
            if len(items) == len(value):
                pairs += [(below + "/-", item) for item in dict.fromkeys(items)]


def _escaped(name: str) -> str:
    """Write a name as a step of a JSON Pointer (RFC 6901, 3)."""
    return name.replace("~", "~0").replace("/", "~1")


def leaf_data(path: str, value: object) -> bytes:
    """Write what is hashed of a field beside its salt; its value must have a canonical form."""
    return checked_json((path, value))


def salted_leaf(salt: bytes, data: bytes) -> bytes:
    """Hash of the leaf of an entry that holds *data*, empty for a decoy."""
    return leaf_hash(_LEAF_DOMAIN + salt + data)


def secrets_of(seed: bytes, count: int) -> list[tuple[bytes, bytes]]:
    """Salt and place key of each of *count* leaves."""
    check_seed(seed)
    inner, outer = _keyed(seed, _INNER, _SECRET_DOMAIN), _keyed(seed, _OUTER, b"")
    secrets = []
    for number in range(count):
        inside, outside = inner.copy(), outer.copy()
        inside.update(number.to_bytes(4, "big"))
        outside.update(inside.digest())
        drawn = outside.digest()
        secrets.append((drawn[:SALT_BYTES], drawn[SALT_BYTES:]))
    return secrets


def _keyed(seed: bytes, pad: bytes, begins: bytes) -> Any:
    """SHA-256 begun as HMAC begins it (RFC 2104, 2): both beginnings serve every leaf of a seed."""
    return sha256(seed.ljust(_BLOCK, b"\0").translate(pad) + begins)


def check_seed(seed: bytes) -> None:
    """Refuse a seed that is not of `SEED_BYTES` bytes, without showing it.

    Raises
    ------
    InputError
        It has another length.
    """
    if len(seed) != SEED_BYTES:
        raise InputError(
            "a seed of another length",
            received=f"{len(seed)} bytes",
            remedy=f"Draw {SEED_BYTES} from the system's generator.",
        )


def size_for(count: int, *, where: str = "") -> int:
    """Return the number of leaves of the tree that holds *count* fields.

    Raises
    ------
    InputError
        There are more than `MOST` fields.
    """
    if count > MOST:
        raise InputError(
            "an entry of too many fields",
            where=where,
            received=count,
            remedy=f"Stay under {MOST}; make several entries.",
        )
    return max(LEAST, 1 << (count - 1).bit_length())


def leaves_of(entry: Mapping[str, object], seed: bytes, *, where: str = "") -> tuple[Leaf, ...]:
    """All leaves of an entry in the order in which they stand in its tree, decoys too.

    Raises
    ------
    InputError
        A value has no canonical form, there are too many fields, or the seed is not one.
    """
    canonical_json(dict(entry), where=where)
    field_of = {leaf_data(path, value): (path, value) for path, value in pairs_of(entry)}
    placed = _placed(list(field_of), seed, where)
    return tuple(
        Leaf(salt, *field_of.get(data, ("", None)), salted_leaf(salt, data))
        for _, salt, data in placed
    )


def digest_of_fields(entry: Mapping[str, object], seed: bytes, *, where: str = "") -> str:
    """Digest of an entry of form 2: the root of its tree, as 64 hexadecimal digits.

    Parameters
    ----------
    entry
        Fields that have a canonical form; whether they have is not asked again here.

    Raises
    ------
    InputError
        There are too many fields, or the seed is not one.
    """
    data = [leaf_data(path, value) for path, value in pairs_of(entry)]
    placed = _placed(data, seed, where)
    return root_of([salted_leaf(salt, data) for _, salt, data in placed]).hex()


def _placed(data: list[bytes], seed: bytes, where: str) -> list[tuple[bytes, bytes, bytes]]:
    """Place key, salt and data of each leaf, in ascending order of place key."""
    size = size_for(len(data), where=where)
    filled = [*sorted(data), *[b""] * (size - len(data))]
    secrets = secrets_of(seed, size)
    return sorted((key, salt, one) for (salt, key), one in zip(secrets, filled, strict=True))
