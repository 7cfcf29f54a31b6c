"""Characters that could not be read."""

from itertools import product

from hypothesis import given, settings
from hypothesis import strategies as st

from heelstamp.marks.smudge import (
    LONGEST_RUN,
    agrees,
    completions_below,
    gaps,
    spell,
    without_long_runs,
)


@settings(max_examples=100)
@given(st.text("0159?", min_size=1, max_size=4), st.integers(-5, 12_000))
def test_completions_are_counted_as_by_listing_them(pattern, bound):
    choices = ["0123456789" if one == "?" else one for one in pattern]
    listed = sum(int("".join(one)) < bound for one in product(*choices))
    assert completions_below(pattern, bound) == listed


def test_spelling_takes_or_passes_over_what_cannot_be_read():
    assert spell("1?3", 0, ("1", "3")) == {("1?", 2): 0, ("13", 3): 1}
    assert spell("12", 0, ("1", "3")) == {}
    assert spell("x", 0, ()) == {("", 0): 0}


def test_gaps():
    assert list(gaps("-?a", 0, "-")) == [(0, False, 0), (1, True, 0), (2, True, 1)]


def test_agreement():
    assert agrees("1??", "137")
    assert not agrees("1??", "1370")


def test_long_runs_are_shortened():
    assert without_long_runs("a" + "?" * 40 + "b") == "a" + "?" * LONGEST_RUN + "b"
    assert without_long_runs("??") == "??"
