"""Marks made to agree, against features that nobody can put in afterwards: no date is given."""

from dataclasses import replace

import msgspec
import pytest

from fakes.doubted import doubts_of, hero
from fakes.wherry_examinations import Body, dated, look, tables, wherry
from heelstamp.casework.dating.fixed_features import fixed_at_odds
from heelstamp.casework.dating.procedure import gather
from heelstamp.casework.dating.translation import translate
from heelstamp.chronology import dating_model
from heelstamp.dating import CompiledModel, infer

SPRING = "1957-04"
ROD = look("f13", "rod", "feature", feature="f13", variant="head, 5.5 mm square key")
DOTS = look("f12", "neck", "feature", feature="f12", variant="brass rod 1.6 mm")
POCKET = look("f08", "body", "feature", feature="f08", variant="grey-green primer coat")


def forged(*features: Body, month: str = SPRING) -> list[Body]:
    """Four marks that all name one month, and some features."""
    readings = [{"period": month, "weight": 1.0}]
    marks = [
        look(f"mark-{part}", part, "mark", text="written", readings=readings)
        for part in ("body", "neck", "pot_volume", "pot_tone")
    ]
    return [*marks, *features]


def test_three_features_that_came_later_withhold_the_date_of_agreeing_marks() -> None:
    found = dated(forged(ROD, DOTS, POCKET))
    assert found.completion.median is None
    assert found.completion.months == {}
    assert found.completion.withheld is not None
    (reason,) = found.completion.withheld
    assert "2 features that cannot be put in afterwards" in reason
    for name in ("side dots", "truss rod adjuster"):
        assert name in reason
    # a new finish may have brought the coat of the pocket: the finish is taken for one
    assert found.parts["finish"]["original"] < 0.5
    assert "pocket" not in reason
    assert set(found.part_dates) >= {"body", "neck", "pot_volume", "pot_tone"}


@pytest.mark.parametrize("features", [(), (DOTS,), (POCKET,)])
def test_one_alone_is_a_misread_look_and_the_date_stands(features: tuple[Body, ...]) -> None:
    found = dated(forged(*features))
    assert found.completion.withheld is None
    assert found.completion.median is not None
    assert found.completion.median.startswith("1957")


def test_the_same_features_beside_marks_of_their_own_time_are_no_matter() -> None:
    found = dated(forged(ROD, DOTS, POCKET, month="1965-06"))
    assert found.completion.withheld is None
    assert found.completion.median is not None
    assert dated(hero()).completion.withheld is None


def test_features_that_can_be_exchanged_do_not_count() -> None:
    """The same record under a chronology that calls all three easy."""
    chronology = wherry()
    easy = replace(
        chronology,
        features=tuple(
            msgspec.structs.replace(row, retrofit="easy") for row in chronology.features
        ),
    )
    state, _, _ = doubts_of(forged(ROD, DOTS, POCKET))
    evidence, _ = gather(translate(list(state.observations.values()), chronology, tables()))
    compiled = CompiledModel(dating_model(chronology))
    posterior = infer(compiled, evidence)
    assert len(fixed_at_odds(compiled, evidence, posterior, chronology)) == 2
    assert fixed_at_odds(compiled, evidence, posterior, easy) == ()


def test_what_is_said_of_the_date_under_changed_tables_knows_the_rule() -> None:
    _, finding, doubts = doubts_of(forged(ROD, DOTS, POCKET))
    assert finding.completion.withheld
    turned = doubts.sensitivity.unsettled.get("date")
    assert turned is None or turned.verdict == "withheld"
    assert doubts.sensitivity.date is None
