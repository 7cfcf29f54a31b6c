"""Marks without a browser: every reading shown, weights chosen, a second reader who is blind."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, add_frame, flat, state_in

HOME = f"/dossier/{TAG}"
NECK = {"part": "neck", "status": "read", "text": "65/0? R", "id": "o-neck"}
B = {"cookie": "hand=examiner B"}


def page(bench: TestClient, **headers: str) -> str:
    return flat(html.unescape(bench.get(f"{HOME}/marks", headers=headers).text))


def test_a_fine_photograph_waits_to_be_read(bench: TestClient) -> None:
    frame = add_frame(bench, "heel-stamp")
    assert f"{frame}, not read yet" in page(bench)
    bench.post(f"{HOME}/mark", data={**NECK, "frame": frame})
    assert "not read yet" not in page(bench)
    assert state_in(bench).observations["o-neck"].frames == [frame]


def test_every_reading_is_a_tile_with_its_weight(bench: TestClient) -> None:
    bench.post(f"{HOME}/mark", data=NECK)
    text = page(bench)
    assert 'name="only" value="1965-03"' in text
    assert 'name="only" value="1965-08"' in text
    assert "of the weight" in text


def test_readings_that_are_folded_away_tell_what_they_weigh(bench: TestClient) -> None:
    """Their weights are sent with the others: nobody gives unseen ones a part unknowing."""
    bench.post(f"{HOME}/mark", data=NECK)
    fold = re.search(r"more readings that the rules allow, (\d+) % of the weight(.*)", page(bench))
    assert fold is not None
    inside = fold[2].partition("</details>")[0]
    weights = re.findall(r'inputmode="decimal"\s+value="([^"]+)"', inside)
    assert weights
    assert int(fold[1]) == pytest.approx(sum(map(float, weights)), abs=0.6)


@pytest.mark.parametrize("status", ["illegible", "absent", "not looked", "not applicable"])
def test_the_other_facts_are_as_easy_as_a_reading(bench: TestClient, status: str) -> None:
    bench.post(f"{HOME}/mark", data={**NECK, "status": status})
    seen = state_in(bench).observations["o-neck"]
    assert (seen.status, seen.text) == (status, None)


def test_a_person_weighs_the_readings_and_both_versions_stay(bench: TestClient) -> None:
    bench.post(f"{HOME}/mark", data=NECK)
    chosen = {
        "mark": "o-neck",
        "period": ["1965-03", "1965-08", "1965-01"],
        "weight": ["75", "25", "0"],
    }
    assert bench.post(f"{HOME}/readings", data=chosen).status_code == 200
    seen = state_in(bench).observations["o-neck"]
    assert [(one.period, one.weight) for one in seen.readings] == [
        ("1965-03", 0.75),
        ("1965-08", 0.25),
    ]
    assert seen.text == "65/0? R"
    assert len(state_in(bench).history["o-neck"]) == 2
    assert "turned down" in page(bench)
    only = {"mark": "o-neck", "only": "1965-08", "period": "1965-03", "weight": "75"}
    bench.post(f"{HOME}/readings", data=only)
    assert [one.period for one in state_in(bench).observations["o-neck"].readings] == ["1965-08"]


def test_the_second_reader_sees_the_first_reading_only_after_their_own(bench: TestClient) -> None:
    bench.post(f"{HOME}/mark", data=NECK)
    blind = page(bench, **B)
    assert "65/0" not in blind
    assert "1965-03" not in blind
    assert "examiner A has read it" in blind
    told = {"mark": "o-neck", "status": "read", "text": "65/03 R"}
    assert bench.post(f"{HOME}/second-reading", data=told, headers=B).status_code == 200
    for seen in (page(bench, **B), page(bench)):
        assert "“65/0? R”" in seen
        assert "“65/03 R”" in seen
        assert "did not write the same" in seen
    marks = [one for one in state_in(bench).observations.values() if one.kind == "mark"]
    assert len(marks) == 1  # one mark, read twice, weighs once


def test_nobody_is_their_own_second_reader(bench: TestClient) -> None:
    bench.post(f"{HOME}/mark", data=NECK)
    answer = bench.post(f"{HOME}/second-reading", data={"mark": "o-neck", "text": "65/03 R"})
    assert answer.status_code == 409
    assert state_in(bench).statements == {}


def test_a_reading_of_another_device_is_not_written_over_unseen(bench: TestClient) -> None:
    bench.post(f"{HOME}/mark", data=NECK)
    again = {**NECK, "mark": "o-neck", "base": "2"}
    bench.post(f"{HOME}/mark", data={**again, "text": "65/08 R", "id": "o-2"})
    late = bench.post(f"{HOME}/mark", data={**again, "status": "illegible", "id": "o-3"})
    assert late.status_code == 409
    assert state_in(bench).observations["o-neck"].text == "65/08 R"


@pytest.mark.parametrize(
    ("path", "data", "told"),
    [
        ("mark", {**NECK, "text": ""}, "field text"),
        ("mark", {**NECK, "text": "x" * 500}, "cannot be read"),
        ("mark", {**NECK, "part": "engine"}, "no such part"),
        ("mark", {**NECK, "mark": "o-9"}, "no such mark"),
        ("readings", {"mark": "o-9", "period": "1965-03", "weight": "5"}, "no such mark"),
        ("readings", {"mark": "o-7", "period": "1965-03", "weight": "0"}, "no reading is left"),
        ("readings", {"mark": "o-7", "period": "1965-03", "weight": "nan"}, "0 to 100"),
        ("readings", {"mark": "o-7", "period": "the past", "weight": "9"}, "month"),
        ("second-reading", {"mark": "o-7", "status": "so-so"}, "no such answer"),
    ],
)
def test_what_cannot_be_is_refused(bench: TestClient, path: str, data: dict, told: str) -> None:
    bench.post(f"{HOME}/mark", data={**NECK, "id": "o-7"}, headers=B)
    answer = bench.post(f"{HOME}/{path}", data=data)
    assert answer.status_code == 422
    assert told in answer.text.lower()
    assert state_in(bench).length == 2


def test_first_look_keeps_the_second_reader_blind_too(bench: TestClient) -> None:
    bench.post(f"{HOME}/mark", data=NECK)
    first_look = f"{HOME}/first-look?part=neck"
    assert "65/0" not in bench.get(first_look, headers=B).text
    assert "65/0? R" in bench.get(first_look).text
