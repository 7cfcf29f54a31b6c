"""Showing single fields of one sealed entry, and the way from a printed digest down to it.

An opening carries the digest of an entry of form 2, the fields shown with place and salt, and the
hashes that stand for all the rest. Whoever holds it computes the digest anew; what is not shown
cannot be confirmed by trying, for its salt (128 bits) is not carried. It does tell how many fields
are shown, and the entry's digest: two openings of one entry can be joined. For an outsider's paper
there is `heelstamp.archive.issued`.

The text is canonical JSON without a line feed: ``{"schema", "digest", "size", "shown", "hashes"}``;
``shown`` holds ``[place, salt, path, value]`` in ascending place, ``hashes`` what
`heelstamp.archive.merkle.hidden_hashes` gives.

Checks, in this order, the first that fails being told: ``unreadable``, ``not canonical``,
``fields``, ``size``, ``place``, ``salt``, ``path``, ``twice``, ``hashes``, ``digest``, ``head``.
Sound asks for the 64 digits of the digest as known from elsewhere: fewer that fit cannot decide
(``head short``), nor can none (``no head``).
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from heelstamp.archive.canonical import canonical_json, read_strictly
from heelstamp.archive.chain import Verdict
from heelstamp.archive.digest import DIGEST_LENGTH, digest_of, is_digest
from heelstamp.archive.fields import (
    FORM,
    LEAST,
    MOST,
    SALT_BYTES,
    leaf_data,
    leaves_of,
    salted_leaf,
)
from heelstamp.archive.merkle import hidden_hashes, rebuilt_root
from heelstamp.errors import InputError

OPENING_SCHEMA = "heelstamp/opening/2"
SPINE = ("/form", "/previous")
"""What each entry between a printed digest and an opened entry shows."""

Wanted = str | tuple[str, str]
"""A path, all of whose values are shown, or a path and one item of the list there."""

_NAMES = {"schema", "digest", "size", "shown", "hashes"}
_POINTER = re.compile(r"(/([^~/]|~[01])*)+")  # RFC 6901, 3; the whole document is no field
_SALT = re.compile(rf"[0-9a-f]{{{2 * SALT_BYTES}}}")


class Refusal(Exception):  # noqa: N818 - a signal between these modules, never seen outside
    """A check of a carried proof failed: its code and what was found."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(code, message)
        self.proof = Proof(Verdict.BROKEN, code, message)


@dataclass(frozen=True, slots=True)
class Proof:
    """What the verification of an opening or a copy came to.

    Attributes
    ----------
    code
        The first check that failed, ``head short`` or ``no head``; empty when sound.
    message
        What was found, one sentence without a full stop; empty when sound.
    shown
        Paths and values, in order of place; empty when broken.
    digest
        Of the entry shown; empty when broken.
    """

    verdict: Verdict
    code: str = ""
    message: str = ""
    shown: tuple[tuple[str, Any], ...] = ()
    digest: str = ""

    def values(self, path: str) -> tuple[Any, ...]:
        """Return the values shown at *path*: several only for items of a list."""
        return tuple(value for one, value in self.shown if one == path)


def opening_of(entry: Mapping[str, object], wanted: Iterable[Wanted]) -> bytes:
    """Show some fields of a sealed entry of form 2.

    Raises
    ------
    InputError
        The entry is of form 1, which opens only whole, has no such field, or nothing is to be
        shown.
    """
    return carried_text(OPENING_SCHEMA, entry, wanted)


def verify_opening(text: bytes, *, head: str | None) -> Proof:
    """Verify an opening against the *head*, the entry's digest as known from elsewhere."""
    try:
        shown, digest = proved(text, OPENING_SCHEMA, head)
    except Refusal as refusal:
        return refusal.proof
    return judged(shown, digest, head)


def carried_text(schema: str, entry: Mapping[str, object], wanted: Iterable[Wanted]) -> bytes:
    """Text of a proof of *schema* for some fields of a sealed entry; raises as `opening_of`."""
    seed = entry.get("seed")
    if entry.get("form") != FORM or not is_digest(seed):
        raise InputError(
            "an entry of form 1 opens only whole",
            where=f"entry {entry.get('seq')}",
            remedy="Show its line, or an entry made since.",
        )
    leaves = leaves_of(entry, bytes.fromhex(str(seed)))
    chosen = frozenset(wanted)
    places = [
        place
        for place, leaf in enumerate(leaves)
        if leaf.path and (leaf.path in chosen or _as_item(leaf.path, leaf.value) in chosen)
    ]
    _check_found(chosen, [(leaves[place].path, leaves[place].value) for place in places])
    carried = {
        "schema": schema,
        "digest": entry["digest"],
        "size": len(leaves),
        "shown": [
            [place, leaves[place].salt.hex(), leaves[place].path, leaves[place].value]
            for place in places
        ],
        "hashes": [one.hex() for one in hidden_hashes([leaf.hash for leaf in leaves], places)],
    }
    return canonical_json(carried)


def _as_item(path: str, value: object) -> Wanted:
    return (path, value) if isinstance(value, str) else path


def _check_found(chosen: Collection[Wanted], shown: Sequence[tuple[str, object]]) -> None:
    found = {path for path, _ in shown} | {_as_item(*one) for one in shown}
    lacking = sorted(map(str, set(chosen) - found))
    if lacking or not chosen:
        raise InputError(
            "the entry has no such field" if lacking else "nothing to show",
            received=", ".join(lacking) or None,
            remedy="Name fields as /kind or /body/text.",
        )


def proved(text: bytes, schema: str, head: str | None) -> tuple[tuple[tuple[str, Any], ...], str]:
    """Paths and values that *text* shows, and the digest they are proved to belong to.

    Raises
    ------
    Refusal
        A check failed, up to that of the *head*, which may be short or None.
    """
    carried = _carried(text, schema)
    size, shown, hashes = carried["size"], carried["shown"], carried["hashes"]
    refuse_unless(
        _is_whole(size) and LEAST <= size <= MOST and size & (size - 1) == 0,
        "size",
        f"the number of leaves is no power of two from {LEAST} to {MOST}",
    )
    places = [row[0] for row in shown]
    refuse_unless(
        all(_is_whole(place) and 0 <= place < size for place in places)
        and all(a < b for a, b in pairwise(places)),
        "place",
        "the places do not ascend within the tree",
    )
    refuse_unless(
        all(isinstance(row[1], str) and _SALT.fullmatch(row[1]) for row in shown),
        "salt",
        f"a salt is not {2 * SALT_BYTES} hexadecimal digits",
    )
    refuse_unless(
        all(isinstance(row[2], str) and _POINTER.fullmatch(row[2]) for row in shown),
        "path",
        "a path is no JSON Pointer of a field",
    )
    refuse_unless(not _twice(shown), "twice", "a field is shown twice")
    refuse_unless(all(map(is_digest, hashes)), "hashes", "a hash is not 64 hexadecimal digits")
    leaves = {
        place: salted_leaf(bytes.fromhex(salt), leaf_data(path, value))
        for place, salt, path, value in shown
    }
    root, exact = rebuilt_root(size, leaves, [bytes.fromhex(one) for one in hashes])
    refuse_unless(exact, "hashes", "there are more or fewer hashes than the tree needs")
    refuse_unless(
        root is not None and root.hex() == carried["digest"],
        "digest",
        "what is shown does not belong to the digest carried",
    )
    digest = str(carried["digest"])
    refuse_unless(
        digest.startswith(_plain(head)), "head", "carries another digest than the one expected"
    )
    return tuple((path, value) for _, _, path, value in shown), digest


def judged(shown: tuple[tuple[str, Any], ...], digest: str, head: str | None) -> Proof:
    """Verdict on a proof that holds, by how much of its *head* is known from elsewhere."""
    known = len(_plain(head))
    if known == DIGEST_LENGTH:
        return Proof(Verdict.SOUND, shown=shown, digest=digest)
    code, message = (
        ("head short", f"the digest is known to {known} digits of {DIGEST_LENGTH}")
        if known
        else ("no head", "the digest is not known from elsewhere")
    )
    return Proof(Verdict.CANNOT_DECIDE, code, message, shown, digest)


def _carried(text: bytes, schema: str) -> dict[str, Any]:
    try:
        value, canonical = read_strictly(text)
    except InputError as error:
        raise Refusal("unreadable", error.what) from None
    refuse_unless(canonical == text, "not canonical", "differs from its canonical form")
    refuse_unless(
        isinstance(value, dict)
        and set(value) == _NAMES
        and value["schema"] == schema
        and isinstance(value["shown"], list)
        and isinstance(value["hashes"], list)
        and all(isinstance(row, list) and len(row) == 4 for row in value["shown"]),
        "fields",
        f"is not of the form {schema}",
    )
    carried: dict[str, Any] = value
    return carried


def refuse_unless(holds: object, code: str, message: str) -> None:
    """Raise `Refusal` where a check does not hold."""
    if not holds:
        raise Refusal(code, message)


def _twice(shown: Sequence[Sequence[Any]]) -> bool:
    keys = [
        (path, leaf_data(path, value) if path.endswith("/-") else b"")
        for _, _, path, value in shown
    ]
    return len(set(keys)) != len(keys)


def _is_whole(value: object) -> bool:
    return isinstance(value, int) and not isinstance(value, bool)


def _plain(head: str | None) -> str:
    return (head or "").strip().lower()


@dataclass(frozen=True, slots=True)
class SpineProof:
    """What the verification of a way down the chain came to.

    Attributes
    ----------
    proof
        Of the last step; of the first that failed otherwise.
    step
        Number of that step, from 1.
    """

    proof: Proof
    step: int


def spine_of(
    entries: Sequence[Mapping[str, object]], wanted: Iterable[Wanted]
) -> tuple[bytes, ...]:
    """Lead from the last of *entries* down to the first, of which the *wanted* fields are shown.

    Parameters
    ----------
    entries
        Sealed entries in order, without gaps; the digest of the last is the one printed. Entries of
        form 1 are carried whole, as their lines, for they have no fields to show singly.

    Raises
    ------
    InputError
        As `opening_of`.
    """
    *between, opened = reversed(entries)
    steps = [opening_of(one, SPINE) if "form" in one else canonical_json(one) for one in between]
    last = opening_of(opened, wanted) if "form" in opened else canonical_json(opened)
    return (*steps, last)


def verify_spine(steps: Sequence[bytes], *, head: str | None) -> SpineProof:
    """Verify a way down the chain from the *head*, a digest known from elsewhere.

    Every step but the last must show `SPINE`, or be a whole line of form 1; a step that does not
    is ``fields``, one of an unknown form or of form 2 below form 1 ``form``. Whether the head is
    known whole is asked of the first step.
    """
    expected, step, newest = head, 0, FORM
    first = proof = Proof(Verdict.CANNOT_DECIDE, "no head", "there is no step to verify")
    for step, text in enumerate(steps, start=1):
        proof, form = _verified_step(text, expected)
        first = proof if step == 1 else first
        if proof.verdict is Verdict.BROKEN:
            return SpineProof(proof, step)
        told = proof.values("/form")
        if form > newest or (told and (told[0] != form or isinstance(told[0], bool))):
            return SpineProof(Proof(Verdict.BROKEN, "form", "is not of the form it can be"), step)
        if step == len(steps):
            break
        previous = proof.values("/previous")
        if not told or len(previous) != 1 or not is_digest(previous[0]):
            return SpineProof(Proof(Verdict.BROKEN, "fields", "does not show its link"), step)
        expected, newest = previous[0], form
    if first.verdict is Verdict.CANNOT_DECIDE:
        proof = Proof(first.verdict, first.code, first.message, proof.shown, proof.digest)
    return SpineProof(proof, step)


def _verified_step(text: bytes, head: str | None) -> tuple[Proof, int]:
    """Verify one step, and tell the form of its entry: whole lines are of form 1."""
    try:
        value, canonical = read_strictly(text)
    except InputError as error:
        return Proof(Verdict.BROKEN, "unreadable", error.what), FORM
    if not isinstance(value, dict) or "schema" in value or "form" in value:
        return verify_opening(text, head=head), FORM
    digest = digest_of({name: one for name, one in value.items() if name != "digest"})
    try:
        refuse_unless(canonical == text, "not canonical", "differs from its canonical form")
        refuse_unless(
            value.get("digest") == digest, "digest", "does not have the digest it carries"
        )
        refuse_unless(
            digest.startswith(_plain(head)), "head", "is not what the step before leads to"
        )
    except Refusal as refusal:
        return refusal.proof, 1
    shown = [("/form", 1), *((f"/{name}", one) for name, one in value.items() if name != "digest")]
    return judged(tuple(shown), digest, head), 1
