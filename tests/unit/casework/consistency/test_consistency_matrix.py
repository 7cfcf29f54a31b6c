"""Wear by pairs of parts; every look of the table; nothing that accuses."""

from itertools import product

import pytest

from fakes.doubted import flag, state_of, tree, wear
from fakes.wherry_examinations import Body, look
from heelstamp.casework.consistency import WearFinding, examine_wear, parse_wear_table
from heelstamp.casework.consistency.matrix import OUTCOMES
from heelstamp.errors import InputError
from heelstamp.reference.wear import load_wear_table
from heelstamp.wording import find_banned

TABLE = load_wear_table()
LABELS = {part.key: part.label for part in tree()}


def examined(*seen: Body, replaced: dict[str, str] | None = None) -> WearFinding:
    state = state_of(list(seen))
    return examine_wear(state, TABLE, replaced=replaced or {}, labels=LABELS)


def fit(found: WearFinding, *parts: str) -> str:
    return next(one.fit for one in found.pairs if one.parts == parts)


def test_the_table_speaks_of_parts_there_are() -> None:
    assert set(TABLE.parts) <= set(tree().keys)
    assert {
        "frets",
        "neck",
        "tuners",
        "body",
        "strap_buttons",
        "socket_plate",
        "guard",
        "bridge",
        "finish",
    } <= set(TABLE.parts)
    ids = {one.id for one in TABLE.signs}
    assert {
        "uniform_rust_hidden_and_exposed",
        "sharp_bare_wood",
        "straight_cut_checking",
        "dirt_under_guard_not_in_pores",
        "fresh_flux_under_old_sleeving",
        "same_stain_paper_and_wood",
        "mark_too_crisp",
    } <= ids
    assert TABLE.source == "common practice, no source"


def test_no_word_of_the_table_accuses() -> None:
    texts = [row.because for row in TABLE.relations]
    texts += [text for one in TABLE.signs for text in (one.mismatch, *one.ordinary)]
    assert [text for text in texts if find_banned(text)] == []
    told = " ".join(texts).lower()
    for word in ("someone", "artificial", "relic", "pretend", "intent", "deliberate", "honest"):
        assert word not in told


@pytest.mark.parametrize(("body", "neck"), list(product(TABLE.grades, TABLE.grades)))
def test_a_pair_fits_within_its_bounds_and_not_outside(body: str, neck: str) -> None:
    """Of body and board neither is commonly renewed: least -2, most 1."""
    found = examined(wear("body", body), wear("neck", neck))
    apart = TABLE.grades.index(body) - TABLE.grades.index(neck)
    assert (fit(found, "body", "neck") == "fits") == (-2 <= apart <= 1)
    assert len(found.unexplained) == (0 if -2 <= apart <= 1 else 1)


def test_what_was_not_graded_is_not_seen() -> None:
    found = examined(wear("body", "heavy"), look("w", "neck", "sign", "not looked", sign="wear"))
    assert fit(found, "body", "neck") == "not seen"
    assert {one.fit for one in found.pairs} == {"not seen"}
    assert found.unexplained == []


def test_a_renewable_part_accounts_for_being_less_worn_and_for_nothing_else() -> None:
    renewed = examined(wear("frets", "none"), wear("neck", "heavy"))
    assert fit(renewed, "frets", "neck") == "accounted for"
    assert renewed.unexplained == []
    odd = examined(wear("frets", "heavy"), wear("neck", "none"))
    assert fit(odd, "frets", "neck") == "does not fit"
    assert odd.unexplained[0].parts == ["frets", "neck"]


def test_a_covered_part_more_worn_than_its_cover_is_unexplained() -> None:
    odd = examined(wear("foil", "moderate"), wear("guard", "light"))
    assert fit(odd, "foil", "guard") == "does not fit"


def test_a_replaced_part_accounts_for_a_pair() -> None:
    seen = (wear("body", "heavy"), wear("neck", "none"))
    found = examined(*seen, replaced={"neck": "probably later"})
    assert fit(found, "body", "neck") == "accounted for"
    cell = next(one for one in found.pairs if one.parts == ("body", "neck"))
    assert cell.account == "neck: probably later"
    assert found.unexplained == []


def test_several_looks_at_one_part_are_taken_together() -> None:
    found = examined(wear("body", "heavy"), wear("neck", "none", 1), wear("neck", "moderate", 2))
    assert fit(found, "body", "neck") == "fits"
    cell = next(one for one in found.pairs if one.parts == ("body", "neck"))
    assert cell.grades == (["heavy"], ["none", "moderate"])


def test_an_unexplained_pair_names_looks_frames_and_where_they_were_graded() -> None:
    (one,) = examined(wear("body", "heavy"), wear("neck", "none")).unexplained
    assert "the back of the body heavy" in one.mismatch
    assert "the board none" in one.mismatch
    assert one.observations == ["wear-body-1", "wear-neck-1"]
    assert one.frames == ["w-body-1", "w-neck-1"]
    assert one.ordinary


@pytest.mark.parametrize("sign", [one.id for one in TABLE.signs])
def test_every_look_is_unexplained_when_present_and_only_then(sign: str) -> None:
    (one,) = examined(flag(sign)).unexplained
    assert one.observations == [f"flag-{sign}"]
    assert one.frames == [f"f-{sign}"]
    assert len(one.ordinary) >= 1
    for outcome in OUTCOMES[1:]:
        assert examined(flag(sign, outcome=outcome)).unexplained == []
    for status in ("not looked", "absent", "illegible", "not applicable"):
        assert examined(look("o", "body", "sign", status, sign=sign)).unexplained == []


def test_the_same_look_on_two_parts_is_one_item() -> None:
    more = {**flag("mark_too_crisp", "neck"), "id": "second"}
    (one,) = examined(flag("mark_too_crisp"), more).unexplained
    assert one.parts == ["body", "neck"]
    assert one.observations == ["flag-mark_too_crisp", "second"]


@pytest.mark.parametrize(
    ("seen", "near"),
    [(wear("neck", "havy"), "heavy"), (flag("mark_too_crisp", outcome="presnt"), "present")],
)
def test_a_grade_that_is_none_is_refused_by_name(seen: Body, near: str) -> None:
    with pytest.raises(InputError, match=f'{seen["id"]}.*Did you mean "{near}"'):
        examined(seen)


def test_likelihoods_of_an_examiner_are_not_taken_for_a_look() -> None:
    own = look("o", "body", "sign", sign="mark_too_crisp", likelihoods={"original": 0.5})
    assert examined(own).unexplained == []


GOOD = {
    "schema": "heelstamp/wear/1",
    "source": "x",
    "grades": ["none", "some"],
    "relation": [{"parts": ["a", "b"], "least": -1, "most": 1, "because": "c"}],
    "sign": [{"id": "s", "mismatch": "m", "ordinary": ["o"]}],
}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"schema": "heelstamp/wear/2"}, "schema"),
        ({"colour": "red"}, "unknown field"),
        ({"grades": ["none"]}, "grades"),
        ({"relation": [{"parts": ["a", "b"], "least": 1, "most": 0, "because": "c"}]}, "bounds"),
        ({"relation": [{"parts": ["a", "b"], "least": -2, "most": 0, "because": "c"}]}, "bounds"),
        ({"relation": [{"parts": ["a", "a"], "least": 0, "most": 0, "because": "c"}]}, "different"),
        ({"relation": [GOOD["relation"][0], {**GOOD["relation"][0], "parts": ["b", "a"]}]}, "once"),
        ({"relation": [{**GOOD["relation"][0], "renewable": ["z"]}]}, "renews no third"),
        ({"sign": [GOOD["sign"][0]] * 2}, "twice"),
        ({"sign": [{"id": "s", "mismatch": "m", "ordinary": []}]}, "ordinary"),
    ],
)
def test_a_broken_table_is_refused(change: dict, told: str) -> None:
    parse_wear_table(GOOD, where="wear.toml")
    with pytest.raises(InputError, match=told):
        parse_wear_table({**GOOD, **change}, where="wear.toml")
