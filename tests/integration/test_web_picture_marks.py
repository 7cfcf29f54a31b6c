"""Boxes and scales drawn on a photograph: by form, seen on the page, read by papers, withdrawn."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from starlette.testclient import TestClient
from typer.testing import CliRunner

from fakes.web_shop import TAG, add_frame, flat, state_in
from heelstamp.casework.picture_scales import scales_of
from heelstamp.catalogue import PictureBox, PictureScale, body_data
from heelstamp.cli.app import app

BOX = {"hides": "number", "left": "20", "top": "40", "width": "50", "height": "20"}
SCALE = {"x0": "10", "y0": "50", "x1": "60", "y1": "50", "length": "100"}


def page_of(frame: str) -> str:
    return f"/dossier/{TAG}/photographs/{frame}"


def test_a_drawn_box_is_the_entry_that_the_command_makes(bench: TestClient, shop: Path) -> None:
    frame = add_frame(bench, "plate")
    told = bench.post(f"{page_of(frame)}/box", data=BOX | {"id": "b-drawn"})
    assert told.status_code == 200
    fields = ["x=0.2", "y=0.4", "width=0.5", "height=0.2", "hides=number", f"frame={frame}"]
    added = CliRunner().invoke(
        app,
        ["add", TAG, "picture_box", "id=b-typed", *fields, "--shop", str(shop)],
        standalone_mode=False,
    )
    assert added.exception is None, added.output
    drawn, typed = (
        {**body_data(state_in(bench).of(PictureBox)[one]), "id": ""}
        for one in ("b-drawn", "b-typed")
    )
    assert drawn == typed


def test_what_is_drawn_stands_on_the_page_in_its_place(bench: TestClient) -> None:
    frame = add_frame(bench, "plate")
    assert "No scale on this photograph" in flat(bench.get(page_of(frame)).text)
    bench.post(f"{page_of(frame)}/box", data=BOX)
    page = flat(bench.post(f"{page_of(frame)}/scale", data=SCALE).text)
    assert '<rect class="cover" x="128" y="192" width="320" height="96"/>' in page
    assert "100 mm between two points: the picture is 200 mm wide" in page
    assert scales_of(state_in(bench)) == {frame: pytest.approx(200.0)}


def test_a_length_in_inches_is_kept_in_mm_and_as_it_was_typed(bench: TestClient) -> None:
    frame = add_frame(bench, "plate")
    bench.post("/lengths", data={"lengths": "in"})
    bench.post(f"{page_of(frame)}/scale", data=SCALE | {"length": "1 1/2"})
    (one,) = state_in(bench).of(PictureScale).values()
    assert (one.length_mm, one.note) == (38.1, "typed as 1 1/2 in")


@pytest.mark.parametrize(
    ("path", "told", "says"),
    [
        ("box", BOX | {"left": "60"}, "leaves the picture"),
        ("box", BOX | {"width": "0"}, "covers nothing"),
        ("box", BOX | {"top": "101"}, "100"),
        ("box", BOX | {"hides": "joint"}, "joint"),
        ("scale", SCALE | {"x1": "11"}, "too close together"),
        ("scale", SCALE | {"length": "long"}, "not a length"),
        ("scale", SCALE | {"length": "0"}, "no length"),
        ("scale", SCALE | {"y0": "-1"}, "0"),
        ("removed", {"mark": "b-none", "reason": "wrong"}, "no such box or scale"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_entered(
    bench: TestClient, path: str, told: dict[str, str], says: str
) -> None:
    frame = add_frame(bench, "plate")
    length = state_in(bench).length
    answer = bench.post(f"{page_of(frame)}/{path}", data=told)
    assert answer.status_code == 422
    assert says in answer.text.lower()
    assert state_in(bench).length == length


def test_a_frame_that_is_not_there_takes_no_box(bench: TestClient) -> None:
    assert bench.post(f"{page_of('F9')}/box", data=BOX).status_code == 422


def test_a_box_and_a_scale_are_withdrawn_with_a_reason_and_once(bench: TestClient) -> None:
    frame = add_frame(bench, "plate")
    bench.post(f"{page_of(frame)}/box", data=BOX | {"id": "b1"})
    bench.post(f"{page_of(frame)}/scale", data=SCALE | {"id": "s1"})
    for mark in ("b1", "s1", "b1"):
        told = {"mark": mark, "reason": "drawn beside it"}
        assert bench.post(f"{page_of(frame)}/removed", data=told).status_code == 200
    state = state_in(bench)
    assert not state.of(PictureBox)
    assert not state.of(PictureScale)
    assert len(state.corrections) == 2


def test_the_frame_of_the_number_says_whether_it_may_leave(bench: TestClient) -> None:
    shop = bench.app.state.shop  # type: ignore[attr-defined]
    frame = add_frame(bench, "plate")
    seen = {"id": "n", "part": "neck_plate", "kind": "serial", "status": "read", "text": "S1"}
    shop.enter(TAG, [("observation", seen | {"frames": [frame]})], by="examiner A")
    assert "stays with the shop until a box covers the number" in flat(
        bench.get(page_of(frame)).text
    )
    page = flat(bench.post(f"{page_of(frame)}/box", data=BOX).text)
    assert "until a box covers" not in page


def test_a_decimal_comma_is_read(bench: TestClient) -> None:
    frame = add_frame(bench, "plate")
    bench.post(f"{page_of(frame)}/box", data=BOX | {"left": "12,5"})
    (one,) = state_in(bench).of(PictureBox).values()
    assert one.x == 0.125
    assert json.dumps(body_data(one))
