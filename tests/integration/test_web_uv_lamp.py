"""The lamp on the bench: a pair compared, entered, spoken of; and what is refused."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from fakes.lamp_shop import (
    LAMP,
    PAIR,
    UV,
    VISIBLE,
    as_jpeg,
    compared,
    drawing,
    lamp_shop,
    lit_jpeg,
    worn,
)
from fakes.web_shop import INSTRUMENT, TAG, bench_of, flat, jpeg, make_shop, state_in
from heelstamp.casework.dossier import append_all, attach_photograph, open_with
from heelstamp.casework.finish import KeptFinding, unpacked
from heelstamp.casework.finish.borders import area_of
from heelstamp.casework.papers.finish_section import finish_section, looks_with_findings
from heelstamp.catalogue import Exposure, PairMarks
from heelstamp.shop import now, open_shop
from heelstamp.shop.opened import load_subject

HOSTILE = ("", "\x00", "<script>alert(1)</script>", "9" * 500, "nan", "[[1,2],[3,4]]", "../..")


@pytest.fixture(scope="module")
def lamp_bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    """A bench whose pair was compared with a careful drawing, and entered."""
    with bench_of(lamp_shop(tmp_path_factory.mktemp("lamp"))) as client:
        page = compared(client, drawing())
        finding = re.search(r'name="finding" value="([0-9a-f]{64})"', page)
        assert finding
        assert state_in(client).observations == {}  # nothing is entered before a person enters it
        told = {**PAIR, "finding": finding[1], "id": "o-look"}
        assert client.post(f"{LAMP}/look", data=told).status_code == 200
        yield client


def kept_of(lamp_bench: TestClient) -> dict[str, KeptFinding]:
    look = state_in(lamp_bench).observations["o-look"]
    assert look.file is not None
    files = lamp_bench.app.state.shop.files  # type: ignore[attr-defined]
    return {"o-look": unpacked(files.get(look.file), where="o-look")}


def finding_of(lamp_bench: TestClient) -> dict[str, Any]:
    return dict(kept_of(lamp_bench)["o-look"].data)


def test_what_was_compared_reaches_dating_and_papers_as_glow_enters_it(
    lamp_bench: TestClient,
) -> None:
    state = state_in(lamp_bench)
    look = state.observations["o-look"]
    assert (look.sign, look.part, look.frames, look.is_read) == (
        "glow",
        "finish",
        [VISIBLE, UV],
        True,
    )
    assert look.likelihoods
    assert looks_with_findings(state) == (look,)
    desk = lamp_bench.app.state.shop  # type: ignore[attr-defined]
    finding = desk.finding(TAG).data()
    assert finding["parts"]["finish"] != finding["part_priors"]["finish"]
    assert load_subject(TAG, desk.folder).state.observations["o-look"] == look
    marks = state.last(PairMarks, visible=VISIBLE, uv=UV)
    kept = json.loads(desk.files.get(marks.file))
    assert kept["schema"] == "heelstamp/lamp-marks/1"
    assert len(kept["outline"]) == len(worn().outline)
    assert finding_of(lamp_bench)["masks"]["proposed"] is False


def test_the_page_tells_each_region_in_the_words_of_papers(lamp_bench: TestClient) -> None:
    page = lamp_bench.get(LAMP).text
    data = finding_of(lamp_bench)
    assert len(data["regions"]) >= 2
    assert page.count('<li id="region-') == len(data["regions"])
    for region in data["regions"]:
        assert f"{region['area_cm2']:.2f} ± " in page
        assert f'data-region="{region["number"]}"' in page
    assert "Possible causes:" in page
    assert "in ordinary light" in page
    assert "simulated pairs only" in page
    assert "genuine" not in page.lower()


def test_the_same_look_is_not_entered_twice_and_another_needs_a_reason(
    lamp_bench: TestClient,
) -> None:
    before = state_in(lamp_bench).length
    told = {**PAIR, "finding": finding_of(lamp_bench)["digest"], "id": "o-look"}
    assert lamp_bench.post(f"{LAMP}/look", data=told).status_code == 200  # sent twice by a device
    assert lamp_bench.post(f"{LAMP}/look", data={**told, "id": "o-2"}).status_code == 409
    assert lamp_bench.post(f"{LAMP}/look", data={**told, "finding": "0" * 64}).status_code in (
        200,
        409,
    )
    assert state_in(lamp_bench).length == before


def test_a_region_is_set_aside_with_a_reason_and_stands_again(lamp_bench: TestClient) -> None:
    told = {**PAIR, "region": "1", "act": "aside"}
    assert lamp_bench.post(f"{LAMP}/region", data=told).status_code == 422
    assert (
        lamp_bench.post(
            f"{LAMP}/region", data={**told, "region": "99", "reason": "dust"}
        ).status_code
        == 422
    )
    banned = {**told, "reason": "it is 100% original"}
    assert lamp_bench.post(f"{LAMP}/region", data=banned).status_code == 422
    page = lamp_bench.post(
        f"{LAMP}/region", data={**told, "reason": "dust or lint", "id": "d-1"}
    ).text
    assert "Set aside</strong> by examiner A: dust or lint" in page
    assert 'class="region aside"' in page
    printed = [
        one.text for one in finish_section(state_in(lamp_bench), kept_of(lamp_bench))[0][0].notes
    ]
    assert (
        "Region 1 was set aside by examiner A: dust or lint. The finding stays as it was made."
        in printed
    )
    assert finding_of(lamp_bench)["regions"][0]["number"] == 1  # the finding stays
    page = lamp_bench.post(f"{LAMP}/region", data={**PAIR, "region": "1", "act": "stands"}).text
    assert "Set aside</strong>" not in page


def test_a_border_by_hand_is_kept_beside_the_programs_with_its_area(lamp_bench: TestClient) -> None:
    data = finding_of(lamp_bench)
    x, y = data["regions"][0]["centre"]
    square = [[x - 20, y - 20], [x + 20, y - 20], [x + 20, y + 20], [x - 20, y + 20]]
    told = {**PAIR, "region": "1", "reason": "half of it is a scratch"}
    page = lamp_bench.post(f"{LAMP}/border", data={**told, "polygon": json.dumps(square)}).text
    area, doubt = area_of(square, data["px_per_mm"])
    assert f"{area:.2f} ± {doubt:.2f} cm²" in page
    assert "drawn by hand" in page
    assert f"the program’s border {data['regions'][0]['area_cm2']:.2f} ±" in page
    assert "half of it is a scratch" in page
    assert 'class="line by-hand"' in page
    printed = [
        one.text for one in finish_section(state_in(lamp_bench), kept_of(lamp_bench))[0][0].notes
    ]
    words = f"examiner A drew its border by hand: {area:.2f} ± {doubt:.2f} cm² inside; half of"
    assert any(words in one for one in printed)
    before = state_in(lamp_bench).length
    for wrong in ("[[1,2]]", "{", "[[-5,0],[9,9],[5,9]]", "[[1,1],[1,1],[1,1]]", "x" * 700_000):
        assert lamp_bench.post(f"{LAMP}/border", data={**told, "polygon": wrong}).status_code == 422
    assert state_in(lamp_bench).length == before
    page = lamp_bench.post(f"{LAMP}/border", data={**told, "polygon": "", "reason": ""}).text
    assert 'class="line by-hand"' not in page


def test_pictures_lie_over_each_other_and_their_squares_join(lamp_bench: TestClient) -> None:
    finding = finding_of(lamp_bench)["digest"][:16]
    whole = lamp_bench.get(f"{LAMP}/laid/{finding}", params=PAIR)
    laid = np.asarray(Image.open(io.BytesIO(whole.content)), dtype=float)
    assert laid.shape[1::-1] == worn().visible.shape[1::-1]
    assert "immutable" in whole.headers["cache-control"]
    square = lamp_bench.get(f"{LAMP}/tile/{finding}/0/1/0", params=PAIR)
    piece = np.asarray(Image.open(io.BytesIO(square.content)), dtype=float)
    assert piece.shape[:2] == (512, laid.shape[1] - 512)
    assert np.abs(piece - laid[:512, 512:1024]).mean() < 4.0
    seen = lamp_bench.get(f"{LAMP}/tile/none/1/0/0", params={"visible": VISIBLE})
    half = np.asarray(Image.open(io.BytesIO(seen.content)), dtype=float)
    true = worn().visible[:1024, :1024]
    assert half.shape[:2] == tuple((side + 1) // 2 for side in true.shape[:2])
    assert abs(half.mean() - true.mean()) < 3.0
    for path in ("9/0/0", "-1/0/0", "0/99/0", "0/0/-1"):
        assert lamp_bench.get(f"{LAMP}/tile/{finding}/{path}", params=PAIR).status_code in (
            404,
            422,
        )
    assert lamp_bench.get(f"{LAMP}/laid/{'0' * 16}", params=PAIR).status_code == 404


def test_the_laid_picture_follows_the_transform(lamp_bench: TestClient) -> None:
    """The same places of the body lie on each other: edges of UV-A and visible agree."""
    finding = finding_of(lamp_bench)
    laid = lamp_bench.get(f"{LAMP}/laid/{finding['digest'][:16]}", params=PAIR).content
    over = np.asarray(Image.open(io.BytesIO(laid)).convert("L"), dtype=float)
    plain = np.asarray(Image.fromarray(worn().uv).convert("L"), dtype=float)
    outline = np.zeros(over.shape, bool)
    ys, xs = worn().outline.round().astype(int).T[::-1]
    inside = (ys > 3) & (xs > 3) & (ys < over.shape[0] - 4) & (xs < over.shape[1] - 4)
    outline[ys[inside], xs[inside]] = True

    def steep(picture: np.ndarray) -> float:  # type: ignore[type-arg]
        gy, gx = np.gradient(picture)
        return float(np.hypot(gx, gy)[outline].mean())

    assert steep(over) > 1.15 * steep(plain)


def test_an_outline_is_proposed_once_and_kept(lamp_bench: TestClient) -> None:
    first = lamp_bench.get(f"{LAMP}/outline", params={"visible": VISIBLE}).json()
    assert len(first["outline"]) >= 10
    assert lamp_bench.get(f"{LAMP}/outline", params={"visible": VISIBLE}).json() == first
    area, _ = area_of(first["outline"], 1.0)
    true, _ = area_of(worn().outline.tolist(), 1.0)
    assert area == pytest.approx(true, rel=0.1)
    assert lamp_bench.get(f"{LAMP}/outline", params={"visible": "x"}).status_code == 404


def test_a_pair_drawn_anew_takes_the_place_of_the_first_with_a_reason(tmp_path: Path) -> None:
    with bench_of(lamp_shop(tmp_path)) as client:
        page = compared(client)
        assert "masks not looked at" in page
        digest = re.search(r'name="finding" value="([0-9a-f]{64})"', page)
        assert digest
        client.post(f"{LAMP}/look", data={**PAIR, "finding": digest[1], "id": "o-a"})
        page = compared(client, drawing())
        assert "o-a stands already" in page
        again = re.search(r'name="finding" value="([0-9a-f]{64})"', page)
        assert again
        assert again[1] != digest[1]
        told = {**PAIR, "finding": again[1], "id": "o-b"}
        assert client.post(f"{LAMP}/look", data=told).status_code == 409
        told["again"] = "Outline and parts drawn anew."
        assert client.post(f"{LAMP}/look", data=told).status_code == 200
        state = state_in(client)
        assert list(state.observations) == ["o-a"]
        assert len(state.history["o-a"]) == 2
        assert state.observations["o-a"].file != state.history["o-a"][0].body.file  # type: ignore[union-attr]


def test_a_second_frame_with_the_lamp_moved_tells_what_one_leaves_open(tmp_path: Path) -> None:
    with bench_of(lamp_shop(tmp_path, lamp=20.0)) as client:
        page = compared(client, drawing())
        assert "Left open" in page
        assert "came from the right of the photograph. Put the lamp at the left" in page
        form = {**PAIR, "slot": "uv-front-moved", "id": "f-moved"}
        photo = {"photo": ("moved.jpg", lit_jpeg(195.0), "image/jpeg")}
        answer = client.post(f"{LAMP}/shot", data=form, files=photo)
        assert answer.status_code == 200
        assert "f-moved with the lamp moved" in answer.text
        page = compared(client, drawing(), brushed="true")
        assert "Photographed with the lamp at 2 places" in page
        assert "Brighter" in page
        finding = re.search(r'name="finding" value="([0-9a-f]{64})"', page)
        assert finding
        told = {**PAIR, "finding": finding[1], "id": "o-look"}
        assert client.post(f"{LAMP}/look", data=told).status_code == 200
        look = state_in(client).observations["o-look"]
        assert look.frames == [VISIBLE, UV, "f-moved"]
        assert look.places == 3
        assert "UV-A frames with the lamp at 2 places, brushed between the frames." in look.note
        faces, _ = finish_section(state_in(client), kept_of(client))
        assert faces[0].frames == (VISIBLE, UV, "f-moved")
        assert any("the light turned by 17" in one.text for one in faces[0].notes)


def test_the_face_is_looked_at_again_and_held_against_the_first(tmp_path: Path) -> None:
    shop = lamp_shop(tmp_path / "shop")
    with open_shop(shop) as opened:
        for id_, slot, light, uv in (
            ("f-seen-2", "uv-front-visible", "visible", False),
            ("f-glow-2", "uv-front", "UV-A", True),
        ):
            details = {"id": id_, "name": id_, "slot": slot, "light": light, "part": "finish"}
            data = as_jpeg(uv=uv)
            attach_photograph(opened, TAG, data, details, at=now(), by="examiner A")
    with bench_of(shop) as bench:
        for pair, id_ in ((PAIR, "g-1"), ({"visible": "f-seen-2", "uv": "f-glow-2"}, "g-2")):
            page = compared(bench, drawing(), pair=pair)
            finding = re.search(r'name="finding" value="([0-9a-f]{64})"', page)
            assert finding
            told = {**pair, "finding": finding[1], "id": id_}
            assert bench.post(f"{LAMP}/look", data=told).status_code == 200
        page = bench.get(LAMP, params={"visible": "f-seen-2", "uv": "f-glow-2"}).text
        assert "Each look tells of the same places" in page
        assert "Assessed under UV-A: front" in page
        assert (
            "Not looked at: back, edges 1, edges 2, headstock, neck back and under pickguard"
            in page
        )
        looks = state_in(bench).observations.values()
        assert [one.id for one in looks if one.likelihoods] == ["g-1"]


def test_a_pair_that_is_none_is_refused_with_what_to_do(tmp_path: Path) -> None:
    shop = lamp_shop(tmp_path, whole=False)
    with bench_of(shop) as client:
        assert "Take the front under UV-A" in client.get(LAMP).text
        form = {"visible": VISIBLE, "slot": "uv-front", "id": UV}
        photo = {"photo": ("uv.jpg", as_jpeg(uv=False) + b"\x00", "image/jpeg")}
        answer = client.post(f"{LAMP}/shot", data=form, files=photo)
        assert answer.status_code == 200
        taken = state_in(client).photographs[UV]
        assert (taken.light, taken.slot, taken.part) == ("UV-A", "uv-front", "finish")
        page = compared(client)
        assert "Not assessable" in page
        digest = re.search(r'name="finding" value="([0-9a-f]{64})"', page)
        assert digest
        assert "Take the UV-A frame again" in flat(page)
        again = client.get(LAMP, params={"visible": VISIBLE, "take": "yes"}).text
        assert "Take the front under UV-A" in again
        before = state_in(client).length
        told = {**PAIR, "finding": digest[1]}
        assert client.post(f"{LAMP}/look", data=told).status_code in (409, 422)
        assert state_in(client).length == before
        region = {**PAIR, "region": "1", "act": "aside", "reason": "dust"}
        assert client.post(f"{LAMP}/region", data=region).status_code == 409


def test_no_field_of_a_whole_pair_ends_in_a_fault(lamp_bench: TestClient) -> None:
    before = state_in(lamp_bench).length
    for word in HOSTILE:
        for path, fields in (
            ("compare", {**PAIR, "marks": word or "{"}),
            ("compare", {"visible": word, "uv": UV}),
            ("look", {**PAIR, "finding": word}),
            ("region", {**PAIR, "region": word, "act": "aside", "reason": word}),
            ("border", {**PAIR, "region": "1", "polygon": word or "[]"}),
            ("irradiance", {"level": word}),
            ("shot", {"visible": VISIBLE, "slot": word}),
        ):
            answer = lamp_bench.post(f"{LAMP}/{path}", data=fields)
            assert 400 <= answer.status_code < 500, (path, fields, answer.status_code)
            assert "<script>alert" not in answer.text
    assert state_in(lamp_bench).length == before


def test_the_clock_is_entered_by_its_taps(tmp_path: Path) -> None:
    with bench_of(make_shop(tmp_path)) as client:
        page = client.get(LAMP).text
        assert "No frame of a face" in page
        assert "Wear UV goggles" in page
        page = client.post(f"{LAMP}/irradiance", data={"level": "10"}).text
        assert "At 10 W/m² the limit, 10000 J/m² in eight hours (ICNIRP 2004), is reached" in page
        assert "16 min 40 s" in page  # 1000 s at 10 W/m²
        page = client.post(f"{LAMP}/switch", data={"to": "on", "id": "t-1"}).text
        assert "data-since=" in page
        assert "The lamp is on" in client.get("/").text  # seen on the rack
        assert client.post(f"{LAMP}/switch", data={"to": "on"}).status_code == 409
        page = client.post(f"{LAMP}/switch", data={"to": "off"}).text
        assert "data-since=" not in page
        assert client.post(f"{LAMP}/switch", data={"to": "off"}).status_code == 409
        assert 0 < state_in(client).of(Exposure)["t-1"].minutes < 1
        rack = client.get("/").text
        assert "The lamp is on" not in rack
        assert "Before or after is wanting" not in rack  # light has no before and after


def test_the_panel_is_looked_up_in_the_dossier_opened_for_it(tmp_path: Path) -> None:
    shop = make_shop(tmp_path)
    acts = [
        (
            "measurement",
            {
                "id": f"p-{channel}",
                "quantity": "panel glow",
                "panel": {"channel": channel, "settings": "1/4 s", "stray_light": "taken away"},
                "part": "finish",
                "value": 0.4,
                "unit": "1",
                "stage": "found",
                "uncertainty": 0.01,
                "frames": ["P1"],
            },
        )
        for channel in ("red", "green", "blue")
    ]
    details = {"id": "P1", "name": "panel.jpg", "slot": "panel", "light": "UV-A", "part": "finish"}
    with open_shop(shop) as opened:
        open_with(opened, [("instrument", {**INSTRUMENT, "tag": "Panel-1"})], at=now(), by="A")
        attach_photograph(opened, "Panel-1", jpeg(), details, at=now(), by="A")
        append_all(opened, "Panel-1", acts, at="2026-01-01T00:00:00Z", by="A")
    with bench_of(shop) as client:
        page = client.get(LAMP).text
    assert 'due, in <a href="/dossier/Panel-1/uv-lamp">Panel-1</a>' in flat(page)
    assert "Cannot compare, 2026-01-01" in page
