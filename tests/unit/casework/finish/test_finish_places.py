"""Places under the lamp and the finish as one: what is printed of either bears with the other."""

from dataclasses import replace
from math import prod

import pytest

from heelstamp.casework.finish.places import RATIO, finish_likelihoods, in_view_of_all
from heelstamp.luminescence import Assessment, later_share
from heelstamp.luminescence.findings import Region
from heelstamp.luminescence.likelihoods import place_ratio
from unit.casework.finish.test_casework_finish import region

WEAR = {"wear-through": 0.9, "touch-up": 0.06, "surface film": 0.04}


def face(*regions: Region) -> Assessment:
    return Assessment("assessed", (), regions=regions)


def told(*regions: Region) -> list[dict[str, object]]:
    return [
        {"number": one.number, "causes": one.causes, RATIO: place_ratio(one, masks_proposed=False)}
        for one in regions
    ]


def test_an_even_face_moves_the_first_coat_against_an_old_refinish_hardly_at_all() -> None:
    likely = finish_likelihoods(face())
    assert 0.8 <= likely["original"] / likely["old_refinish"] <= 1.25
    assert likely["touched_up"] < likely["original"]


def test_places_weigh_touched_against_every_other_state_alike() -> None:
    one, other = region(), region(2, causes=WEAR)
    likely = finish_likelihoods(face(one, other))
    assert likely["original"] == likely["old_refinish"] == likely["recent_refinish"]
    ratios = [place_ratio(each, masks_proposed=False) for each in (one, other)]
    none = 0.75**2
    weight = (prod(0.75 + 0.25 * r for r in ratios) - none) / (1 - none)
    assert likely["touched_up"] / likely["original"] == pytest.approx(weight)


def test_wear_alone_does_not_speak_of_repair() -> None:
    likely = finish_likelihoods(face(region(causes=WEAR)))
    assert likely["original"] == 1.0
    assert likely["touched_up"] < 1


def test_a_refused_pair_says_nothing() -> None:
    assert set(finish_likelihoods(Assessment("refused", ())).values()) == {1.0}


@pytest.mark.parametrize("touched", [0.0, 0.02, 0.5, 0.73, 1.0])
def test_no_place_is_likelier_touched_than_the_finish(touched: float) -> None:
    regions = told(region(), region(2, causes=WEAR), region(3, confidence=0.4))
    for row in in_view_of_all(regions, touched):
        assert sum(row["causes"].values()) == pytest.approx(1.0)
        assert later_share(row["causes"]) <= touched + 1e-12


def test_one_place_alone_is_touched_if_any_is() -> None:
    (row,) = in_view_of_all(told(region()), 0.37)
    assert later_share(row["causes"]) == pytest.approx(0.37)


def test_a_finding_from_before_places_had_ratios_is_told_as_it_was() -> None:
    (row,) = in_view_of_all([{"number": 1, "causes": WEAR}], 0.37)
    assert row["causes"] == WEAR


def test_what_is_no_difference_says_nothing() -> None:
    nothing = replace(region(), confidence=0.0)
    assert finish_likelihoods(face(nothing))["touched_up"] == pytest.approx(1.0)
