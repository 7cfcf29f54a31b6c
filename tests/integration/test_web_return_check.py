"""The return without a browser: weights around a departure, shots beside the private set."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, add_frame, jpeg, let_pass, state_in
from heelstamp.casework.return_check import Weighing, compare_weights, weight_finding
from heelstamp.catalogue import ReturnVerdict

HOME = f"/dossier/{TAG}"
HANDS = {"giver": "a consignor", "receiver": "examiner A"}


def passes(bench: TestClient, event: str, weight: str = "") -> None:
    data = {"event": event, **HANDS, "weight_g": weight, "screen": "return-check"}
    answer = bench.post(f"{HOME}/custody", data=data, follow_redirects=False)
    assert answer.status_code == 303
    assert answer.headers["location"] == f"{HOME}/return-check"


def strings(bench: TestClient, id_: str, grams: float) -> None:
    body = {
        "id": id_,
        "quantity": "mass of the set",
        "part": "strings",
        "value": grams,
        "unit": "g",
        "uncertainty": 0.1,
        "stage": "found",
    }
    bench.app.state.shop.enter(TAG, [("measurement", body)], by="examiner A")  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("left", "back", "strings_g", "restrung", "outcome"),
    [
        ((3279, 2), (3281, 2), None, False, "no difference"),
        ((3279, 2), (3284.6, 2), None, False, "no difference"),  # 5.6 g within 2 × √8 = 5.66 g
        ((3279, 2), (3284.7, 2), None, False, "not explained"),
        ((3279, 2), (3254, 2), None, False, "not explained"),  # a part of 25 g
        ((3279, 2), (3254, 2), None, True, "cannot tell: the strings were not weighed"),
        ((3279, 0.5), (3274, 0.5), (-5.0, 0.2), True, "explained by the strings"),
        ((3279, 0.5), (3254, 0.5), (-5.0, 0.2), True, "not explained"),
        (None, (3254, 2), None, False, "not weighed"),
    ],
)
def test_weights_are_held_against_twice_their_uncertainty(
    left: tuple | None, back: tuple, strings_g: tuple | None, restrung: bool, outcome: str
) -> None:
    found = compare_weights(
        left and Weighing(*left),
        Weighing(*back),
        strings_g and Weighing(*strings_g),
        restrung=restrung,
    )
    assert found.outcome == outcome


def test_a_swapped_part_is_seen_by_the_scale_and_strings_are_not_taken_for_one(
    bench: TestClient,
) -> None:
    passes(bench, "received", "3284")
    assert weight_finding(state_in(bench)).outcome == "not weighed"
    strings(bench, "m-old", 34.0)
    let_pass(bench, "to buyer")
    passes(bench, "to buyer", "3279")
    passes(bench, "came back", "3254")
    assert weight_finding(state_in(bench)).outcome == "not explained"
    strings(bench, "m-new", 29.0)
    found = weight_finding(state_in(bench))
    assert (found.difference_g, found.strings_g, found.outcome) == (-25, -5, "not explained")
    text = bench.get(f"{HOME}/return-check").text
    assert "−25 g" in text
    assert "Not explained" in text


def test_shots_of_the_return_stand_beside_the_private_set_and_stay_private(
    bench: TestClient,
) -> None:
    before = add_frame(bench, "grain-under-guard", private="true")
    sent = {"slot": "grain-under-guard", "id": "f-back"}
    photo = {"photo": ("now.jpg", jpeg(shade=20), "image/jpeg")}
    assert bench.post(f"{HOME}/return-check/shot", data=sent, files=photo).status_code == 200
    frame = state_in(bench).photographs["f-back"]
    assert (frame.slot, frame.private, frame.part) == ("return-grain-under-guard", True, "body")
    assert frame.light == "raking"
    text = bench.get(f"{HOME}/return-check").text
    assert f"As it left, {before}, private" in text
    assert "Now, f-back, private" in text


def test_a_person_says_what_is_the_same(bench: TestClient) -> None:
    said = {"slot": "plate", "verdict": "same"}
    assert bench.post(f"{HOME}/return-check/verdict", data=said).status_code == 422  # no frames
    before = add_frame(bench, "plate")
    photo = {"photo": ("now.jpg", jpeg(shade=20), "image/jpeg")}
    bench.post(f"{HOME}/return-check/shot", data={"slot": "plate", "id": "f-b"}, files=photo)
    assert bench.post(f"{HOME}/return-check/verdict", data=said).status_code == 200
    changed = {**said, "verdict": "changed"}
    assert (
        bench.post(f"{HOME}/return-check/verdict", data=changed).status_code == 422
    )  # what differs?
    bench.post(f"{HOME}/return-check/verdict", data={**changed, "reason": "one screw is another"})
    first, last = state_in(bench).of(ReturnVerdict).values()
    assert (first.reason, first.left, first.returned) == ("", before, "f-b")
    assert (last.verdict, last.slot) == ("changed", "plate")
    assert last.reason == "one screw is another"


@pytest.mark.parametrize(
    ("path", "data", "told"),
    [
        ("return-check/verdict", {"slot": "plate", "verdict": "stolen"}, "no such verdict"),
        ("return-check/verdict", {"slot": "../x", "verdict": "same"}, "none of the fixed shots"),
        ("return-check/shot", {"slot": "plate"}, "cannot be read"),
        (
            "return-check/verdict",
            {"slot": "plate", "verdict": "cannot tell", "reason": "a fake plate"},
            "no paper may carry",
        ),
    ],
)
def test_what_cannot_be_is_refused(bench: TestClient, path: str, data: dict, told: str) -> None:
    answer = bench.post(f"{HOME}/{path}", data=data)
    assert answer.status_code == 422
    assert told in answer.text.lower()
    assert state_in(bench).length == 1
