"""Sentences about the census: counts, what number alone allows, and every move told."""

from heelstamp.wording import about_census as about


def test_rows_that_never_teach_are_told() -> None:
    some = about.census_added("a", count=30, chronology="sallowby-wherry", total=31, teaching=28)
    assert "learned from 28 of them. Instruments dated by their features only never" in some.text
    every = about.census_added("a", count=3, chronology="sallowby-wherry", total=3, teaching=3)
    assert every.text.endswith("3 of them.")
    assert every.layer == "measured"


def test_what_held_is_told_with_what_number_alone_allows() -> None:
    told = about.ranges_held("a", count=28, level=0.9, held=0.97, low=0.86, high=1.0)
    assert "28 instruments" in told.text
    assert "90 % ranges held 97 %" in told.text
    assert "86 % to > 99 %" in told.text


def test_moves_are_told_with_sign_and_with_the_words_before() -> None:
    moved = about.conclusion_moved(
        "a",
        id_="H-0001",
        median=2,
        ends=(-1, 3),
        turned=[("neck", "not determined", "probably original")],
    )
    assert moved.text == (
        "H-0001: median +2, 90 % range -1 and +3 months; neck: not determined → probably original."
    )
    gone = about.conclusion_moved(
        "a", id_="24", median=None, ends=(0, 0), turned=[], date="withheld"
    )
    assert gone.text == "24: date now withheld."


def test_counts() -> None:
    again = about.dated_again("a", chronology="sallowby-wherry", count=30, moved=4, first=1)
    assert again.text.endswith(
        "30 dated again; 4 moved. 1 had no earlier conclusion to compare with."
    )
    assert (
        "3 curve points"
        in about.serials_learned("a", prefix="", points=3, count=20, scatter=4).text
    )
    assert "g3 (0) and p1 (2)" in about.left_as_they_were("a", looks={"g3": 0, "p1": 2}).text
    assert "now given: 2" in about.dates_turned("a", withheld=0, given=2).text
