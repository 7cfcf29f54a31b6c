import numpy as np
import pytest

from heelstamp.chronology import dating_model, parse_chronology
from heelstamp.chronology.change_view import REACH, CensusPoint, change_view, change_views
from heelstamp.dating.changeover import variant_curves
from heelstamp.documents import parse_document
from heelstamp.errors import InputError
from heelstamp.reference.chronology_files import bundled_text, load_chronology
from heelstamp.units import Period, parse_month

WHERRY = load_chronology("sallowby-wherry")


def point(id_: str, month: str, variant: str) -> CensusPoint:
    middle = parse_month(month)
    return CensusPoint(id_, Period(middle - 3, middle + 3), middle, variant)


def learned(first: str, values: list[float]) -> object:
    data = parse_document(bundled_text("sallowby-wherry"), "x", "toml")
    row = next(one for one in data["feature"] if one["id"] == "f12")
    row["change"][0]["learned"] = {
        "first": first,
        "values": values,
        "from": 9,
        "centre": "1963-06",
        "centre_sd": 2.0,
        "centre_90": ["1963-02", "1963-10"],
        "width": 1.0,
    }
    return parse_chronology(data, name="learned")


def test_a_curve_is_the_one_that_dates() -> None:
    (curve,) = change_view(WHERRY, "f12").changes
    feature = next(one for one in dating_model(WHERRY).features if one.name == "f12")
    months = np.arange(curve.first, curve.last + 1)
    assert np.allclose(curve.values, variant_curves(feature, months)[1])
    assert curve.reached(0.5) == parse_month("1963-05")
    assert (curve.first_new, curve.last_old) == (parse_month("1963-02"), parse_month("1963-08"))


def test_a_batch_that_came_and_went_falls_again() -> None:
    (curve,) = change_view(WHERRY, "p2").changes
    assert curve.passing
    assert max(curve.values) == pytest.approx(0.47, abs=0.02)
    assert curve.values[0] < 0.01
    assert curve.values[-1] < 0.01


def test_two_change_overs_stand_each_by_itself() -> None:
    points = [
        point("a", "1956-01", "134"),
        point("b", "1960-01", "137"),
        point("c", "1967-01", "304"),
        point("d", "1967-01", "other"),
    ]
    first, second = change_view(WHERRY, "g1", points).changes
    assert [one.id for one in first.olds] == ["a"]
    assert [one.id for one in first.news] == ["b", "c"]
    assert [one.id for one in second.olds] == ["b"]  # "a" had not come so far
    assert [one.id for one in second.news] == ["c"]


def test_every_feature_is_laid_out_in_the_order_of_the_document() -> None:
    views = change_views(WHERRY, {"f12": [point("a", "1963-01", "brass rod 1.6 mm")]})
    assert [one.feature for one in views] == [one.id for one in WHERRY.features]
    assert sum(len(one.changes[0].news) for one in views) == 1
    assert all(one.invented for one in views)


def test_a_learned_curve_is_laid_out_beside_the_edition_before() -> None:
    values = np.linspace(0.0, 1.0, 400).tolist()
    now = learned("1945-01", values)
    (curve,) = change_view(now, "f12", before=WHERRY).changes  # type: ignore[arg-type]
    assert curve.learned_from == 9
    assert curve.centre_90 == Period(parse_month("1963-02"), parse_month("1963-10"))
    assert len(curve.values) == len(curve.before) <= 2 * REACH + 1
    assert curve.values[100] == pytest.approx(values[curve.first + 100 - parse_month("1945-01")])
    middle = curve.before[parse_month("1963-05") - curve.first]
    assert middle == pytest.approx(0.5)


def test_a_feature_that_is_not_there_is_refused() -> None:
    with pytest.raises(InputError, match="no such feature"):
        change_view(WHERRY, "f99")
