"""Ranges over a census: as often as they say in a drawn world, refused where too few."""

import msgspec
import pytest

from fakes.departing_world import Habits, draw_world
from fakes.short_form import short_chronology, short_document
from fakes.wherry_census import document, wherry_rows
from heelstamp.casework.census.held import LEVELS, census_held
from heelstamp.casework.census.rows import CensusRow, reading_digest
from heelstamp.chronology import dating_model
from heelstamp.dating import Evidence, FeatureSeen, Mark, SignSeen
from heelstamp.errors import InputError


def row(id_: str, seen: Evidence) -> CensusRow:
    """A census row of a drawn instrument, without its number."""
    items: list[object] = []
    for one in seen:
        if isinstance(one, Mark):
            readings = [[r.period.first, r.period.last, r.weight] for r in one.readings]
            items.append(["m", one.part, readings, one.error])
        elif isinstance(one, FeatureSeen) and one.feature[0] == "f":
            items.append(["f", one.feature, one.variant])
        elif isinstance(one, SignSeen):
            items.append(["s", one.sign, one.outcome])
    return CensusRow(
        id=id_,
        chronology="sallowby-wherry",
        how_dated="marks",
        observations=[],
        evidence=msgspec.json.encode({"e": items, "x": []}).decode(),
        read_as=reading_digest(short_chronology()),
    )


def test_a_drawn_census_holds_what_it_says() -> None:
    habits = Habits(looked_at=0.5)
    drawn = draw_world(dating_model(short_chronology()), 5, 120, habits=habits)
    rows = [row(f"r{place}", one.seen) for place, one in enumerate(drawn)]
    found = census_held(short_document(), rows, folds=3)
    print([round(one.held, 3) for one in found.levels])  # noqa: T201 - for -s
    assert found.count == 120
    assert [one.level for one in found.levels] == list(LEVELS)
    for level in (0.5, 0.9):
        one = found.level(level)
        assert one.low <= level <= one.high or abs(one.held - level) < 0.05
    shares = [one.held for one in found.levels]
    assert shares == sorted(shares)
    assert found.width_with_marks < found.width


def test_few_rows_say_nothing() -> None:
    with pytest.raises(InputError, match="too few instruments"):
        census_held(document(), wherry_rows()[:9])
    silent = [one for one in wherry_rows() if not one.teaches]
    with pytest.raises(InputError, match="too few instruments"):
        census_held(document(), [*wherry_rows()[:9], *silent])
