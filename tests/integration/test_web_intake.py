"""The door without a browser: custody, leave, readings, contents, the receipt."""

from __future__ import annotations

import html

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, flat, let_pass, state_in

HOME = f"/dossier/{TAG}"
RECEIVED = {
    "event": "received",
    "giver": "a consignor",
    "receiver": "examiner A",
    "place": "shop door",
    "weight_g": "3284",
}


def test_only_what_may_follow_in_custody_is_offered(bench: TestClient) -> None:
    text = flat(bench.get(f"{HOME}/intake").text)
    assert 'name="event" value="received"' in text
    assert 'value="to buyer"' not in text
    bench.post(f"{HOME}/custody", data=RECEIVED)
    text = flat(bench.get(f"{HOME}/intake").text)
    assert 'value="to bench"' in text
    assert 'name="event" value="received"' not in text
    assert "3284 g ± 2" in text


def test_a_hand_over_names_both_hands(bench: TestClient) -> None:
    answer = bench.post(f"{HOME}/custody", data={**RECEIVED, "giver": " "})
    assert answer.status_code == 422
    assert "does not name the giver" in answer.text
    assert state_in(bench).custody == {}


def test_sent_twice_the_hand_over_is_entered_once(bench: TestClient) -> None:
    for _ in range(2):
        assert bench.post(f"{HOME}/custody", data={**RECEIVED, "id": "o-9"}).status_code == 200
    assert list(state_in(bench).custody) == ["o-9"]


def test_the_three_answers_of_the_owner_are_equal_and_the_third_takes_back(
    bench: TestClient,
) -> None:
    ask = {"act": "lift guard", "condition": "each screw into its own hole"}
    bench.post(f"{HOME}/consent", data={**ask, "answer": "granted"})
    assert state_in(bench).leave("lift guard").standing == "granted"
    bench.post(f"{HOME}/consent", data={**ask, "answer": "granted"})  # said already
    bench.post(f"{HOME}/consent", data={**ask, "answer": "refused"})
    assert len(state_in(bench).consents) == 2
    leave = state_in(bench).leave("lift guard")
    assert (leave.standing, leave.condition) == ("refused", "each screw into its own hole")
    bench.post(f"{HOME}/consent", data={"act": "lift guard", "answer": "not asked", "id": "o-5"})
    assert state_in(bench).leave("lift guard").standing == "not asked"
    assert len(state_in(bench).corrections) == 2


def test_readings_of_the_case_and_the_room(bench: TestClient) -> None:
    data = {"case": "11.5", "room": "23", "humidity": "52"}
    assert bench.post(f"{HOME}/climate", data=data).status_code == 200
    found = {one.quantity: (one.value, one.unit) for one in state_in(bench).measurements.values()}
    assert found["temperature inside the case"] == (11.5, "°C")
    assert found["relative humidity of the room"] == (52.0, "% RH")


def test_what_lay_in_the_case_and_what_ties_it_to_the_instrument(bench: TestClient) -> None:
    docket = {"item": "repair docket", "link": "unrelated", "frames": ""}
    assert bench.post(f"{HOME}/contents", data=docket).status_code == 200
    (item,) = state_in(bench).contents.values()
    assert (item.item, item.link, item.frames) == ("repair docket", "unrelated", [])


def test_the_receipt_is_numbered_and_holds_no_more_than_was_entered(bench: TestClient) -> None:
    assert bench.get(f"{HOME}/receipt").status_code == 422
    bench.post(f"{HOME}/contents", data={"item": "woven strap", "link": "unrelated"})
    bench.post(f"{HOME}/custody", data=RECEIVED)
    text = flat(html.unescape(bench.get(f"{HOME}/receipt").text))
    assert f"Receipt {TAG} / 1" in text
    assert "woven strap" in text
    assert "3284 g ± 2 g" in text
    assert state_in(bench).head in text
    assert f"<title>Tag {TAG} as a QR code</title>" in text
    assert "style=" not in text


@pytest.mark.parametrize(
    ("path", "data", "status", "told"),
    [
        ("custody", {**RECEIVED, "event": "to buyer"}, 409, "cannot pass"),
        ("custody", {**RECEIVED, "event": "teleported"}, 422, "no such custody event"),
        ("custody", {**RECEIVED, "weight_g": "nan"}, 422, "cannot be read"),
        ("custody", {**RECEIVED, "weight_g": "-4"}, 422, "weight"),
        ("custody", {**RECEIVED, "place": "x" * 101}, 422, "cannot be read"),
        ("consent", {"act": "lift guard", "answer": "perhaps"}, 422, "no such answer"),
        ("consent", {"act": " ", "answer": "granted"}, 422, "act"),
        ("climate", {}, 422, "no reading"),
        ("climate", {"humidity": "140"}, 422, "cannot be read"),
        ("climate", {"case": "-500"}, 422, "cannot be so low"),
        ("contents", {"item": "strap", "link": "guess"}, 422, "link"),
        ("contents", {"item": "strap", "link": "unrelated", "frames": "F9"}, 422, "unknown"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_entered(
    bench: TestClient, path: str, data: dict, status: int, told: str
) -> None:
    answer = bench.post(f"{HOME}/{path}", data=data)
    assert answer.status_code == status
    assert told in answer.text.lower()
    assert state_in(bench).length == 1


def test_written_text_is_shown_and_never_run(bench: TestClient) -> None:
    hostile = "<script>alert(1)</script>"
    bench.post(f"{HOME}/contents", data={"item": hostile, "link": "unrelated"})
    bench.post(f"{HOME}/custody", data={**RECEIVED, "place": hostile})
    for path in ("intake", "receipt"):
        assert hostile not in bench.get(f"{HOME}/{path}").text


def test_the_receipt_of_a_return_does_not_tell_the_owners_words(bench: TestClient) -> None:
    ask = {"act": "lift guard", "answer": "granted", "condition": "only in my presence"}
    bench.post(f"{HOME}/consent", data=ask)
    bench.post(f"{HOME}/custody", data=RECEIVED)
    assert "only in my presence" in bench.get(f"{HOME}/receipt").text
    let_pass(bench, "to buyer")
    for event in ("to buyer", "came back"):
        bench.post(f"{HOME}/custody", data={**RECEIVED, "event": event, "weight_g": ""})
    text = bench.get(f"{HOME}/receipt").text
    assert f"Receipt {TAG} / 2" in text
    assert "only in my presence" not in text
