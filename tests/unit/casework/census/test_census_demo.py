"""The invented census of thirty: planted truth comes back, rows dated by features teach nothing."""

import copy
import json
from functools import cache

import pytest

from fakes.wherry_census import document, edition, true_months, wherry_rows
from heelstamp.casework.census.conclusions import Concluder
from heelstamp.casework.census.learn import NewEdition, learn_edition
from heelstamp.chronology import dating_model
from heelstamp.dating.model import LearnedTransition
from heelstamp.errors import InputError
from heelstamp.units import parse_month

WINDOWS = {
    f"f{number:02d}": (row.change[0].first_new, row.change[0].last_old)
    for number in range(1, 15)
    if (row := edition().feature(f"f{number:02d}")) is not None
}
"""First-new and last-old of the tables that the census was generated from."""


@cache
def learned() -> NewEdition:
    return learn_edition(document(), wherry_rows(), edition="2026-12")


def test_thirty_rows_of_which_two_are_dated_by_features_only() -> None:
    assert len(wherry_rows()) == len(true_months()) == 30
    silent = [row.id for row in wherry_rows() if not row.teaches]
    assert silent == ["16", "27"]
    assert (learned().taught, learned().silent) == (28, 2)


def test_present_ranges_hold_the_planted_months() -> None:
    """90 % ranges as printed; of thirty at least 25 (fewer come about in 4 of 100,000)."""
    found = Concluder(edition()).conclude([row.evidence for row in wherry_rows()])
    held = sum(
        one.interval["90"][0] <= true <= one.interval["90"][1]
        for one, true in zip(found, true_months(), strict=True)
    )
    assert held >= 25


@pytest.mark.parametrize("feature", WINDOWS)
def test_learned_windows_contain_the_planted_change_over(feature: str) -> None:
    (one,) = [change for change in learned().changes if change.feature == feature]
    first, last = (parse_month(end) for end in WINDOWS[feature])
    low, high = one.centre_90
    assert low <= (first + last) / 2 <= high
    assert one.looks >= 25
    assert one.centre_sd > 3  # thirty instruments over thirteen years cannot know better


def test_rows_dated_by_their_features_move_nothing_byte_for_byte() -> None:
    teachers = [row for row in wherry_rows() if row.teaches]
    with_them = json.dumps(learned().document)
    without = json.dumps(learn_edition(document(), teachers, edition="2026-12").document)
    assert with_them.encode() == without.encode()


def test_if_they_taught_they_would_move_it() -> None:
    """The test above can fail: the two rows do carry features."""
    told = [
        row if row.teaches else type(row)(**{**_fields(row), "how_dated": "marks"})
        for row in wherry_rows()
    ]
    other = learn_edition(document(), told, edition="2026-12")
    assert json.dumps(other.document) != json.dumps(learned().document)


def _fields(row: object) -> dict[str, object]:
    return {name: getattr(row, name) for name in row.__struct_fields__}  # type: ignore[attr-defined]


def test_no_circle_what_was_believed_of_a_change_over_does_not_matter() -> None:
    """Every window of the features learned is put a year off: the same curves are learned."""
    believed = document()
    for row in believed["feature"]:
        for change in row.get("change", []):
            if row["id"] in WINDOWS:
                change["first_new"], change["last_old"] = "1958-01", "1966-12"
                change["width"] = 15
    other = learn_edition(believed, wherry_rows(), edition="2026-12")
    for mine, theirs in zip(learned().document["feature"], other.document["feature"], strict=True):
        for a, b in zip(mine.get("change", []), theirs.get("change", []), strict=True):
            assert a.get("learned") == b.get("learned"), mine["id"]


def test_learning_again_from_the_new_edition_changes_nothing() -> None:
    again = learn_edition(learned().document, wherry_rows(), edition="2027-01").document
    assert {**again, "edition": "2026-12"} == learned().document


def test_what_was_seen_stays_and_the_census_is_the_source() -> None:
    row = next(one for one in learned().document["feature"] if one["id"] == "f12")
    (change,) = row["change"]
    assert (change["first_new"], change["last_old"]) == ("1963-02", "1963-08")
    assert change["source"] == "census of 28"
    assert change["learned"]["from"] == 28
    features = {one.name: one for one in dating_model(learned().chronology).features}
    assert isinstance(features["f12"].transitions[0], LearnedTransition)
    assert learned().chronology.edition == "2026-12"
    assert learned().chronology.digest != edition().digest


def test_an_earlier_source_is_kept_beside_the_census() -> None:
    told = document()
    row = next(one for one in told["feature"] if one["id"] == "f12")
    row["change"][0]["source"] = "nine necks seen"
    new = learn_edition(told, wherry_rows(), edition="2026-12")
    again = learn_edition(new.document, wherry_rows()[:25], edition="2027-01")
    for one, count in ((new, 28), (again, 24)):
        row = next(each for each in one.document["feature"] if each["id"] == "f12")
        assert row["change"][0]["source"] == f"nine necks seen; census of {count}"


def test_features_seen_too_seldom_keep_what_they_had() -> None:
    assert learned().kept == {"g3": 0, "g6": 0, "p1": 0, "p2": 0}
    before, after = document(), learned().document
    for id_ in learned().kept:
        old, new = (next(r for r in one["feature"] if r["id"] == id_) for one in (before, after))
        assert old == new
    assert {k: v for k, v in after.items() if k not in {"feature", "edition"}} == {
        k: v for k, v in before.items() if k not in {"feature", "edition"}
    }


def test_learning_needs_a_new_name_and_something_to_learn_from() -> None:
    with pytest.raises(InputError, match="needs a new name"):
        learn_edition(document(), wherry_rows(), edition=edition().edition)
    silent = [row for row in wherry_rows() if not row.teaches]
    with pytest.raises(InputError, match="nothing to learn from"):
        learn_edition(document(), silent, edition="2026-12")


def test_the_document_that_was_handed_in_is_left_alone() -> None:
    mine = document()
    before = copy.deepcopy(mine)
    learn_edition(mine, wherry_rows()[:12], edition="2026-12")
    assert mine == before
