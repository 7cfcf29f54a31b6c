"""When the plan says stop: each row of the stop table, the owner's word, and nothing to decide.

The stop table is common practice of the trade, no source; instruments are invented.
"""

import tomllib
from functools import cache
from importlib.resources import files

import numpy as np
import pytest

from fakes.hero_stages import (
    GUARD_DONE,
    LAMP_DONE,
    OUTSIDE_SEEN,
    bare,
    consent,
    hero,
    ids,
    option,
    plan,
    sign,
)
from heelstamp.casework.appraisal.figure import LATE, seller_regret
from heelstamp.casework.inspections import Money, Plan, parse_stop_table
from heelstamp.casework.inspections.ordering import ordered
from heelstamp.dating import additive_moments
from heelstamp.errors import InputError
from heelstamp.reference.stop_rules import load_stop_table

TABLE = tomllib.loads(files("heelstamp.reference").joinpath("stop_rules.toml").read_text("utf-8"))

# sign, part it is seen on, options it stops, and words of the sentence
ROWS = [
    ("strings_first_set", "strings", {"open:guard", "open:neck"}, "first set"),
    ("lacquer_bridges_screw", "guard", {"open:guard"}, "finish bridges it"),
    ("lacquer_bridges_screw", "neck_plate", {"open:neck"}, "finish bridges it"),
    ("guard_unsafe", "guard", {"open:guard"}, "mirror or borescope"),
    ("bit_does_not_fit", "plate_screws", {"open:neck"}, "risk to the screw"),
    ("wire_too_short", "leads", {"open:guard"}, "through the gap"),
]


@cache
def free() -> Plan:
    return plan(hero(LAMP_DONE))


def test_every_row_of_the_stop_table_is_tried_here() -> None:
    assert {row[0] for row in ROWS} | {"rod_at_limit"} == {row["sign"] for row in TABLE["rule"]}


@pytest.mark.parametrize(("name", "part", "stops", "words"), ROWS)
def test_a_recorded_sign_stops_its_acts_and_says_what_may_be_said(
    name: str, part: str, stops: set[str], words: str
) -> None:
    assert {one.inspection for one in free().options if one.advice != "stop"} >= stops
    found = plan(hero(LAMP_DONE, sign("seen-now", part, name)))
    for one in found.options:
        if one.inspection in stops:
            assert one.advice == "stop"
            assert one.reason.startswith("Not done: ")
            assert one.cautions == []
            assert not one.front
        elif one.advice == "stop" and not one.reason.startswith("No decision depends on it"):
            assert one.inspection in ("bridge_holes", "bridge_outline")
    assert any(words in sentence for sentence in found.refused)
    assert found.best not in stops


def test_strings_that_are_plausibly_first_stay_on() -> None:
    found = plan(hero(LAMP_DONE, sign("set", "strings", "strings_first_set", "plausible")))
    assert found.best is None
    assert "Examined with strings on." in option(found, "open:neck").reason
    # the gain given up stays visible
    assert option(found, "open:neck").gain.date_bits > 0.5


def test_a_rod_at_its_limit_is_not_turned() -> None:
    found = plan(hero(GUARD_DONE, sign("rod-now", "rod", "rod_at_limit", "creaks")))
    assert len(found.refused) == 1
    assert "turn truss rod" in found.refused[0]
    assert "Truss rod not turned." in found.refused[0]
    assert found.best == "open:neck"


def test_a_sign_looked_for_and_not_there_stops_nothing() -> None:
    assert plan(hero(GUARD_DONE, sign("now", "plate_screws", "bit_does_not_fit", "no"))).best
    unlooked = (
        "observation",
        {
            "id": "now",
            "part": "strings",
            "kind": "sign",
            "status": "not looked",
            "sign": "strings_first_set",
        },
    )
    assert plan(hero(GUARD_DONE, unlooked)).refused == []


def test_a_sign_on_another_part_stops_nothing() -> None:
    found = plan(hero(GUARD_DONE, sign("now", "strap_buttons", "bit_does_not_fit")))
    assert found.refused == []
    assert found.best == "open:neck"


@pytest.mark.parametrize(
    ("word", "consent_found", "told"),
    [
        (consent("take neck off", granted=False), "refused", "The owner refused: take neck off"),
        (None, "not asked", "Ask the owner first, and log the answer: take neck off."),
    ],
)
def test_without_the_owners_leave_nothing_is_opened(word, consent_found: str, told: str) -> None:
    without = ("consent-neck", "consent-neck-signed")
    more = () if word is None else (word,)
    found = plan(hero(GUARD_DONE, *more, without=without))
    neck = option(found, "open:neck")
    assert (neck.consent, neck.advice) == (consent_found, "stop")
    assert told in neck.reason
    assert found.best is None
    assert found.sentences[0].startswith("Stop. ")
    assert any(told in one for one in found.sentences)


def test_a_refused_act_on_the_way_stops_what_lies_behind_it() -> None:
    found = plan(hero(LAMP_DONE, consent("take strings off", granted=False)))
    for id_ in ("open:guard", "open:neck", "bridge_outline"):
        assert option(found, id_).consent == "refused"
        assert option(found, id_).advice == "stop"


def test_what_decides_nothing_is_told_as_zero_and_left() -> None:
    # the timber changed years before this guitar, and the body is the instrument's by definition
    found = plan(hero(GUARD_DONE, without=("f04",)))
    timber = option(found, "body_timber")
    assert timber.advice == "stop"
    assert "expected gain is zero" in timber.reason
    assert timber.consent == "not needed"
    assert timber.gain.date_bits < 0.02
    assert not timber.front


def test_of_a_guitar_nobody_looked_at_the_number_and_the_outside_come_first() -> None:
    found = plan(bare())
    assert found.best == "plate_number"
    done = {one.inspection for one in found.options if one.advice == "do"}
    assert {"plate_number", "board", "uv_lamp"} <= done
    assert all(one.invasiveness <= 1 for one in found.options if one.advice != "stop")
    assert option(found, "open:guard").consent == "not asked"


def test_not_looked_is_not_made_and_the_other_four_are() -> None:
    def with_status(status: str) -> set[str]:
        body = {"id": "heel", "part": "neck", "kind": "mark", "status": status}
        pencil = {
            "id": "dots",
            "part": "neck",
            "kind": "feature",
            "status": status,
            "feature": "f12",
        }
        if status == "read":
            body |= {"text": "65/03 R"}
            pencil |= {"variant": "brass rod 1.6 mm"}
        kinds = [("observation", body), ("observation", pencil)]
        found = plan(bare(*kinds))
        left = set()
        for one in found.options:
            if "board" in one.members:
                left.add("board")
            if "heel_mark" in one.members:
                left.add("heel_mark")
        return left

    # the heel's mark and the way it was marked are two looks of one inspection
    assert with_status("not looked") == {"board", "heel_mark"}
    for status in ("read", "absent", "illegible", "not applicable"):
        assert with_status(status) == {"board", "heel_mark"}  # the other half of each is left
    both = [
        ("observation", {"id": "heel", "part": "neck", "kind": "mark", "status": "illegible"}),
        (
            "observation",
            {
                "id": "way",
                "part": "neck",
                "kind": "feature",
                "status": "illegible",
                "feature": "f09",
            },
        ),
    ]
    assert "heel_mark" not in ids(plan(bare(*both)))


@pytest.mark.parametrize("status", ["absent", "illegible", "not applicable"])
def test_a_single_look_that_came_to_nothing_is_made(status: str) -> None:
    seen = (
        "observation",
        {"id": "c", "part": "case", "kind": "feature", "status": status, "feature": "g3"},
    )
    assert "case_lining" not in ids(plan(bare(seen)))
    unlooked = ("observation", {**seen[1], "status": "not looked"})
    assert "case_lining" in ids(plan(bare(unlooked)))


def test_a_fact_shown_by_another_observation_is_made() -> None:
    absent = (
        "observation",
        {
            "id": "g4",
            "part": "body",
            "kind": "feature",
            "status": "read",
            "feature": "g4",
            "variant": "absent",
        },
    )
    assert "body_pencil" in ids(plan(bare()))
    assert "body_pencil" not in ids(plan(bare(absent)))
    number = (
        "observation",
        {"id": "n", "part": "neck_plate", "kind": "serial", "status": "read", "text": "S10350"},
    )
    row = option(plan(bare(number)), "plate_number")
    assert row.members == ["plate_number"]  # its place on the plate (f02) is left


def test_a_withheld_date_counts_for_nothing() -> None:
    # a body of 1956 under everything else of 1965
    marks = [
        ("body", "1956-05"),
        ("neck", "1965-03"),
        ("pot_volume", "1965-05"),
        ("pot_tone", "1964-11"),
    ]
    rows = [
        (
            "observation",
            {
                "id": f"m-{part}",
                "part": part,
                "kind": "mark",
                "status": "read",
                "text": "x",
                "readings": [{"period": period, "weight": 1.0}],
            },
        )
        for part, period in marks
    ]
    number = (
        "observation",
        {"id": "n", "part": "neck_plate", "kind": "serial", "status": "read", "text": "S10350"},
    )
    found = plan(bare(*rows, number, consent("take strings off"), consent("take neck off")))
    assert any("withheld" in one for one in found.sentences)
    assert not any("range of completion" in one for o in found.options for one in o.reasons)


def test_money_counts_where_it_is_given() -> None:
    months = np.zeros(672)
    effects = {"neck": (0.0, -0.3, -0.4, -0.5)}
    value = Money(
        lambda compiled, rows: additive_moments(compiled, rows, months, effects)[1], "of log price²"
    )
    plain, priced = plan(hero(GUARD_DONE)), plan(hero(GUARD_DONE), value=value)
    assert option(plain, "open:neck").gain.money is None
    neck = option(priced, "open:neck")
    assert neck.gain.money is not None
    assert neck.gain.money > 0.0
    assert any("of log price²" in one for one in neck.reasons)
    assert option(priced, "open:neck").gain.date_bits == option(plain, "open:neck").gain.date_bits


def test_looks_are_ordered_by_evidence_by_money_or_by_both() -> None:
    months = np.zeros(672)
    effects = {"neck": (0.0, -0.3, -0.4, -0.5)}

    def spread(compiled, rows):
        return additive_moments(compiled, rows, months, effects)[1]

    value = Money(spread, "of log price²", lambda compiled, rows: 0.4 * spread(compiled, rows))
    found = plan(hero(LAMP_DONE), value=value)
    for one in found.options:
        assert one.gain.regret == pytest.approx(0.4 * (one.gain.money or 0.0), abs=1e-12)
    assert [one.inspection for one in ordered(found, "evidence")] == [
        one.inspection for one in found.options
    ]
    rank = ("do", "optional", "stop")
    for by in ("money", "both"):
        rows = ordered(found, by)
        assert {one.inspection for one in rows} == {one.inspection for one in found.options}
        assert [rank.index(one.advice) for one in rows] == sorted(
            rank.index(one.advice) for one in rows
        )
    money = [one for one in ordered(found, "money") if one.advice == "do"]
    falls = [round(one.gain.money or 0.0, 2) for one in money]
    assert falls == sorted(falls, reverse=True)
    assert any("asking too much or too little" in said for said in money[0].reasons)
    with pytest.raises(InputError, match="no such order"):
        ordered(found, "luck")
    with pytest.raises(InputError, match="no price to order by"):
        ordered(free(), "money")


def test_a_sellers_regret_is_the_least_expected_loss_of_any_price() -> None:
    # every price tried on a grid, its loss integrated numerically: no formula of the program
    z = np.linspace(-8, 8, 8001)
    density = np.exp(-0.5 * z**2) / np.sqrt(2 * np.pi)
    losses = [
        np.trapezoid(density * np.where(z > ask, z - ask, LATE * (ask - z)), z)
        for ask in np.linspace(-1, 3, 401)
    ]
    assert seller_regret(1.0) == pytest.approx(min(losses), rel=1e-4)
    assert seller_regret(250.0) == pytest.approx(250.0 * seller_regret(1.0))


def test_all_that_is_beaten_leaves_the_front() -> None:
    found = plan(hero(OUTSIDE_SEEN))
    rows = [one for one in found.options if one.advice != "stop"]
    figures = {
        one.inspection: (
            [round(one.gain.date_bits, 2), *(round(x, 2) for x in one.gain.parts.values())],
            [one.invasiveness, one.minutes],
        )
        for one in rows
    }
    for one in rows:
        gains, costs = figures[one.inspection]
        beaten = any(
            all(a >= b for a, b in zip(g, gains, strict=True))
            and all(a <= b for a, b in zip(c, costs, strict=True))
            and (g, c) != (gains, costs)
            for g, c in figures.values()
        )
        assert one.front != beaten


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"schema": "heelstamp/stop-rules/9"}, "not a stop table"),
        ({"rule": [{"sign": "s", "why": "w", "instead": "i"}]}, "stops no act"),
        (
            {"rule": [{"sign": "s", "why": "w", "instead": "i", "acts": ["a"], "colour": "red"}]},
            "unknown",
        ),
    ],
)
def test_a_broken_stop_table_is_refused(change: dict, told: str) -> None:
    with pytest.raises(InputError, match=told):
        parse_stop_table({**TABLE, **change}, where="table")
    assert parse_stop_table(TABLE, where="table").digest == load_stop_table().digest
