"""Condition on the bench and by command: places, visits compared, grades by two people."""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient
from typer.testing import CliRunner

from fakes.web_shop import TAG, add_frame, flat, state_in
from heelstamp.casework.condition.describe import describe_condition
from heelstamp.catalogue import Condition
from heelstamp.cli.app import app

HOME = f"/dossier/{TAG}/condition"


def enters(bench: TestClient, path: str = "", **told: str) -> None:
    answer = bench.post(HOME + path, data=told)
    assert answer.status_code == 200, answer.text


def test_a_tap_enters_a_place_with_its_size(bench: TestClient) -> None:
    frame = add_frame(bench, "overall-front")
    page = bench.get(HOME).text
    assert f"Tap the place in frame {frame}" in page
    enters(
        bench,
        face="front",
        visit="intake",
        frame=frame,
        damage="chip",
        size="2 x 4",
        tall="540",
        **{"tap.x": "360", "tap.y": "135"},
    )
    (one,) = state_in(bench).of(Condition).values()
    assert (one.x, one.y, one.length_mm, one.width_mm) == (0.5, 0.25, 4.0, 2.0)
    assert (one.material, one.since) == ("finish", "here at intake")
    assert "Chip (finish), front, 4 × 2 mm; here at intake." in flat(bench.get(HOME).text)


def test_a_size_that_cannot_be_read_enters_nothing(bench: TestClient) -> None:
    answer = bench.post(HOME, data={"face": "front", "damage": "chip", "size": "4 by 2"})
    assert answer.status_code == 422
    assert not state_in(bench).of(Condition)


def test_what_is_gone_without_an_act_is_asked_about_on_page_and_by_command(
    bench: TestClient, shop: Path
) -> None:
    enters(bench, face="front", damage="corrosion", part="bridge")
    enters(bench, "/looked", face="front")
    enters(bench, "/looked", face="front", visit="exit")
    assert "Corrosion (metal), front, bridge" in flat(bench.get(HOME + "?visit=intake").text)
    said = "Seen before and not now: corrosion, front, bridge; no act in the record explains it."
    assert said in flat(bench.get(HOME).text)
    result = CliRunner().invoke(
        app, ["condition", TAG, "--shop", str(shop), "--json"], standalone_mode=False
    )
    told = json.loads(result.stdout)
    assert said in told["changes"][0]["said"]
    assert result.return_value == 1


def test_a_second_grader_does_not_see_the_first_letter_before_giving_one(bench: TestClient) -> None:
    shop = bench.app.state.shop  # type: ignore[attr-defined]
    body = {"id": "g1", "aspect": "frets", "grade": "D", "reason": "low"}
    shop.enter(TAG, [("grade", body)], by="examiner B")
    page = flat(bench.get(HOME).text)
    assert "Somebody graded it" in page
    assert "Frets: D" not in page
    enters(bench, "/grade", aspect="frets", grade="C")
    page = flat(bench.get(HOME).text)
    assert "Frets: D, low; a dressing would leave too little (2 people graded it, one step" in page
    found = describe_condition(state_in(bench), bench.app.state.shop.subject(TAG).tree)  # type: ignore[attr-defined]
    assert [one.apart for one, _ in found.grades] == [1]
    assert "frets D" in flat(bench.get(f"/dossier/{TAG}?whole=1").text)


def test_photographs_of_one_slot_that_differ_are_asked_about_until_a_person_answers(
    bench: TestClient, shop: Path
) -> None:
    demo = files("heelstamp") / "reference" / "demo" / "photographs"
    for slot, name in (("bridge", "F020"), ("bridge-after", "F044")):
        answer = bench.post(
            f"/dossier/{TAG}/photographs",
            data={"slot": slot, "id": name, "part": "bridge"},
            files={"photo": (f"{slot}.jpg", (demo / f"{name}.jpg").read_bytes(), "image/jpeg")},
        )
        assert answer.status_code == 200, answer.text
    assert "Comparing photographs of one slot" in flat(bench.get(HOME).text)
    page = flat(bench.get(HOME + "?photographs=1").text)
    assert "Places to look at: F020 and F044 (bridge) differ in" in page
    result = CliRunner().invoke(
        app, ["condition", TAG, "--photographs", "--shop", str(shop)], standalone_mode=False
    )
    assert "F020 and F044 (bridge) differ" in flat(result.stdout)
    assert result.return_value == 1
    enters(bench, "/difference", before="F020", after="F044", it_is="light")
    page = flat(bench.get(HOME).text)  # what was compared is remembered
    assert "A person looked and entered what it is." in page
    answer = bench.post(HOME + "/difference", data={"before": "F020", "after": "F0", "it_is": "x"})
    assert answer.status_code == 422


def test_decaying_plastic_brings_its_caution(bench: TestClient) -> None:
    enters(bench, face="front", damage="off-gassing", part="guard")
    assert "bag it apart, ventilated" in flat(bench.get(HOME).text)


def test_rows_of_frets_enter_each_number_or_none(bench: TestClient) -> None:
    rows = {"quantity": "height of the crown", "treble": "1.02 1.01 - 0.99", "bass": "1.0 0.98"}
    answer = bench.post(f"/dossier/{TAG}/fret-rows", data=rows)
    assert answer.status_code == 200, answer.text
    read = [(one.at.string, one.at.fret, one.value) for one in frets(bench)]
    assert read == [(1, 1, 1.02), (1, 2, 1.01), (1, 4, 0.99), (6, 1, 1.0), (6, 2, 0.98)]
    answer = bench.post(f"/dossier/{TAG}/fret-rows", data={**rows, "middle": "1.0 10.1"})
    assert answer.status_code == 422
    assert "string 3, fret 2" in flat(answer.text)
    assert len(frets(bench)) == 5


def frets(bench: TestClient) -> list[Any]:
    return [one for one in state_in(bench).measurements.values() if one.part == "frets"]
