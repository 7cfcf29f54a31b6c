"""The counter without a browser: answers from findings, *not examined* becomes a task."""

from __future__ import annotations

import html

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, add_frame, state_in
from heelstamp.casework.buyer_questions import find_question, parse_questions
from heelstamp.catalogue import Question
from heelstamp.errors import InputError
from heelstamp.reference.counter_questions import load_questions
from heelstamp.reference.parts_trees import tree_loader

HOME = f"/dossier/{TAG}"
USUAL = load_questions()
GUITAR = tree_loader(None)("guitar")


def ask(bench: TestClient, question: str) -> str:
    return html.unescape(bench.get(f"{HOME}/questions", params={"ask": question}).text)


@pytest.mark.parametrize(
    ("asked", "id_"),
    [
        ("So has the neck been off at some time?", "neck-off"),
        ("Is it a refinish?", "finish"),
        ("How heavy is it?", "weight"),
        ("Truss rod OK?", "rod"),
        ("can I RETURN it", "terms"),
        ("Is the strap buttons thing loose?", "part:strap_buttons"),
        ("Did a drummer own it?", "did-a-drummer-own-it"),
        ("Was the body ever stripped or sprayed over?", "finish"),
        ("Did you find any crack or a glued break at the headstock?", "damage"),
        ("What happens if I send it back after a week?", "terms"),
        ("Is the case from the same years as the guitar?", "case"),
        ("How sure are you of 1965?", "date"),
        ("Could it be a 1964?", "date"),
        ("Was it refinished in 1972?", "finish"),
        ("Is there a 1500 in it?", "is-there-a-1500-in-it"),
    ],
)
def test_a_question_in_other_words_finds_its_place(asked: str, id_: str) -> None:
    assert find_question(asked, USUAL, GUITAR).id == id_


def test_every_usual_question_asks_for_something_the_guitar_has() -> None:
    for one in USUAL:
        assert one.acts or one.parts or one.measured or one.about or one.date or one.damage
        known = [part for part in one.parts if part in GUITAR]
        assert known or not one.parts


def test_what_was_not_examined_becomes_a_task_until_it_was(bench: TestClient) -> None:
    assert "Not examined" in ask(bench, "rod")
    for _ in range(2):
        bench.post(f"{HOME}/task", data={"ask": "rod"})
    assert len(state_in(bench).of(Question)) == 1
    assert "A buyer asks: Does the truss rod work?" in html.unescape(bench.get("/").text)
    bench.post(f"{HOME}/task", data={"ask": "Does the truss rod work?", "done": "true"})
    assert "A buyer asks" not in bench.get("/").text


def test_an_answer_names_its_frames_and_is_kept(bench: TestClient) -> None:
    frame = add_frame(bench, "heel-stamp")
    mark = {"part": "guard", "status": "read", "text": "KX", "frame": frame, "id": "o-1"}
    bench.post(f"{HOME}/mark", data=mark)
    text = ask(bench, "guard-off")
    assert f"frames {frame}" in text
    assert "No such act by this shop is recorded." in text
    bench.post(f"{HOME}/answered", data={"ask": "guard-off"})
    assert "Answered so before" in ask(bench, "guard-off")
    bench.post(f"{HOME}/mark", data={**mark, "text": "none at all", "mark": "o-1", "id": "o-2"})
    assert "Answered otherwise on" in ask(bench, "guard-off")


def test_what_is_not_whole_is_told_with_its_grade(bench: TestClient) -> None:
    enter = bench.app.state.shop.enter  # type: ignore[attr-defined]
    place = {"id": "d1", "damage": "crack", "material": "wood", "face": "headstock"}
    size = {"length_mm": 34.0, "width_mm": 1.0, "uncertainty_mm": 1.0, "visit": "intake"}
    grade = {"id": "g1", "aspect": "structural", "grade": "D", "reason": "cracked"}
    enter(TAG, [("condition", place | size), ("grade", grade)], by="examiner A")
    page = ask(bench, "Is anything split or broken?")
    assert "Structural: D" in page
    assert "34" in page


def test_the_buyer_is_told_nothing_that_the_paper_withholds(bench: TestClient) -> None:
    frame = add_frame(bench, "plate", private="true")
    serial = {"part": "neck_plate", "kind": "serial", "status": "read", "value": "S10350"}
    bench.post(f"{HOME}/seen", data=serial)
    bench.post(
        f"{HOME}/mark", data={"part": "neck_plate", "status": "read", "text": "KX", "frame": frame}
    )
    text = ask(bench, "neck plate").split("<main")[1]
    assert "S10350" not in text
    assert "S10•••" in text
    assert frame not in text
    assert "no frame" in text  # nor does the copy say that the shop keeps one


@pytest.mark.parametrize("hostile", ["<script>alert(1)</script>", '" onload="x', "%00", "?" * 399])
def test_a_hostile_question_is_a_question(bench: TestClient, hostile: str) -> None:
    raw = bench.get(f"{HOME}/questions", params={"ask": hostile})
    assert raw.status_code == 200
    assert "<script>alert" not in raw.text
    assert 'onload="x' not in raw.text
    assert "Not understood" in raw.text


def test_nothing_is_kept_without_an_answer(bench: TestClient) -> None:
    assert bench.post(f"{HOME}/answered", data={"ask": "rod"}).status_code == 422
    assert bench.post(f"{HOME}/task", data={"ask": "  "}).status_code == 422
    assert bench.post(f"{HOME}/task", data={"ask": "x" * 401}).status_code == 422
    assert state_in(bench).length == 1


def test_another_list_of_questions_is_refused() -> None:
    with pytest.raises(InputError, match="not a list of questions"):
        parse_questions({"schema": "other", "question": []}, where="q.toml")
