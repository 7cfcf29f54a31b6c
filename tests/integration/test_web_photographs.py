"""Photographs without a browser: filing, care, what is missing, hostile files, the private flag."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from starlette.testclient import TestClient

from fakes.web_shop import TAG, add_frame, bench_of, flat, jpeg, make_shop, state_in

HOME = f"/dossier/{TAG}"


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[TestClient]:
    with bench_of(make_shop(tmp_path)) as client:
        yield client


def kept_files(bench: TestClient) -> list[Path]:
    folder = bench.app.state.desk.folder / "files"  # type: ignore[attr-defined]
    return [one for one in folder.rglob("*") if one.is_file()]


def test_a_photograph_is_filed_by_its_slot_and_looked_at_at_once(bench: TestClient) -> None:
    answer = bench.post(
        f"{HOME}/photographs",
        data={"slot": "guard-screws"},
        files={"photo": ("IMG_0001.JPG", jpeg(shade=0), "image/jpeg")},
    )
    assert answer.status_code == 200
    (frame,) = state_in(bench).photographs.values()
    assert (frame.part, frame.light, frame.slot) == ("guard", "raking", "guard-screws")
    assert "too coarse for every pickguard screw head" in answer.text
    assert flat(answer.text).count('<ul class="tiles new"><li class="tile added">') == 1


def test_a_file_named_as_a_slot_files_itself(bench: TestClient) -> None:
    photo = {"photo": ("C:\\card\\Heel-Stamp.jpg", jpeg(), "image/jpeg")}
    bench.post(f"{HOME}/photographs", files=photo)
    (frame,) = state_in(bench).photographs.values()
    assert (frame.slot, frame.part, frame.name) == ("heel-stamp", "neck", "Heel-Stamp.jpg")


def test_what_is_missing_shrinks_with_each_frame_and_names_the_end_of_the_chance(
    bench: TestClient,
) -> None:
    text = flat(bench.get(f"{HOME}/photographs").text)
    assert "Can be taken now" in text
    assert "before: take neck off" in text
    before = text.count("<li><span>")
    add_frame(bench, "plate")
    assert flat(bench.get(f"{HOME}/photographs").text).count("<li><span>") == before - 1


def test_sent_twice_it_is_kept_once_and_another_picture_cannot_take_its_id(
    bench: TestClient,
) -> None:
    for _ in range(2):
        add_frame(bench, "plate")
    assert len(state_in(bench).photographs) == 1
    answer = bench.post(
        f"{HOME}/photographs",
        data={"slot": "plate", "id": "f-plate-120"},
        files={"photo": ("plate.jpg", jpeg(shade=10), "image/jpeg")},
    )
    assert answer.status_code == 422
    assert "another photograph" in answer.text
    assert len(kept_files(bench)) == 1


def hostile_files() -> dict[str, bytes]:
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w") as archive:
        archive.writestr("a.jpg", jpeg())
    return {
        "nothing": b"",
        "page": b"<html><script>alert(1)</script></html>",
        "archive": packed.getvalue(),
        "drawing": b'<svg xmlns="http://www.w3.org/2000/svg" onload="alert(1)"/>',
        "cut short": jpeg()[:3000],
        "wide": b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + b"\xff" * 21,
    }


@pytest.mark.parametrize("kind", hostile_files())
def test_what_is_no_photograph_is_refused_and_nothing_is_half_kept(
    bench: TestClient, kind: str
) -> None:
    photo = {"photo": ("heel.jpg", hostile_files()[kind], "image/jpeg")}
    answer = bench.post(f"{HOME}/photographs", data={"slot": "heel"}, files=photo)
    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert state_in(bench).photographs == {}
    assert kept_files(bench) == []


def test_an_unknown_part_keeps_no_file(bench: TestClient) -> None:
    photo = {"photo": ("a.jpg", jpeg(), "image/jpeg")}
    answer = bench.post(f"{HOME}/photographs", data={"part": "engine"}, files=photo)
    assert answer.status_code == 422
    assert kept_files(bench) == []


def test_a_request_is_bounded_before_it_is_read(bench: TestClient) -> None:
    told = bench.post(f"{HOME}/photographs", headers={"content-length": "999000000"}, content=b"x")
    assert told.status_code == 413
    form = bench.post(f"{HOME}/custody", content=b"a=" + b"b" * 1_100_000)
    assert form.status_code == 413

    def streamed() -> Iterator[bytes]:
        for _ in range(30):
            yield b"note=" + b"n" * 40_000

    kind = {"content-type": "application/x-www-form-urlencoded"}
    unsaid = bench.post(f"{HOME}/custody", content=streamed(), headers=kind)
    assert unsaid.status_code == 413


def test_a_frame_is_made_private_and_public_by_corrections(bench: TestClient) -> None:
    id_ = add_frame(bench, "plate", private="true")
    assert state_in(bench).photographs[id_].private
    bench.post(f"{HOME}/private", data={"frame": id_, "private": "false"})
    assert not state_in(bench).photographs[id_].private
    bench.post(f"{HOME}/private", data={"frame": id_, "private": "false"})
    assert len(state_in(bench).corrections) == 1
    assert bench.post(f"{HOME}/private", data={"frame": "F9", "private": "true"}).status_code == 422


def test_the_large_view_tells_what_is_known(bench: TestClient) -> None:
    id_ = add_frame(bench, "heel")
    text = bench.get(f"{HOME}/photographs/{id_}").text
    assert state_in(bench).photographs[id_].file in text
    assert "640 × 480 px" in text
    assert bench.get(f"{HOME}/photographs/F9").status_code == 422
    copy = bench.get(f"{HOME}/frame/{id_}?wide=320")
    assert copy.headers["content-type"] == "image/jpeg"
    assert bench.get(f"{HOME}/frame/{id_}?wide=320").content == copy.content


def test_a_photograph_of_24_megapixels_is_kept_whole_and_copied_small(bench: TestClient) -> None:
    data = jpeg(6000, 4000)
    answer = bench.post(
        f"/dossier/{TAG}/photographs",
        data={"slot": "overall-front", "id": "f-24"},
        files={"photo": ("large.jpg", data, "image/jpeg")},
    )
    assert answer.status_code == 200
    (kept,) = state_in(bench).photographs.values()
    assert (kept.width, kept.height, kept.slot) == (6000, 4000, "overall-front")
    assert bench.app.state.desk.files.get(kept.file) == data  # type: ignore[attr-defined]
    copy = bench.get(f"/dossier/{TAG}/frame/f-24?wide=320").content
    assert Image.open(io.BytesIO(copy)).size == (320, 213)
