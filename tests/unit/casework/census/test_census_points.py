from dataclasses import replace

import numpy as np

from fakes.wherry_census import edition, wherry_rows
from heelstamp.casework.census.evidence_text import EvidenceReader
from heelstamp.casework.census.points import census_points
from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel, FeatureSeen, infer
from heelstamp.units import parse_month


def test_each_instrument_is_dated_without_the_feature_it_shows() -> None:
    points = {one.id: one for one in census_points(wherry_rows(), edition(), ["f12"])["f12"]}
    assert len(points) == 30
    compiled, reader = CompiledModel(dating_model(edition())), EvidenceReader(edition())
    row = next(one for one in wherry_rows() if one.id == "21")
    evidence, _ = reader.read(row.evidence)
    bare = [one for one in evidence if not (isinstance(one, FeatureSeen) and one.feature == "f12")]
    assert len(bare) == len(evidence) - 1
    reached = np.cumsum(infer(compiled, bare).months[0])
    first = compiled.model.completion.first
    ends = [first + int((reached >= end - 1e-12).argmax()) for end in (0.05, 0.5, 0.95)]
    assert [points["21"].months.first, points["21"].median, points["21"].months.last] == ends


def test_what_the_edition_believes_of_a_feature_does_not_move_its_points() -> None:
    (place,) = [k for k, row in enumerate(edition().features) if row.id == "f12"]
    rows = list(edition().features)
    change = rows[place].change[0]
    moved = type(change)(first_new="1955-01", last_old="1955-03")
    rows[place] = type(rows[place])(
        **{
            key: getattr(rows[place], key)
            for key in rows[place].__struct_fields__
            if key != "change"
        },
        change=[moved],
    )
    other = replace(edition(), features=tuple(rows))
    assert census_points(wherry_rows(), edition(), ["f12"]) == census_points(
        wherry_rows(), other, ["f12"]
    )


def test_rows_dated_by_their_features_teach_nothing_and_say_so() -> None:
    points = census_points(wherry_rows(), edition(), ["f12"])["f12"]
    assert {one.id for one in points if not one.teaches} == {"16", "27"}


def test_a_mark_on_many_parts_stands_once_for_each_instrument() -> None:
    points = census_points(wherry_rows(), edition(), ["g1", "none"])
    assert set(points) == {"g1"}
    assert len({(one.id, one.variant) for one in points["g1"]}) == len(points["g1"])
    assert all(one.median > parse_month("1950-01") for one in points["g1"])
