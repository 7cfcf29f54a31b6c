"""Openings: what is shown holds, what is hidden cannot be tried, and the way leads down."""

from itertools import islice, product
from typing import Any

import pytest

from fakes.sealed import chained, seed_of
from heelstamp.archive import (
    Verdict,
    canonical_json,
    line_of,
    opening_of,
    read_json,
    seal,
    spine_of,
    verify_opening,
    verify_spine,
)
from heelstamp.archive.fields import leaf_data, leaves_of, salted_leaf
from heelstamp.errors import InputError

SERIAL = {
    "id": "o1",
    "part": "neck_plate",
    "kind": "serial",
    "status": "read",
    "text": "S10350",
    "frames": ["F1", "F2"],
}
GUESSES = 10_000


def read_serial(number: int = 1) -> dict[str, Any]:
    (entry,) = chained([("observation", SERIAL)])
    return seal(entry, seed_of(number))


def with_sibling(path: str, beside: str) -> dict[str, Any]:
    """An entry in whose tree *beside* stands next to *path*, so that one opens the other's hash."""
    for number in range(10_000):
        entry = read_serial(number)
        places = {leaf.path: at for at, leaf in enumerate(leaves_of(entry, seed_of(number)))}
        if places[path] ^ 1 == places[beside]:
            return entry
    raise AssertionError("no seed places them so")


def test_one_item_of_a_list_is_shown_without_the_others() -> None:
    entry = read_serial()
    text = opening_of(entry, ["/body/part", ("/body/frames/-", "F2")])
    proof = verify_opening(text, head=entry["digest"])
    assert proof.verdict is Verdict.SOUND
    assert sorted(proof.shown) == [("/body/frames/-", "F2"), ("/body/part", "neck_plate")]
    assert b"F1" not in text
    assert b"S10350" not in text
    assert entry["seed"].encode() not in text


@pytest.mark.parametrize("wanted", [["/body/colour"], [("/body/frames/-", "F9")], ["/seed"], []])
def test_what_the_entry_does_not_hold_is_not_opened(wanted: Any) -> None:
    with pytest.raises(InputError, match=r"no such field|nothing to show"):
        opening_of(read_serial(), wanted)


def test_an_entry_of_form_1_opens_only_whole() -> None:
    (entry,) = chained([("observation", SERIAL)], forms=1)
    with pytest.raises(InputError, match="opens only whole"):
        opening_of(entry, ["/kind"])


@pytest.mark.parametrize("head", ["", "  ", None])
def test_without_a_head_nothing_is_decided(head: str | None) -> None:
    proof = verify_opening(opening_of(read_serial(), ["/kind"]), head=head)
    assert (proof.verdict, proof.code) == (Verdict.CANNOT_DECIDE, "no head")


@pytest.mark.parametrize("head", ["g" * 64, "0" * 8])
def test_another_head_is_broken(head: str) -> None:
    proof = verify_opening(opening_of(read_serial(), ["/kind"]), head=head)
    assert (proof.verdict, proof.code, proof.shown) == (Verdict.BROKEN, "head", ())


def test_a_head_longer_than_a_digest_or_in_capitals() -> None:
    entry = read_serial()
    text = opening_of(entry, ["/kind"])
    assert verify_opening(text, head=entry["digest"].upper() + "\n").verdict is Verdict.SOUND
    assert verify_opening(text, head=entry["digest"] + "0").code == "head"


def guessed(text: bytes, path: str, salts: list[bytes], values: Any) -> int:
    """How many of `GUESSES` tries of a hidden value give a hash that is carried."""
    carried = {bytes.fromhex(one) for one in read_json(text)["hashes"]}
    tries = islice(product(values, salts), GUESSES)
    return sum(salted_leaf(salt, leaf_data(path, value)) in carried for value, salt in tries)


def test_a_hidden_serial_is_not_found_by_trying_but_with_its_salt() -> None:
    entry = with_sibling("/body/text", beside="/body/part")
    text = opening_of(entry, ["/body/part"])
    carried = read_json(text)
    halves = [bytes.fromhex(half) for one in carried["hashes"] for half in (one[:32], one[32:])]
    shown = [bytes.fromhex(row[1]) for row in carried["shown"]]
    serials = [f"S10{number:03}" for number in [*range(350, 1000), *range(350)]]
    assert guessed(text, "/body/text", [bytes(16), *shown, *halves], serials) == 0
    leaves = leaves_of(entry, bytes.fromhex(entry["seed"]))
    salt = next(leaf.salt for leaf in leaves if leaf.path == "/body/text")
    assert guessed(text, "/body/text", [salt], serials) == 1  # the control: it would be found


def chain_of_both_forms() -> list[dict[str, Any]]:
    bodies = [("observation", {**SERIAL, "id": f"o{number}"}) for number in range(1, 8)]
    return chained(bodies, forms={number: 1 if number < 4 else 2 for number in range(1, 8)})


def test_a_spine_leads_through_both_forms_and_counts_the_steps() -> None:
    entries = chain_of_both_forms()
    steps = spine_of(entries[1:], ["/kind"])
    found = verify_spine(steps, head=entries[-1]["digest"])
    assert (found.proof.verdict, found.step) == (Verdict.SOUND, 6)
    assert found.proof.values("/seq") == (2,)  # of form 1: whole
    assert steps[-1] == line_of(entries[1])


def test_a_spine_to_an_entry_of_form_2_shows_of_it_only_what_is_wanted() -> None:
    entries = chain_of_both_forms()
    steps = spine_of(entries[4:], ["/body/part"])
    found = verify_spine(steps, head=entries[-1]["digest"])
    assert found.proof.shown == (("/body/part", "neck_plate"),)
    assert all(len(step) < 1400 for step in steps)
    assert b"S10350" not in b"".join(steps)


def test_a_spine_from_a_short_head_cannot_be_decided() -> None:
    entries = chain_of_both_forms()
    found = verify_spine(spine_of(entries[3:], ["/kind"]), head=entries[-1]["digest"][:16])
    assert (found.proof.verdict, found.proof.code) == (Verdict.CANNOT_DECIDE, "head short")
    assert verify_spine((), head=None).proof.verdict is Verdict.CANNOT_DECIDE


@pytest.mark.parametrize(
    ("change", "code", "at"),
    [
        (lambda steps, _: [*steps[:1], *steps[2:]], "head", 2),
        (lambda steps, _: [steps[1], steps[0], *steps[2:]], "head", 1),
        (lambda steps, _: [*steps[:-1], b"{"], "unreadable", 6),
        (lambda steps, _: [*steps[:-1], steps[-1] + b"\n"], "not canonical", 6),
        (lambda steps, _: [*steps[:-1], steps[-1].replace(b"S10350", b"S10358")], "digest", 6),
        (lambda steps, e: [opening_of(e[-1], ["/form"]), *steps[1:]], "fields", 1),
        (lambda steps, e: [opening_of(e[-1], ["/previous"]), *steps[1:]], "fields", 1),
        (lambda steps, e: [*steps, canonical_json(e[5])], "fields", 7),
    ],
)
def test_a_spine_that_does_not_hold_tells_step_and_code(change: Any, code: str, at: int) -> None:
    entries = chain_of_both_forms()
    steps = change(list(spine_of(entries[1:], ["/kind"])), entries)
    found = verify_spine(steps, head=entries[-1]["digest"])
    assert (found.proof.verdict, found.proof.code, found.step) == (Verdict.BROKEN, code, at)


def test_form_2_below_form_1_is_no_way_down() -> None:
    entries = chained([("decision", {"id": "d1"}), ("decision", {"id": "d2"})], forms={1: 2, 2: 1})
    found = verify_spine(spine_of(entries, ["/form", "/kind"]), head=entries[-1]["digest"])
    assert (found.proof.code, found.step) == ("form", 2)
    unshown = verify_spine(spine_of(entries, ["/kind"]), head=entries[-1]["digest"])
    assert (unshown.proof.code, unshown.step) == ("form", 2)
