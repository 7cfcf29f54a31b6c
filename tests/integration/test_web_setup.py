"""Setup without a browser: the demonstration's figures, the wheel's entries, rod, saddles, jack."""

from __future__ import annotations

import html
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, bench_of, make_shop, state_in
from heelstamp.casework.replay import replay
from heelstamp.casework.setup import Wishes
from heelstamp.catalogue import StringSet, quantity_words
from heelstamp.reference.demonstration import demo_journal, demo_photographs, demo_recordings
from heelstamp.shop import create_shop
from heelstamp.shop.setup import sheet_for

HOME = f"/dossier/{TAG}"
NECK = {"part": "pickup_neck", "full": "6.4", "sweep": "60.1", "temperature": "20"}
FOUND = (
    ("scale", "641.4"),
    ("frets", "21"),
    ("joint", "16"),
    ("relief", "0.46"),
    ("relief-down", "0.37"),
    ("action-treble", "2.3"),
    ("action-bass", "2.8"),
)


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[TestClient]:
    with bench_of(make_shop(tmp_path)) as client:
        yield client


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """The demonstration's dossier, replayed but for its lamp; its pages are only read."""
    folder = tmp_path_factory.mktemp("shown") / "shop"
    with create_shop(folder, name="Demonstration", currency="USD") as opened:
        replay(opened, TAG, demo_journal(), demo_photographs() | demo_recordings())
    with bench_of(folder) as client:
        yield client


def page(bench: TestClient, path: str = "setup") -> str:
    answer = bench.get(f"{HOME}/{path}")
    assert answer.status_code == 200, answer.text
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


def read(bench: TestClient, measure: str, value: str, column: str = "found", **told: str) -> None:
    data = {"measure": measure, "column": column, "value": value, **told}
    answer = bench.post(f"{HOME}/reading", data=data)
    assert answer.status_code == 200, answer.text


def planned(bench: TestClient) -> None:
    for measure, value in FOUND:
        read(bench, measure, value)
    for which, text in (("found", "11 14 18 28w 38w 50w"), ("new", "9 11 16 24w 32w 42w")):
        bench.post(f"{HOME}/string-set", data={"which": which, "value": text})


def test_the_demonstration_stands_before_planned_and_after(shown: TestClient) -> None:
    """Figures of the invented scenario, as `heelstamp setup` and `heelstamp jack` print them."""
    text = page(shown)
    for figure in (
        "523 ± 5 N → 371 ± 4 N",
        "Predicted 0.33 ± 0.04 mm",
        "Before 0.46 ± 0.03 mm",
        "New strings 0.35 ± 0.03 mm",
        "dew point of 12.6 °C",
        "pot 241.0 ± 1.3 kΩ",
        "6.481 ± 0.043 kΩ at 20 °C",
        "down by 0.66 ± 0.14 mm",
        "As predicted; after: as planned",
        "Truss rod: 0.125 turn tighter, one step",
        "1/8 turn tighter",
        "Predicted 3279 ± 2 g",
        "The set pulls with 523 N",
        "never force",
    ):
        assert figure in text
    drawn = shown.get(f"{HOME}/setup").text
    assert drawn.count('<svg xmlns="http://www.w3.org/2000/svg" width="150mm"') == 5
    assert "new strings, predicted 2.08 ± 0.11 mm 2.58 ± 0.11 mm" in text  # behind the plot
    assert "style=" not in drawn


def test_the_jack_and_the_controls_of_the_demonstration(shown: TestClient) -> None:
    text = page(shown, "setup/jack")
    for figure in ("241.0 ± 1.3 kΩ", "6.481 ± 0.043 kΩ", "6.855 ± 0.044 kΩ", "inside the range"):
        assert figure in text
    text = page(shown, "setup/controls")
    assert "19.0 to 3.0 events a turn" in text
    assert "Events a turn 19.0" in text
    assert page(shown, "setup/controls") == text  # the second time from what was kept


def test_a_reading_is_a_measurement_with_its_tool_and_the_next_is_offered(
    bench: TestClient,
) -> None:
    answer = bench.post(
        f"{HOME}/reading",
        data={"measure": "relief", "column": "found", "value": "0.46", "id": "o-1", "note": "cold"},
        follow_redirects=False,
    )
    assert answer.headers["location"].endswith("setup?take=relief-down.found")
    (one,) = state_in(bench).measurements.values()
    assert (quantity_words(one), one.value, one.unit) == (
        "relief at the 8th fret, capo at the 1st",
        0.46,
        "mm",
    )
    assert (one.uncertainty, one.stage, one.part) == (0.03, "found", "neck")
    assert (one.tool, one.note) == ("straightedge and feelers", "cold")
    read(bench, "action-treble", "2.25", tool="rule")
    last = list(state_in(bench).measurements.values())[-1]
    assert last.uncertainty == pytest.approx(0.25 / 3**0.5, abs=1e-4)  # JCGM 100:2008, 4.3.7


def test_the_same_reading_sent_twice_is_entered_once(bench: TestClient) -> None:
    for _ in range(2):
        read(bench, "relief", "0.46", id="o-1")
    assert len(state_in(bench).measurements) == 1


def test_the_wheel_of_after_starts_at_what_was_read_and_never_at_what_is_predicted(
    bench: TestClient,
) -> None:
    planned(bench)
    assert "0.33 ± 0.04 mm" in page(bench)
    wheel = bench.get(f"{HOME}/taking?take=relief.final").text
    assert 'name="value"' in wheel
    assert 'value="0.45"' in wheel  # 0.46 on a step of the feelers
    empty = bench.get(f"{HOME}/taking?take=relief.aim").text
    assert re.search(r'name="value"[^>]*value=""', empty)
    assert "required" in empty


def test_the_scale_at_the_door_is_not_asked_again(bench: TestClient) -> None:
    told = {"event": "received", "giver": "a consignor", "receiver": "examiner A"}
    bench.post(f"{HOME}/custody", data={**told, "weight_g": "3284"})
    assert 'value="3284"' in bench.get(f"{HOME}/taking?take=weight.found").text


def test_sets_that_are_named_make_the_plan_and_a_treatment_goes_before(bench: TestClient) -> None:
    planned(bench)
    text = page(bench)
    assert "523 ± 5 N → 371 ± 4 N" in text
    assert "Predicted 0.33 ± 0.04 mm" in text
    sheet = sheet_for(bench.app.state.desk.subject(TAG), Wishes())  # type: ignore[attr-defined]
    assert sheet.plan.new is not None  # and so the command knows them
    other = sheet_for(bench.app.state.desk.subject(TAG), Wishes(new="10 13 17 26w 36w 46w"))  # type: ignore[attr-defined]
    assert other.plan.new is not None
    assert other.plan.new.tension_n.value > sheet.plan.new.tension_n.value + 30
    refused = bench.post(f"{HOME}/string-set", data={"which": "new", "value": "strings"})
    assert refused.status_code == 422
    state = state_in(bench)
    assert [one.which for one in state.of(StringSet).values()] == ["found", "new"]


def test_what_is_withheld_is_said_in_words_of_the_bench(bench: TestClient) -> None:
    text = page(bench)
    assert "Name it under Strings." in text
    assert "--" not in text.partition("Not computed")[2]


def test_a_step_of_the_rod_takes_its_evidence_with_it(bench: TestClient) -> None:
    step = {"turns": "1/8", "way": "tighter", "relief": "0.25", "id": "o-9", "felt": "creak"}
    refused = bench.post(f"{HOME}/rod", data=step)
    assert refused.status_code == 422
    assert "no reading from before the act" in refused.text.lower()
    planned(bench)
    read(bench, "relief", "0.35", "new", id="o-before")
    read(bench, "relief", "0.25", "aim")
    for _ in range(2):
        assert bench.post(f"{HOME}/rod", data=step).status_code == 200
    state = state_in(bench)
    (turned,) = state.treatments.values()
    assert (turned.act, turned.turns, turned.felt) == ("turn rod", 0.125, "creak")
    assert (turned.before, turned.after) == (["o-before"], ["o-9.relief"])
    text = page(bench)
    assert "Truss rod, after the steps recorded: leave" in text
    assert "A creak: stop, slacken back" in text


@pytest.mark.parametrize("turns", ["1/2", "0", "-1/8", "1/0", "a", "9" * 20])
def test_more_than_a_quarter_turn_is_no_step(bench: TestClient, turns: str) -> None:
    planned(bench)
    count = state_in(bench).length
    told = {"turns": turns, "way": "tighter", "relief": "0.3"}
    assert bench.post(f"{HOME}/rod", data=told).status_code == 422
    assert state_in(bench).length == count


def test_the_rod_is_left_where_the_owner_refused(bench: TestClient) -> None:
    planned(bench)
    bench.post(f"{HOME}/consent", data={"act": "turn rod", "answer": "refused"})
    told = {"turns": "1/8", "way": "tighter", "relief": "0.3"}
    assert bench.post(f"{HOME}/rod", data=told).status_code == 409
    assert state_in(bench).treatments == {}


def test_saddles_are_entered_with_both_actions(bench: TestClient) -> None:
    planned(bench)
    told = {
        "saddle_treble": "0.65",
        "saddle_bass": "-0.10",
        "action_treble": "1.6",
        "action_bass": "2.0",
        "id": "o-5",
    }
    assert bench.post(f"{HOME}/saddles", data=told).status_code == 200
    state = state_in(bench)
    (done,) = state.treatments.values()
    assert done.amount == "0.65 mm down at the treble, 0.1 mm up at the bass"
    assert len(done.before) == 2
    assert {state.measurements[one].stage for one in done.after} == {"final"}
    assert "After 1.60 ± 0.05 mm" in page(bench)


def test_jack_readings_are_worked_out_and_read_again_they_correct(bench: TestClient) -> None:
    told = {"part": "pickup_neck", "full": "6.42", "sweep": "61.90", "temperature": "24.5"}
    assert bench.post(f"{HOME}/jack", data={**told, "id": "o-1"}).status_code == 200
    text = page(bench, "setup/jack")
    assert "Volume pot 241.0 ±" in text
    assert "Pickup at 20 °C 6.481 ±" in text
    again = {**told, "full": "6.40", "id": "o-2"}
    assert bench.post(f"{HOME}/jack", data=again).status_code == 200
    state = state_in(bench)
    assert {one.value for one in state.measurements.values()} == {6.4, 61.9}
    assert len(state.history["o-1.full"]) == 2
    assert "Pickup at 20 °C 6.481" not in page(bench, "setup/jack")


@pytest.mark.parametrize(
    ("path", "data", "words"),
    [
        ("reading", {"measure": "relief", "column": "found", "value": "46"}, "beyond"),
        ("reading", {"measure": "relief", "column": "found", "value": "nan"}, "not a length"),
        ("reading", {"measure": "relief", "column": "found", "value": "0,46"}, "not a comma"),
        ("reading", {"measure": "relief", "column": "found", "value": "1\x00"}, "not a length"),
        ("reading", {"measure": "relief", "column": "found", "value": "9" * 30}, "cannot be read"),
        ("reading", {"measure": "relief", "column": "roof", "value": "1"}, "not read at that"),
        ("reading", {"measure": "<b>", "column": "found", "value": "1"}, "nothing to read"),
        ("reading", {"measure": "nut-3", "column": "final", "value": "1"}, "not read at that"),
        ("reading", {"measure": "frets", "column": "found", "value": "21.5"}, "whole number"),
        ("reading", {"measure": "weight", "column": "found", "value": "1e4"}, "not a number"),
        ("reading", {"measure": "relief", "column": "found", "value": "1", "tool": "saw"}, "tool"),
        ("string-set", {"which": "odd", "value": "9 11"}, "no such set"),
        ("rod", {"turns": "1/8", "way": "up", "relief": "0.3"}, "which way"),
        ("jack", {"part": "roof", "full": "1", "sweep": "2", "temperature": "20"}, "no such"),
        ("jack", {**NECK, "sweep": "x"}, "number"),
        ("jack", {**NECK, "temperature": "99"}, "room"),
        ("jack", {**NECK, "full": "6.4k"}, "number"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_entered(
    bench: TestClient, path: str, data: dict[str, str], words: str
) -> None:
    answer = bench.post(f"{HOME}/{path}", data=data)
    assert answer.status_code == 422
    assert words in html.unescape(answer.text).lower()
    assert state_in(bench).length == 1


def test_a_cell_that_is_not_there_is_a_clear_answer(bench: TestClient) -> None:
    for take in ("roof.found", "relief", "relief.roof", "x" * 80):
        assert bench.get(f"{HOME}/setup", params={"take": take}).status_code == 422


def test_inches_are_shown_and_typed_and_millimetres_are_kept(bench: TestClient) -> None:
    bench.post("/lengths", data={"lengths": "in"})
    read(bench, "relief", "0.018")
    read(bench, "action-treble", "6/64", tool="rule")
    one, two = state_in(bench).measurements.values()
    assert (one.value, one.unit) == (pytest.approx(0.4572), "mm")
    assert one.typed == "0.018 in"
    assert two.value == pytest.approx(6 / 64 * 25.4)
    text = bench.get(f"{HOME}/setup?take=action-treble.final").text
    assert "0.0180 ± 0.0012 in" in text
    assert 'data-step="1/64"' in text
    bench.post("/lengths", data={"lengths": "mm"})
    assert "0.46 ± 0.03 mm" in page(bench)
    assert bench.post("/lengths", data={"lengths": "ell"}).status_code == 422


def test_a_bass_has_its_own_strings_and_pickup(tmp_path: Path) -> None:
    from fakes.web_shop import INSTRUMENT
    from heelstamp.casework.dossier import open_with
    from heelstamp.shop import now

    told = {
        **INSTRUMENT,
        "kind": "bass",
        "model": "Lockkeeper",
        "chronology": "sallowby-lockkeeper",
    }
    with create_shop(tmp_path / "bass", name="Bass", currency="USD") as opened:
        open_with(opened, [("instrument", told)], at=now(), by="examiner A")
    with bench_of(tmp_path / "bass") as client:
        text = page(client)
        assert "Diameter, 4th" in text
        assert "Diameter, 5th" not in text
        told = {"part": "pickup", "full": "7.10", "sweep": "62.0", "temperature": "20"}
        assert client.post(f"{HOME}/jack", data=told).status_code == 200
        assert "Volume pot" in page(client, "setup/jack")
