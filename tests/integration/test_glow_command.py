"""``heelstamp glow`` on simulated pairs: the contract, the dossier, and bad input."""

import hashlib
import io
import json
import struct
import subprocess
import sys
import zlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pikepdf
import pytest
from PIL import Image

from fakes.commands import Run
from fakes.finish_moved import lit_from
from fakes.finish_simulator import Pair, simulate
from fakes.lamp_shop import worn as worn_body

DONE, MISUSE, UNDECIDED = 0, 2, 3
WIDTH = 1100


def save(path: Path, pixels: Any, **options: Any) -> Path:
    Image.fromarray(pixels).save(path, **options)
    return path


def masks_of(pair: Pair) -> dict[str, Any]:
    return {
        "outline": pair.outline.tolist(),
        "parts": [{"name": name, "polygon": p.tolist()} for name, p in pair.parts],
    }


@pytest.fixture(scope="module")
def worn() -> Pair:
    return worn_body(WIDTH)


@pytest.fixture(scope="module")
def clean() -> Pair:
    return simulate(5, width=WIDTH, clean=True)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory, worn: Pair, clean: Pair) -> Iterator[Path]:
    """Both pairs as files; whatever a test does, they are the same afterwards."""
    made = tmp_path_factory.mktemp("pairs")
    for name, pair in (("worn", worn), ("clean", clean)):
        save(made / f"{name}.jpg", pair.visible, quality=95)
        save(made / f"{name}-uv.jpg", pair.uv, quality=95)
        (made / f"{name}.json").write_text(json.dumps(masks_of(pair)))
    before = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in made.iterdir()}
    yield made
    after = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in made.iterdir()}
    assert after == before


def options(folder: Path, name: str, pair: Pair) -> list[str]:
    grey = ",".join(f"{v:.2f}" for v in (*pair.grey, pair.grey_reflectance))
    return ["--masks", str(folder / f"{name}.json"), "--scale", str(pair.px_per_mm), "--grey", grey]


def test_a_worn_pair_follows_the_contract(
    run: Run, folder: Path, worn: Pair, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    code, text, err = run(
        "glow",
        folder / "worn.jpg",
        folder / "worn-uv.jpg",
        *options(folder, "worn", worn),
        "--out",
        out,
        "--json",
    )
    assert (code, err) == (DONE, "")
    found = json.loads(text)
    assert found["verdict"] == "assessed"
    assert found["reasons"] == []
    assert np.array(found["transform"]).shape == (3, 3)
    assert found["px_per_mm"] == worn.px_per_mm
    assert found["basis"].startswith("simulated pairs")
    assert len(found["regions"]) >= 2
    for region in found["regions"]:
        assert region["kind"] in ("darker", "other hue", "brighter", "gradual")
        assert isinstance(region["visible"], bool)
        assert 0 < region["confidence"] < 1
        assert sum(region["causes"].values()) == pytest.approx(1, abs=1e-3)
        assert len(region["polygon"]) >= 3
    labels = np.asarray(Image.open(out / "map.png"))
    assert labels.shape == worn.visible.shape[:2]
    for region in found["regions"]:
        drawn = np.count_nonzero(labels == region["number"]) / worn.px_per_mm**2 / 100
        assert drawn == pytest.approx(region["area_cm2"], rel=0.03)
    truth = worn.labels > 0
    assert np.count_nonzero(truth & (labels > 0)) > 0.8 * np.count_nonzero(truth)
    with Image.open(out / "picture.jpg") as picture:
        assert picture.width > 1900
    assert (out / "preview.jpg").stat().st_size > 1000
    assert sorted(path.name for path in out.iterdir()) == ["map.png", "picture.jpg", "preview.jpg"]


def test_words_are_those_of_a_continuity_test(run: Run, folder: Path, worn: Pair) -> None:
    code, text, _ = run(
        "glow", folder / "worn.jpg", folder / "worn-uv.jpg", *options(folder, "worn", worn)
    )
    assert code == DONE
    told = " ".join(text.split())
    assert "the glow differs here (darker)" in told
    assert "possible causes with their support" in told
    assert "simulated pairs" in told
    assert "original" not in told.lower()


def test_with_the_lamp_moved_what_one_frame_leaves_open_is_told(
    run: Run, folder: Path, worn: Pair, tmp_path: Path
) -> None:
    first = save(tmp_path / "right.png", lit_from(worn, 10))
    second = save(tmp_path / "left.png", lit_from(worn, 190))
    wanted = [folder / "worn.jpg", first, *options(folder, "worn", worn), "--brushed", "--json"]
    lamp = ["--lamp", "365,600,band-pass 365"]
    code, text, err = run("glow", *wanted, "--moved", second, *lamp)
    assert (code, err) == (DONE, "")
    found = json.loads(text)
    assert found["further"] == ["left.png"]
    assert found["brushed"]
    assert len(found["regions"]) == 3
    assert "brighter" in {region["kind"] for region in found["regions"]}
    assert found["lamp"]["wavelength_nm"] == 365
    first_from, second_from = found["lamp"]["from_degrees"]
    assert 125 < abs((second_from - first_from + 180) % 360 - 180) <= 180
    # the same place twice is no second place, and each refusal says what mends it
    code, text, _ = run("glow", *wanted, "--moved", first)
    assert code == UNDECIDED
    refusal = json.loads(text)["refusals"][0]
    assert refusal["code"] == "lamp not moved"
    assert "opposite side" in refusal["remedy"]
    other = save(tmp_path / "left.jpg", lit_from(worn, 190), quality=95)
    code, _, err = run("glow", *wanted, "--moved", other)
    assert code == MISUSE
    assert "of another kind of file" in err
    code, _, err = run("glow", *wanted, "--moved", second, "--flat", first)
    assert code == MISUSE
    assert "a flat frame is missing" in err
    code, _, err = run("glow", *wanted, "--lamp", "254,600")
    assert code == MISUSE
    assert "no UV-A" in err


def test_no_scale_gives_no_area_and_says_so(run: Run, folder: Path, clean: Pair) -> None:
    words = [
        "glow",
        folder / "clean.jpg",
        folder / "clean-uv.jpg",
        "--masks",
        folder / "clean.json",
    ]
    code, text, _ = run(*words, "--json")
    found = json.loads(text)
    assert code == DONE
    assert found["px_per_mm"] is None
    assert found["assessed_cm2"] is None
    assert {"no scale", "stray light unknown"} <= {limit["code"] for limit in found["limits"]}
    assert all(region["area_cm2"] is None for region in found["regions"])


def test_points_marked_by_hand_give_the_position(run: Run, folder: Path, clean: Pair) -> None:
    height, width = clean.uv.shape[:2]
    marked: list[str] = []
    for x, y in ((0.3, 0.3), (0.7, 0.3), (0.7, 0.7), (0.3, 0.7), (0.5, 0.4)):
        at = np.array([x * width, y * height, 1.0])
        seen = clean.transform @ at
        seen = seen / seen[2]
        marked += ["--point", f"{seen[0]:.2f},{seen[1]:.2f},{at[0]:.2f},{at[1]:.2f}"]
    code, text, _ = run(
        "glow",
        folder / "clean.jpg",
        folder / "clean-uv.jpg",
        *options(folder, "clean", clean),
        *marked,
        "--json",
    )
    found = json.loads(text)
    assert code == DONE, found["reasons"]
    assert found["registration"]["by_points"]
    assert np.array(found["transform"])[:2] == pytest.approx(
        clean.transform[:2] / clean.transform[2, 2], abs=0.5
    )


def test_a_refused_pair_writes_no_picture_and_removes_an_older_one(
    run: Run, folder: Path, tmp_path: Path
) -> None:
    (tmp_path / "map.png").write_bytes(b"of an earlier pair")
    code, text, _ = run(
        "glow", folder / "worn.jpg", folder / "worn.jpg", "--out", tmp_path, "--json"
    )
    assert code == UNDECIDED
    found = json.loads(text)
    assert found["verdict"] == "refused"
    assert [one["code"] for one in found["refusals"]] == ["same photograph twice"]
    assert found["reasons"][0].endswith("the UV photograph second.")
    assert not list(tmp_path.iterdir())


def test_a_swapped_pair_and_another_instrument_are_refused(run: Run, folder: Path) -> None:
    code, text, _ = run("glow", folder / "clean-uv.jpg", folder / "clean.jpg", "--json")
    assert (code, json.loads(text)["refusals"][0]["code"]) == (UNDECIDED, "swapped pair")
    code, text, _ = run("glow", folder / "clean.jpg", folder / "worn-uv.jpg", "--json")
    assert (code, json.loads(text)["verdict"]) == (UNDECIDED, "refused")


def test_a_mirrored_frame_is_refused_and_says_what_to_do(
    run: Run, folder: Path, tmp_path: Path
) -> None:
    one = simulate(
        31,
        difficulty="easy",
        width=WIDTH,
        style="two horns",
        finish="transparent",
        side="front",
        clean=True,
    )
    seen = save(tmp_path / "seen.png", one.visible)
    mirrored = save(tmp_path / "mirrored.png", np.ascontiguousarray(one.uv[:, ::-1]))
    code, text, err = run("glow", seen, mirrored, "--out", tmp_path / "out", "--json")
    assert (code, err) == (UNDECIDED, "")
    found = json.loads(text)
    assert [refusal["code"] for refusal in found["refusals"]] == ["wrong side"]
    assert "neither of them mirrored" in found["refusals"][0]["remedy"]
    assert found["regions"] == []
    assert not (tmp_path / "out" / "map.png").exists()


def test_an_upside_down_frame_is_turned_and_told(
    run: Run, folder: Path, clean: Pair, tmp_path: Path
) -> None:
    turned = save(tmp_path / "turned.png", np.ascontiguousarray(clean.uv[::-1, ::-1]))
    code, text, _ = run(
        "glow", folder / "clean.jpg", turned, *options(folder, "clean", clean), "--json"
    )
    found = json.loads(text)
    assert code == DONE
    assert "turned" in {limit["code"] for limit in found["limits"]}
    assert found["transform"][0][0] == pytest.approx(-1, abs=0.1)


def test_orientation_cmyk_and_sixteen_bits_come_out_alike(
    run: Run, folder: Path, clean: Pair, tmp_path: Path
) -> None:
    exif = Image.Exif()
    exif[274] = 3  # stored upside down
    upset = save(
        tmp_path / "upset.jpg",
        np.ascontiguousarray(clean.visible[::-1, ::-1]),
        quality=95,
        exif=exif,
    )
    deep = tmp_path / "deep.png"
    assert cv2.imwrite(str(deep), clean.uv[:, :, ::-1].astype(np.uint16) * 257)
    inks = tmp_path / "inks.tif"
    Image.fromarray(clean.visible).convert("CMYK").save(inks)
    wanted = options(folder, "clean", clean)
    for visible, uv in ((upset, folder / "clean-uv.jpg"), (inks, deep)):
        code, text, _ = run("glow", visible, uv, *wanted, "--json")
        found = json.loads(text)
        assert code == DONE, found["reasons"]
        assert found["regions"] == []
        assert found["transform"][0][0] == pytest.approx(1, abs=0.05)
        assert "turned" not in {limit["code"] for limit in found["limits"]}


def test_a_picture_never_replaces_a_photograph(run: Run, folder: Path, tmp_path: Path) -> None:
    mine = tmp_path / "picture.jpg"
    mine.write_bytes((folder / "clean.jpg").read_bytes())
    code, _, err = run("glow", mine, folder / "clean-uv.jpg", "--out", tmp_path)
    assert code == MISUSE
    assert "would replace one of the photographs" in err
    assert mine.read_bytes() == (folder / "clean.jpg").read_bytes()
    code, _, err = run("glow", mine, folder / "clean-uv.jpg", "--out", mine)
    assert code == MISUSE
    assert "cannot be written" in err


def bomb(width: int, height: int) -> bytes:
    """A PNG that claims to be huge in a few bytes."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        crc = zlib.crc32(kind + data)
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", crc)

    header = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IEND", b"")


def test_what_is_no_photograph_is_refused_before_it_is_decoded(
    run: Run, folder: Path, tmp_path: Path
) -> None:
    whole = (folder / "clean-uv.jpg").read_bytes()
    tiff = io.BytesIO()
    Image.new("L", (8000, 7600)).save(tiff, "TIFF", compression="tiff_lzw")
    bad = {
        "cut.jpg": (whole[: len(whole) // 2], "cut short"),
        "empty.jpg": (b"", "empty file"),
        "words.jpg": (b"glow, said the lamp", "not a photograph"),
        "bomb.png": (bomb(60_000, 60_000), "more pixels"),
        "wide.png": (bomb(20_000, 10_000), "more pixels"),
        "sixty.tif": (tiff.getvalue(), "Stay under 60 million pixels"),
    }
    for name, (data, told) in bad.items():
        (tmp_path / name).write_bytes(data)
        code, text, err = run("glow", folder / "clean.jpg", tmp_path / name, "--json")
        assert code == MISUSE, name
        assert told in err, name
        assert json.loads(text)["error"]["where"] == name
    code, _, err = run("glow", folder / "clean.jpg", tmp_path / "none.jpg")
    assert code == MISUSE
    assert "cannot be read" in err


def test_one_pixel_is_refused_with_a_reason(run: Run, folder: Path, tmp_path: Path) -> None:
    dot = save(tmp_path / "dot.png", np.zeros((1, 1, 3), np.uint8))
    code, text, _ = run("glow", folder / "clean.jpg", dot, "--json")
    assert (code, json.loads(text)["refusals"][0]["code"]) == (UNDECIDED, "too small")


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["--scale", "0"], "a scale that no photograph has"),
        (["--scale", "nan"], "a scale that no photograph has"),
        (["--ruler", "0,0,100"], "not 5 numbers"),
        (["--ruler", "5,5,5,5,10"], "too short"),
        (["--scale", "3", "--ruler", "0,0,300,0,100"], "two scales"),
        (["--grey", "10,10,5,5,0.18"], "without area"),
        (["--grey", "1,1,5,5,1.8"], "impossible reflectance"),
        (["--point", "1,1,2,2"], "too few points"),
        (["--enter"], "only frames of a dossier"),
    ],
)
def test_impossible_options_are_misuse(run: Run, folder: Path, words: list[str], told: str) -> None:
    code, _, err = run("glow", folder / "worn.jpg", folder / "worn.jpg", *words)
    assert code == MISUSE
    assert told in err


@pytest.fixture
def pair_shop(run: Run, typed_shop: Path, folder: Path) -> Path:
    """A shop whose dossier holds the even pair as F1 and F2."""
    for name, light in (("clean.jpg", "visible"), ("clean-uv.jpg", "UV-A")):
        number = "F1" if light == "visible" else "F2"
        code, _, err = run(
            "add",
            "H-0001",
            "photograph",
            f"id={number}",
            "part=finish",
            f"light={light}",
            "simulated=true",
            "--file",
            folder / name,
            "--shop",
            typed_shop,
        )
        assert code == DONE, err
    return typed_shop


def finish_states(run: Run, pair_shop: Path) -> dict[str, float]:
    _, text, err = run("date", "H-0001", "--shop", pair_shop, "--json")
    assert not err
    states: dict[str, float] = json.loads(text)["parts"]["finish"]
    return states


def test_an_even_pair_hardly_moves_the_first_coat_against_an_old_refinish(
    run: Run, folder: Path, pair_shop: Path, clean: Pair
) -> None:
    before = finish_states(run, pair_shop)
    words = ["glow", "H-0001:F1", "H-0001:F2", "--shop", pair_shop, "--enter", "--json"]
    code, text, err = run(*words, *options(folder, "clean", clean))
    assert (code, err) == (DONE, "")
    assert json.loads(text)["regions"] == []
    after = finish_states(run, pair_shop)
    moved = (after["original"] / after["old_refinish"]) / (
        before["original"] / before["old_refinish"]
    )
    assert 0.8 <= moved <= 1.25
    assert after["touched_up"] < before["touched_up"]
    told = json.loads(run("show", "H-0001", "--shop", pair_shop, "--json")[1])["observation"]
    assert [one["sign"] for one in told] == ["glow"]
    assert told[0]["frames"] == ["F1", "F2"]
    assert told[0]["note"].startswith("Even (cohesive) where assessed.")
    code, _, err = run(*words, *options(folder, "clean", clean))
    assert code == MISUSE
    assert "entered already" in err
    assert finish_states(run, pair_shop) == after


def test_a_look_that_counts_already_is_entered_without_weight(
    run: Run, folder: Path, pair_shop: Path, clean: Pair
) -> None:
    run(
        "add",
        "H-0001",
        "observation",
        "part=finish",
        "kind=sign",
        "status=read",
        "sign=uv_colour",
        "outcome=aged_even",
        'frames=["F2"]',
        "--shop",
        pair_shop,
    )
    before = finish_states(run, pair_shop)
    code, text, err = run(
        "glow",
        "H-0001:F1",
        "H-0001:F2",
        "--shop",
        pair_shop,
        "--enter",
        *options(folder, "clean", clean),
    )
    assert code == DONE, err
    assert "observation o2" in text
    assert finish_states(run, pair_shop) == before


def test_a_pair_that_cannot_be_assessed_is_entered_as_illegible_with_the_reason(
    run: Run, folder: Path, pair_shop: Path, clean: Pair, tmp_path: Path
) -> None:
    burnt = save(tmp_path / "burnt.png", np.minimum(clean.uv.astype(int) * 6, 255).astype(np.uint8))
    run(
        "add",
        "H-0001",
        "photograph",
        "id=F3",
        "part=finish",
        "light=UV-A",
        "slot=uv-back",
        "--file",
        burnt,
        "--shop",
        pair_shop,
    )
    before = finish_states(run, pair_shop)
    code, text, _ = run(
        "glow",
        "H-0001:F1",
        "H-0001:F3",
        "--shop",
        pair_shop,
        "--enter",
        "--json",
        *options(folder, "clean", clean),
    )
    found = json.loads(text)
    assert (code, found["verdict"], found["entered"]["id"]) == (UNDECIDED, "refused", "o1")
    (told,) = json.loads(run("show", "H-0001", "--shop", pair_shop, "--json")[1])["observation"]
    assert (told["status"], told["frames"]) == ("illegible", ["F1", "F3"])
    assert told["note"].startswith("Not assessable, because ")
    assert finish_states(run, pair_shop) == before
    out = tmp_path / "report.pdf"
    code, _, err = run("paper", "report", "H-0001", "-o", out, "--shop", pair_shop)
    assert code == DONE, err
    with pikepdf.open(out) as pdf:
        (carried,) = json.loads(pdf.attachments["finish.json"].get_file().read_bytes())
    assert carried["reasons"] == found["reasons"]


def test_a_refused_pair_enters_nothing(run: Run, folder: Path, pair_shop: Path) -> None:
    run(
        "add",
        "H-0001",
        "photograph",
        "id=F3",
        "light=UV-A",
        "--file",
        folder / "clean.jpg",
        "--shop",
        pair_shop,
    )
    code, text, _ = run("glow", "H-0001:F1", "H-0001:F3", "--shop", pair_shop, "--enter", "--json")
    assert (code, json.loads(text)["entered"]) == (UNDECIDED, None)
    assert "observation" not in json.loads(run("show", "H-0001", "--shop", pair_shop, "--json")[1])
    code, text, _ = run("glow", "H-0001:F1", "H-0001:F3", "--shop", pair_shop, "--enter")
    assert (code, "Nothing was entered." in text) == (UNDECIDED, True)


@pytest.mark.parametrize(
    ("pair", "told"),
    [
        (("H-0001:F2", "H-0001:F1"), "not a photograph in visible light"),
        (("H-0001:F1", "H-0001:F9"), "no such photograph"),
        (("H-0001:F1", "H-0002:F2"), "two frames of one dossier"),
        (("H-0001:F1", "clean-uv.jpg"), "two frames of one dossier"),
        (("H-0009:F1", "H-0009:F2"), "no such dossier"),
    ],
)
def test_frames_that_are_no_pair_are_misuse(
    run: Run, pair_shop: Path, pair: tuple[str, str], told: str
) -> None:
    code, _, err = run("glow", *pair, "--shop", pair_shop)
    assert code == MISUSE
    assert told in err


def test_proposed_masks_are_written_in_the_form_that_masks_takes(
    run: Run, folder: Path, worn: Pair, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    pair = (folder / "worn.jpg", folder / "worn-uv.jpg", "--scale", worn.px_per_mm)
    code, text, _ = run("glow", *pair, "--out", out)
    assert code == DONE
    told = " ".join(text.split())
    assert "masks.json: correct them" in told
    assert "the proposal may miss a part of the coat's own colour" in told
    kept = (out / "masks.json").read_bytes()
    assert set(json.loads(kept)) == {"outline", "parts"}
    code, first, _ = run("glow", *pair, "--json")
    found = json.loads(first)
    assert found["masks"]["proposed"]
    assert found["assessed_cm2"] is None
    code, text, _ = run("glow", *pair, "--masks", out / "masks.json", "--out", out, "--json")
    given = json.loads(text)
    assert code == DONE
    assert not given["masks"]["proposed"]
    assert given["assessed_cm2"] > 0
    assert all(region["area_cm2"] is not None for region in given["regions"])
    assert len(given["regions"]) >= len(found["regions"])
    # handed-in masks are left as they are, wherever they lie
    assert (out / "masks.json").read_bytes() == kept


def test_the_same_photograph_the_wrong_side_and_a_video_frame_are_refused_in_words(
    run: Run, folder: Path, clean: Pair, worn: Pair, tmp_path: Path
) -> None:
    darker = save(tmp_path / "darker.jpg", (clean.visible * 0.7).astype(np.uint8), quality=80)
    turned = save(tmp_path / "side.jpg", np.ascontiguousarray(worn.uv[:, ::-1]), quality=95)
    tiny = save(tmp_path / "tiny.jpg", cv2.resize(clean.uv, (640, 360)), quality=70)
    soft = cv2.GaussianBlur(cv2.resize(clean.uv, (960, 720)), (0, 0), 5.0)
    frame = save(tmp_path / "frame.jpg", soft, quality=50)
    for visible, uv, codes in (
        ("clean.jpg", folder / "clean.jpg", {"same photograph twice"}),
        ("clean.jpg", darker, {"same photograph twice"}),
        ("worn.jpg", turned, {"wrong side", "different instrument", "position does not hold"}),
        ("clean.jpg", tiny, {"too small", "other format"}),
        ("clean.jpg", frame, {"blurred", "position does not hold", "different instrument"}),
    ):
        code, text, err = run("glow", folder / visible, uv, "--json")
        assert (code, err) == (UNDECIDED, ""), uv
        (refusal,) = json.loads(text)["refusals"]
        assert refusal["code"] in codes, (uv, refusal)
        assert len(refusal["remedy"]) > 20


def test_sixteen_bit_tiff_comes_out_like_the_jpeg(
    run: Run, folder: Path, clean: Pair, tmp_path: Path
) -> None:
    deep = tmp_path / "deep.tif"
    assert cv2.imwrite(str(deep), clean.uv[:, :, ::-1].astype(np.uint16) * 257)
    before = hashlib.sha256(deep.read_bytes()).hexdigest()
    code, text, _ = run(
        "glow", folder / "clean.jpg", deep, *options(folder, "clean", clean), "--json"
    )
    found = json.loads(text)
    assert code == DONE
    assert found["regions"] == []
    assert hashlib.sha256(deep.read_bytes()).hexdigest() == before


def test_memory_stays_bounded_for_what_claims_to_be_huge(folder: Path, tmp_path: Path) -> None:
    """A process of its own, its address space bounded, refuses 200 and 3600 million pixels."""
    for name, size in (("wide.png", (20_000, 10_000)), ("bomb.png", (60_000, 60_000))):
        (tmp_path / name).write_bytes(bomb(*size))
        script = (
            "import pathlib, sys\n"
            "from heelstamp.cli import main\n"
            f"sys.argv = ['heelstamp', 'glow', {str(folder / 'clean.jpg')!r}, "
            f"{str(tmp_path / name)!r}]\n"
            "try:\n    main()\nfinally:\n"
            # not getrusage: its peak holds that of the process that started this one
            "    told = pathlib.Path('/proc/self/status').read_text().split('VmHWM:')[1]\n"
            "    peak = told.split()[0]\n"
            "    sys.stderr.write(f'peak {peak}')\n"
        )
        words = [sys.executable, "-c", script]
        ended = subprocess.run(words, check=False, capture_output=True, text=True)
        assert ended.returncode == MISUSE
        assert "more pixels" in ended.stderr
        assert int(ended.stderr.rsplit("peak ", 1)[1]) < 400_000  # kB
