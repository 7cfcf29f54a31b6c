"""The cold case at Intake: dew point, when to look again, and that no clock opens a case.

τ from two readings and the wait are recomputed here from Newton's law of cooling; the dew point of
the invented scenario, 12.6 °C at 23 °C and 52 %, is Magnus' (WMO-No. 8, annex 4.B).
"""

from __future__ import annotations

import html
import math
import re
from datetime import UTC, datetime, timedelta

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, state_in
from heelstamp.casework.intake import shut_case

HOME = f"/dossier/{TAG}"
ROOM = {"room": "23", "humidity": "52"}
MARGIN_K = 3.0


def told(bench: TestClient) -> str:
    text = bench.get(f"{HOME}/intake").text
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def made(hours_ago: float) -> str:
    return (datetime.now(UTC) - timedelta(hours=hours_ago)).isoformat()


def test_one_reading_gives_the_dew_point_and_asks_for_another(bench: TestClient) -> None:
    bench.post(f"{HOME}/climate", data={"case": "11.5", **ROOM})
    text = told(bench)
    assert "Keep the case shut: dew point 12.6 °C, in the case 11.5 °C." in text
    assert "Read again after an hour" in text
    assert "the lacquer gets wet" in text
    assert "data-until" not in bench.get(f"{HOME}/intake").text


def test_a_second_reading_gives_the_moment_to_look_again(bench: TestClient) -> None:
    bench.post(f"{HOME}/climate", data={"case": "11.5", "made": made(2.0), **ROOM})
    bench.post(f"{HOME}/climate", data={"case": "14.0", "made": made(0.5)})
    shut = shut_case(state_in(bench))
    assert shut is not None
    dew = 12.6
    constant = 1.5 / math.log((23 - 11.5) / (23 - 14.0))
    hours = constant * math.log((23 - 14.0) / (23 - dew - MARGIN_K))
    last = datetime.fromisoformat(shut.readings[-1][0])
    until = datetime.fromisoformat(shut.until)
    assert (until - last).total_seconds() / 3600 == pytest.approx(hours, abs=0.15)
    assert shut.until_95 == "" or shut.until_95 > shut.until
    text = bench.get(f"{HOME}/intake").text
    assert f'data-until="{shut.until_95 or shut.until}"' in text
    assert "read again before opening" in told(bench)
    assert not shut.open_now


def test_a_third_reading_refines_and_a_warm_case_may_be_opened(bench: TestClient) -> None:
    for case, ago in (("11.5", 3.0), ("14.0", 1.5)):
        bench.post(f"{HOME}/climate", data={"case": case, "made": made(ago), **ROOM})
    before = shut_case(state_in(bench))
    bench.post(f"{HOME}/climate", data={"case": "14.8", "made": made(0.2)})
    after = shut_case(state_in(bench))
    assert before is not None
    assert after is not None
    assert after.until > before.until  # it warms more slowly than the first two said
    bench.post(f"{HOME}/climate", data={"case": "21.5"})
    text = told(bench)
    assert "it may be opened" in text
    assert "Shut until" not in text


def test_readings_of_another_stay_are_left_out(bench: TestClient) -> None:
    bench.post(f"{HOME}/climate", data={"case": "22.0", "made": made(24 * 30), **ROOM})
    bench.post(f"{HOME}/climate", data={"case": "11.5"})
    assert "Read again after an hour" in told(bench)


def test_a_damp_room_is_told_to_be_dried(bench: TestClient) -> None:
    bench.post(f"{HOME}/climate", data={"case": "11.5", "room": "20", "humidity": "95"})
    assert "dry it" in told(bench)


def test_two_readings_of_one_second_and_a_note_that_only_looks_late_do_no_harm(
    bench: TestClient,
) -> None:
    same = made(1.0)
    for id_, case in (("o-1", "11.5"), ("o-2", "12.0")):
        data = {"case": case, "made": same, "id": id_, **ROOM}
        assert bench.post(f"{HOME}/climate", data=data).status_code == 200
    body = {
        "id": "m9",
        "quantity": "temperature inside the case",
        "part": "case",
        "value": 12.5,
        "unit": "°C",
        "stage": "found",
        "note": "taken on the device at 2026-99-99T99:99:99Z",
    }
    entries = {"by": "examiner A", "entries": [{"kind": "measurement", "body": body}]}
    assert bench.post(f"/api/dossiers/{TAG}/entries", json=entries).status_code == 201
    assert "Keep the case shut" in told(bench)
    assert bench.get(f"{HOME}/setup").status_code == 200


def test_nothing_but_the_case_needs_the_room(bench: TestClient) -> None:
    bench.post(f"{HOME}/climate", data={"case": "11.5"})
    assert "needs the temperature and humidity of the room" in told(bench)
    refused = bench.post(f"{HOME}/climate", data={"case": "11.5", "room": "20", "humidity": "0"})
    assert refused.status_code == 422


def test_readings_too_close_together_foretell_nothing(bench: TestClient) -> None:
    bench.post(f"{HOME}/climate", data={"case": "-3", "made": made(0.5), **ROOM})
    bench.post(f"{HOME}/climate", data={"case": "2", "made": made(0.4875)})
    shut = shut_case(state_in(bench))
    assert shut is not None
    assert not shut.until
    assert "Read again after an hour" in told(bench)


def test_a_weight_in_kilograms_is_asked_again_and_a_decimal_comma_is_read(
    bench: TestClient,
) -> None:
    hands = {"event": "received", "giver": "a consignor", "receiver": "examiner A"}
    light = bench.post(f"{HOME}/custody", data={**hands, "weight_g": "3.6"})
    assert light.status_code == 422
    assert "3.6 kg is 3600" in light.text
    bench.post(f"{HOME}/custody", data={**hands, "weight_g": "3284,5"})
    (entered,) = state_in(bench).custody.values()
    assert entered.weight_g == 3284.5
    wrong = bench.post(f"{HOME}/climate", data={"case": "11.5", "humidity": "450"})
    assert "Give at most 100." in html.unescape(wrong.text)
    assert "Where: humidity" in wrong.text
