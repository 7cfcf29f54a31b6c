import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.report import geometry

KINDS = sorted(geometry.BUILDS)
NOT_DRAWN = {"finish", "tuners", "strings", "case"}


def area(polygon: geometry.Polygon) -> float:
    pairs = zip(polygon, (*polygon[1:], polygon[0]), strict=True)
    return sum(x1 * y2 - x2 * y1 for (x1, y1), (x2, y2) in pairs) / 2


@pytest.mark.parametrize("kind", KINDS)
def test_every_part_of_the_tree_is_drawn_or_named_as_not_drawn(kind: str) -> None:
    drawn = {region.key for region in geometry.regions(kind)}
    assert drawn | NOT_DRAWN >= set(load_parts_tree(kind).keys)
    assert drawn <= set(load_parts_tree(kind).keys)


@pytest.mark.parametrize("kind", KINDS)
def test_polygons_have_area_and_stay_near_the_instrument(kind: str) -> None:
    build = geometry.build_of(kind)
    for region in geometry.regions(kind):
        assert abs(area(region.polygon)) > 10.0, region.key
        for x, y in region.polygon:
            assert abs(x) < 200.0
            assert -build.scale_mm - 220.0 < y < 200.0


@pytest.mark.parametrize("kind", KINDS)
def test_the_neck_starts_at_the_nut_and_ends_in_its_pocket(kind: str) -> None:
    build = geometry.build_of(kind)
    ys = [y for _, y in geometry.outline(kind)["neck"]]
    joint = geometry.fret_distance(build, build.joint_fret) - build.scale_mm
    assert min(ys) == -build.scale_mm
    assert max(ys) == pytest.approx(joint + build.pocket_mm)


@pytest.mark.parametrize("kind", KINDS)
def test_a_fret_stands_for_every_fret(kind: str) -> None:
    frets = [region for region in geometry.regions(kind) if region.key == "frets"]
    assert len(frets) == geometry.build_of(kind).frets


def test_the_octave_lies_halfway() -> None:
    for kind in KINDS:
        build = geometry.build_of(kind)
        assert geometry.fret_distance(build, 12) == pytest.approx(build.scale_mm / 2)


@given(st.integers(1, 30))
def test_frets_close_up_towards_the_body(fret: int) -> None:
    build = geometry.build_of("guitar")
    here, there = (geometry.fret_distance(build, n) for n in (fret, fret + 1))
    before = geometry.fret_distance(build, fret - 1)
    assert here - before > there - here > 0


def test_the_body_is_asymmetric_and_has_an_upper_horn_on_the_bass_side() -> None:
    body = geometry.outline("guitar")["body"]
    bass = min(y for x, y in body if x < -60)
    treble = min(y for x, y in body if x > 60)
    assert bass < treble - 80


def test_an_unknown_kind_is_refused_with_those_there_are() -> None:
    with pytest.raises(InputError, match="bass, guitar"):
        geometry.outline("lute")
