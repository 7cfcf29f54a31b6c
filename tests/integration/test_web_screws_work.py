"""Screws and Work without a browser: the count lock, evidence enforced, signs that stop."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from fakes.web_shop import TAG, add_frame, flat, state_in
from heelstamp.cli.app import app

HOME = f"/dossier/{TAG}"
TAP = {"opening": "guard", "tall": "540", "tap.x": "360", "tap.y": "135", "head": "oval"}


def lift_guard(bench: TestClient) -> dict[str, str]:
    before, after = add_frame(bench, "guard-screws"), add_frame(bench, "cavity")
    bench.post(f"{HOME}/consent", data={"act": "lift guard", "answer": "granted"})
    told = {
        "act": "lift guard",
        "part": "guard",
        "reason": "marks and joints",
        "reversible": "true",
        "before": before,
        "after": after,
        "minutes": "20",
    }
    assert bench.post(f"{HOME}/work", data=told).status_code == 200
    return told


def test_a_tap_is_a_numbered_screw_at_its_place(bench: TestClient) -> None:
    frame = add_frame(bench, "guard-screws")
    for id_ in ("o-1", "o-2", "o-2"):  # the second was sent twice
        tap = {**TAP, "frame": frame, "id": id_, "length": "12.7", "start": "stiff"}
        assert bench.post(f"{HOME}/screws", data=tap).status_code == 200
    one, two = state_in(bench).screws.values()
    assert (one.number, two.number) == (1, 2)
    assert (one.x, one.y, one.part, one.frame) == (0.5, 0.25, "guard", frame)
    assert (one.head, one.length_mm, one.start, one.odd) == ("oval", 12.7, "stiff", False)
    text = bench.get(f"{HOME}/screws").text
    assert '<circle cx="360.0" cy="135.0"' in text


def test_the_guard_is_not_closed_while_a_screw_is_out(bench: TestClient) -> None:
    told = lift_guard(bench)
    for id_ in ("o-1", "o-2"):
        bench.post(f"{HOME}/screws", data={**TAP, "id": id_})
    bench.post(f"{HOME}/screw", data={"screw": "o-1", "back_in": "true"})
    close = {**told, "act": "refit guard", "before": told["after"], "after": told["before"]}
    refused = bench.post(f"{HOME}/work", data=close)
    assert refused.status_code == 409
    assert "1 of 2 screws of the pickguard are not back: 2" in refused.text
    bench.post(f"{HOME}/screw", data={"screw": "o-2", "back_in": "true"})
    assert "the count is even" in bench.get(f"{HOME}/screws").text
    assert bench.post(f"{HOME}/work", data=close).status_code == 200
    assert [one.act for one in state_in(bench).treatments.values()] == ["lift guard", "refit guard"]


def test_a_screw_taken_out_again_opens_the_count_and_every_step_stays(bench: TestClient) -> None:
    bench.post(f"{HOME}/screws", data={**TAP, "id": "o-1"})
    for back_in in ("true", "false"):
        bench.post(f"{HOME}/screw", data={"screw": "o-1", "back_in": back_in})
    bench.post(f"{HOME}/screw-is", data={"screw": "o-1", "drive": "slot", "odd": "true"})
    screw = state_in(bench).screws["o-1"]
    assert (screw.back, screw.drive, screw.odd) == (False, "slot", True)
    assert len(state_in(bench).history["o-1"]) == 4


def test_a_length_typed_in_inches_is_kept_in_millimetres_and_said(bench: TestClient) -> None:
    bench.post("/lengths", data={"lengths": "in"})
    bench.post(f"{HOME}/screws", data={**TAP, "id": "o-1", "length": "1/2"})
    one = state_in(bench).screws["o-1"]
    assert (one.length_mm, one.typed) == (12.7, "1/2 in")
    assert "0.500 in" in bench.get(f"{HOME}/screws").text
    bench.post(f"{HOME}/screw-is", data={"screw": "o-1", "length": "0.75"})
    assert state_in(bench).screws["o-1"].length_mm == 19.05


def test_without_a_photograph_the_drawing_takes_the_taps(bench: TestClient) -> None:
    assert f"{HOME}/screws/drawing/neck" in bench.get(f"{HOME}/screws?opening=neck").text
    drawn = bench.get(f"{HOME}/screws/drawing/neck")
    assert drawn.headers["content-type"] == "image/svg+xml"
    assert drawn.text.count("<polygon") > 2


def test_nothing_is_done_without_before_and_after(bench: TestClient) -> None:
    frame, other = add_frame(bench, "guard-screws"), add_frame(bench, "pot-tone-code")
    told = {
        "act": "clean control",
        "part": "pot_tone",
        "reason": "crackle",
        "reversible": "false",
        "amount": "one drop",
    }
    for wanting, words in (
        ({"before": frame}, "no evidence from after the act"),
        ({"after": frame}, "no evidence from before the act"),
        ({"before": frame, "after": frame}, "cannot be from before and from after"),
    ):
        answer = bench.post(f"{HOME}/work", data={**told, **wanting})
        assert answer.status_code == 422
        assert words in answer.text.lower()
    assert state_in(bench).treatments == {}
    bench.post(f"{HOME}/work", data={**told, "before": [frame], "after": [other]})
    (done,) = state_in(bench).treatments.values()
    assert (done.amount, done.reversible, done.material) == ("one drop", False, "")


def test_an_act_without_leave_is_refused_and_cautions_stand_where_it_is_chosen(
    bench: TestClient,
) -> None:
    text = html.unescape(bench.get(f"{HOME}/work?act=take+neck+off").text)
    assert "not asked" in text
    assert "frames to take first" in text
    assert "a snapped rod" in html.unescape(bench.get(f"{HOME}/work?act=turn+rod").text)
    before, after = add_frame(bench, "heel"), add_frame(bench, "pocket")
    told = {
        "act": "take neck off",
        "part": "neck",
        "reason": "heel",
        "reversible": "true",
        "before": before,
        "after": after,
    }
    assert bench.post(f"{HOME}/work", data=told).status_code == 409
    assert state_in(bench).treatments == {}


def test_a_recorded_sign_stops_the_act(bench: TestClient) -> None:
    sign = {
        "part": "guard",
        "kind": "sign",
        "subject": "guard_unsafe",
        "status": "read",
        "value": "cracked",
    }
    assert bench.post(f"{HOME}/seen", data=sign).status_code == 200
    bench.post(f"{HOME}/consent", data={"act": "lift guard", "answer": "granted"})
    told = {
        "act": "lift guard",
        "part": "guard",
        "reason": "marks",
        "reversible": "true",
        "before": add_frame(bench, "guard-screws"),
        "after": add_frame(bench, "cavity"),
    }
    refused = bench.post(f"{HOME}/work", data=told)
    assert refused.status_code == 409
    assert "mirror or borescope" in refused.text


@pytest.mark.parametrize(
    ("path", "data", "told"),
    [
        ("screws", {**TAP, "opening": "roof"}, "no such opening"),
        ("screws", {**TAP, "tap.x": "nan"}, "cannot be read"),
        ("screws", {**TAP, "tall": "0"}, "cannot be read"),
        ("screws", {**TAP, "length": "-3"}, "length_mm"),
        ("screws", {**TAP, "start": "maybe"}, "start"),
        ("screws", {**TAP, "frame": "F9"}, "unknown or withdrawn"),
        ("screw", {"screw": "v9", "back_in": "true"}, "no such screw"),
        ("work", {"act": "x", "part": "engine", "reason": "y", "reversible": "true"}, "evidence"),
        ("work", {"act": "x", "part": "guard", "reason": "y"}, "cannot be read"),
    ],
)
def test_what_cannot_be_is_refused(bench: TestClient, path: str, data: dict, told: str) -> None:
    answer = bench.post(f"{HOME}/{path}", data=data)
    assert answer.status_code == 422
    assert told in answer.text.lower()
    assert state_in(bench).length == 1


def test_words_that_no_paper_may_carry_are_refused_where_they_are_written(
    bench: TestClient,
) -> None:
    told = {
        "act": "clean board",
        "part": "neck",
        "reason": "it proves all original",
        "reversible": "true",
        "before": add_frame(bench, "board"),
        "after": add_frame(bench, "nut"),
    }
    answer = bench.post(f"{HOME}/work", data=told)
    assert answer.status_code == 422
    assert "words that no paper may carry" in answer.text.lower()


def test_evidence_of_the_part_and_words_used_before_come_first(bench: TestClient) -> None:
    guard = add_frame(bench, "guard-screws")
    heads = [add_frame(bench, "head-front", shade=shade) for shade in range(60, 100)]
    told = {
        "act": "lift guard",
        "part": "guard",
        "reason": "to find the second date",
        "reversible": "true",
        "before": guard,
        "after": heads[0],
    }
    bench.post(f"{HOME}/consent", data={"act": "lift guard", "answer": "granted"})
    assert bench.post(f"{HOME}/work", data=told).status_code == 200
    text = bench.get(f"{HOME}/work?act=lift+guard").text
    offered = re.findall(r'name="before" value="([^"]*)"', text)
    assert offered[0] == guard
    assert offered[1] == heads[-1]
    assert heads[0] in offered[36:]
    assert "older ones" in text
    reasons = re.findall(r'name="reason" value="([^"]*)"', text)
    assert reasons[0] == "to find the second date"
    assert len(reasons) == 3


def test_an_odd_screw_is_told_with_its_rate_and_entered_for_the_census(
    bench: TestClient, shop: Path
) -> None:
    for number in range(6):
        told = {
            "opening": "guard",
            "tall": "400",
            "tap.x": str(60 + 90 * number),
            "tap.y": "120",
            "head": "oval",
            "metal": "nickel plated" if number == 5 else "plain steel",
            "id": f"v-{number}",
        }
        assert bench.post(f"/dossier/{TAG}/screws", data=told).status_code == 200
    page = flat(bench.get(f"/dossier/{TAG}/screws").text)
    assert "1 of 6 differ from the rest: screw 6 (nickel plated, oval)" in page
    assert "how often one differs is not known" in page
    answer = bench.post(f"/dossier/{TAG}/odd-ones", data={"set": "screws.guard", "id": "o-1"})
    assert answer.status_code == 200
    seen = state_in(bench).observations["o-1"]
    assert (seen.sign, seen.outcome) == ("odd_member", "one differs")
    assert bench.post(f"/dossier/{TAG}/odd-ones", data={"set": "screws.neck"}).status_code == 422
    told = ["show", TAG, "--odd", "--shop", str(shop), "--json"]
    result = CliRunner().invoke(app, told, standalone_mode=False)
    assert json.loads(result.stdout)[0]["odd"][0]["member"] == "screw 6"
