"""Sets as the trade writes them."""

import pytest

from heelstamp.casework.setup.set_text import read_action, read_set
from heelstamp.errors import InputError
from heelstamp.reference.string_tables import string_materials

MATERIALS = string_materials()
WORDS = ".009 .011 .016 plain, .024 .032 .042 wound on .013 .015 .016"


def read(text, name="set"):
    return read_set(text, MATERIALS, name=name)


def masses(text):
    return [one.mass_kg_m.value for one in read(text).strings]


def test_four_ways_of_writing_one_set():
    words = masses(WORDS)
    for text in (
        "9 11 16 24w13 32w15 42w16",
        ".009p .011p .016p .024w.013 .032w.015 .042w.016",
        "0.2286mm 0.2794mm 0.4064mm 0.6096mm w 0.8128mm w 1.0668mm w",
        "steel, .009 .011 .016 plain and .024 .032 .042 wound",
    ):
        assert masses(text) == pytest.approx(words, rel=1e-9), text


def test_labels_and_what_was_assumed():
    plain = read("9 11 16 24 32 42")
    assert [one.label for one in plain.strings] == [
        ".009 plain",
        ".011 plain",
        ".016 plain",
        ".024 wound",
        ".032 wound",
        ".042 wound",
    ]
    assert plain.assumed == (
        "Taken as plain by gauge: .009, .011, .016.",
        "Taken as wound by gauge: .024, .032, .042.",
        "Cores assumed (in): .024 on .0130, .032 on .0150, .042 on .0160.",
    )
    assert read(WORDS).assumed == ()


def test_flat_is_heavier_than_round_and_nickel_than_steel():
    (round_,), (flat,) = masses(".045w"), masses(".045f")
    assert flat > 1.15 * round_
    assert masses("nickel .045w")[0] > round_
    assert masses(".045 flatwound") == masses(".045f")


def test_a_weighed_off_cut_needs_no_construction():
    (one,) = read("0.583±0.01g/300±0.5mm").strings
    assert one.mass_kg_m.value == pytest.approx(0.583 / 300)
    assert (one.diameter_mm, one.core_mm) == (None, None)
    assert one.label == "1.943 g/m, weighed"


def test_two_sets_share_the_density_but_not_the_gauges():
    first, second = read("9", "first").strings[0], read("9", "second").strings[0]
    apart = first.mass_kg_m / second.mass_kg_m
    assert set(apart.parts) >= {"first, string 1: gauge", "second, string 1: gauge"}
    assert apart.parts["density of spring steel wire"] == pytest.approx(0.0, abs=1e-12)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("", "no string"),
        ("heavy", "not part of a set"),
        ("1 2 3", "not the gauge"),
        ("9 11 300", "not the gauge"),
        (".024w.030", "thinner than its string"),
        (".024w.024", "thinner than its string"),
    ],
)
def test_what_is_no_set_is_refused(text, said):
    with pytest.raises(InputError, match=said):
        read(text)


def test_action():
    assert read_action("1.6/2.0") == (1.6, 2.0)
    for bad in ("1.6", "a/b", "1/2/3"):
        with pytest.raises(InputError, match="not an action"):
            read_action(bad)
