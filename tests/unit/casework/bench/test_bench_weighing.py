"""What is set aside leaves the date as the finding's own leave-one-out says; nothing is entered."""

from functools import cache

import pytest

from fakes.doubted import hero, misread_neck, state_of, tables, told, tree
from fakes.wherry_examinations import wherry
from heelstamp.casework.dating import date_instrument, ready_model
from heelstamp.casework.weighing import set_aside, turned, weights
from heelstamp.errors import InputError
from heelstamp.shop.subjects import names_of


@cache
def whole():
    state = state_of(hero())
    return state, date_instrument(state, wherry(), tables())


@cache
def ready():
    return ready_model(wherry())


def scale(*aside: str):
    state, _ = whole()
    found = date_instrument(set_aside(state, aside), wherry(), tables(), ready())
    return weights(state, tree(), names_of(wherry()), found.data(), aside), found


def test_setting_one_aside_gives_what_leaving_it_out_gave():
    state, finding = whole()
    for id_, one in finding.observations.items():
        if not one.used or one.leave_one_out is None:
            continue
        _, without = scale(id_)
        assert without.completion.interval == one.leave_one_out.interval, id_
        assert without.completion.median == one.leave_one_out.median, id_
    assert state.observations == whole()[0].observations


def test_a_model_made_ready_before_gives_the_same_finding():
    state, finding = whole()
    assert date_instrument(state, wherry(), tables(), ready_model(wherry())) == finding


def test_parts_that_move_the_date_most_come_first_and_what_is_aside_before_them():
    rows, _ = scale()
    assert [one.moved for one in rows] == sorted((one.moved for one in rows), reverse=True)
    assert rows[0].part == "pot_volume"
    (mark,) = [one for one in rows[0].observations if one.own]
    assert mark.own == "May 1965"
    assert not any(weight.aside for one in rows for weight in one.observations)
    last = rows[-1]
    rows, _ = scale(*last.ids)
    assert (rows[0].part, rows[0].aside, rows[0].without) == (last.part, True, "")
    assert rows[1].part == "pot_volume"


def test_part_of_a_part_can_be_aside():
    rows, _ = scale("mark-pot-volume" if "mark-pot-volume" in whole()[0].observations else first())
    assert not rows[0].aside
    assert sum(one.aside for one in rows[0].observations) == 1


def first() -> str:
    """Id of an observation of the part that moves the date most."""
    return scale()[0][0].ids[0]


def test_turning_over_is_all_out_or_all_in():
    assert turned((), ("b", "a")) == ("a", "b")
    assert turned(("a",), ("a", "b")) == ("a", "b")
    assert turned(("a", "b", "c"), ("b", "a")) == ("c",)


def test_what_does_not_stand_cannot_be_set_aside():
    with pytest.raises(InputError, match="no such observation"):
        set_aside(whole()[0], ["o-99"])


def test_stories_stand_side_by_side_as_the_sentence_tells_them():
    found, section = told(misread_neck())
    (story,) = section.stories
    (sentence,) = [one.text for one in section.statements if one.template == "two stories"]
    assert story.first.says in sentence
    assert story.second.says in sentence
    assert story.deciding in sentence
    odds = found.conflicts[0].odds
    assert story.odds.startswith("the first" if odds >= 1 else "the second")
    assert story.odds.split(", ", 1)[1] in sentence
