"""Fields as leaves: every body is told apart, order and number of the hidden ones are not told."""

from typing import Any

import hypothesis.strategies as st
import pytest
from hypothesis import given

from fakes import second_verifier
from fakes.sealed import chained, seed_of
from heelstamp.archive import canonical_json, read_json, seal
from heelstamp.archive.fields import LEAST, MOST, leaf_data, leaves_of, pairs_of, size_for
from heelstamp.archive.merkle import hidden_hashes, leaf_hash, rebuilt_root, root_of
from heelstamp.errors import InputError

# few and awkward names and values, so that bodies often nearly agree
NAMES = st.sampled_from(
    ["frames", "before", "after", "replacement", "-", "a", "a/b", "a~1b", "a~b", "", "body", "é"]
)
SCALARS = st.sampled_from([None, True, False, 0, 1, -0.5, 1e-7, "", "-", "F1", "F2", "1", "/"])
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(NAMES, inner, max_size=3),
    max_leaves=6,
)
BODIES = st.dictionaries(NAMES, VALUES, max_size=4)


def entry_with(body: dict[str, Any]) -> dict[str, Any]:
    (entry,) = chained([("observation", body)])
    return entry


def joined(leaves: set[bytes]) -> Any:
    """The body that leaves were made of, from the leaves alone."""
    body: dict[str, Any] = {}
    for path, value in map(read_json, leaves):
        first, *steps = [one.replace("~1", "/").replace("~0", "~") for one in path.split("/")[1:]]
        if first != "body":
            continue
        if not steps:
            return value
        if len(steps) == 1:
            body[steps[0]] = {} if isinstance(value, dict) and steps[0] == "replacement" else value
        elif len(steps) == 2 and steps[0] == "replacement":
            body.setdefault("replacement", {})[steps[1]] = value
        else:
            assert steps[-1] == "-"  # an item of a list that stands whole besides
    return body


@given(BODIES)
def test_the_leaves_say_the_whole_body_so_that_no_two_bodies_have_the_same(body: Any) -> None:
    leaves = {leaf_data(path, value) for path, value in pairs_of({"kind": "k", "body": body})}
    assert canonical_json(joined(leaves)) == canonical_json(body)


@given(BODIES, BODIES)
def test_different_bodies_never_have_the_same_leaves(one: Any, other: Any) -> None:
    leaves, others = (
        {leaf_data(path, value) for path, value in pairs_of({"body": body})}
        for body in (one, other)
    )
    assert (leaves == others) == (canonical_json(one) == canonical_json(other))


@given(BODIES, st.binary(min_size=32, max_size=32))
def test_a_second_reading_computes_the_same_digest(body: Any, seed: bytes) -> None:
    sealed = seal({**entry_with(body), "form": None}, seed)
    assert second_verifier.digest(sealed) == sealed["digest"]


def test_lists_of_text_have_a_leaf_for_each_item_and_other_lists_none() -> None:
    body = {"frames": ["F2", "F1", "F2"], "before": ["m1", 2], "likes": ["a"], "after": []}
    paths = [path for path, _ in pairs_of({"body": body})]
    assert paths == [
        "/body/frames",
        "/body/frames/-",
        "/body/frames/-",
        "/body/before",
        "/body/likes",
        "/body/after",
    ]


def test_all_trees_of_usual_entries_have_one_size_and_places_tell_nothing() -> None:
    places: set[int] = set()
    for number in range(60):
        leaves = leaves_of(entry_with({"id": "o1", "text": "S1"}), seed_of(number))
        assert len(leaves) == LEAST
        places |= {at for at, leaf in enumerate(leaves) if leaf.path == "/body/text"}
    assert len(places) > 20  # of 32; 60 draws leave fewer than 21 once in 10^8 (computed)


@pytest.mark.parametrize(
    ("count", "size"), [(1, 32), (32, 32), (33, 64), (64, 64), (65, 128), (4096, MOST)]
)
def test_the_tree_is_the_least_that_holds_the_fields(count: int, size: int) -> None:
    assert size_for(count) == size


def test_more_fields_than_the_largest_tree_holds_are_refused() -> None:
    with pytest.raises(InputError, match=r"entry 7: .*too many fields"):
        size_for(MOST + 1, where="entry 7")


@given(st.sets(st.integers(0, 63), min_size=1))
def test_any_shown_leaves_and_the_hidden_hashes_give_the_root(shown: set[int]) -> None:
    leaves = [leaf_hash(bytes([number])) for number in range(64)]
    hashes = hidden_hashes(leaves, shown)
    known = {place: leaves[place] for place in shown}
    assert rebuilt_root(64, known, hashes) == (root_of(leaves), True)
    assert rebuilt_root(64, known, [*hashes, leaves[0]]) == (root_of(leaves), False)
    if hashes:
        assert rebuilt_root(64, known, hashes[:-1]) == (None, False)
