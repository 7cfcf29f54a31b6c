"""``heelstamp panel`` and ``show --panel``: entered once, compared in order, refused in words."""

import json
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fakes.commands import Run

BOX, GREY = "100,100,300,260,0.5", "400,100,460,160,0.2"
DONE, FINDINGS, MISUSE, UNDECIDED = 0, 1, 2, 3


def panel_file(path: Path, level: int, time: float = 2.0) -> Path:
    image = np.zeros((400, 600, 3), np.uint8)
    image[80:280, 80:320] = (level, level + 20, level - 30)
    exif = Image.Exif()
    exif.get_ifd(0x8769).update({33434: time, 33437: 8.0, 34855: 200, 41987: 1})
    Image.fromarray(image).save(path, exif=exif, quality=97)
    return path


@pytest.fixture
def panel_shop(run: Run, typed_shop: Path, tmp_path: Path) -> Path:
    for name, level, time in (
        ("F1", 150, 2.0),
        ("F2", 151, 2.0),
        ("F3", 135, 2.0),
        ("F4", 150, 1.0),
    ):
        file = panel_file(tmp_path / f"{name}.jpg", level, time)
        assert (
            run(
                "add",
                "H-0001",
                "photograph",
                f"id={name}",
                "slot=panel",
                "light=UV-A",
                "--file",
                file,
                "--shop",
                typed_shop,
            )[0]
            == DONE
        )
    return typed_shop


def test_a_lamp_that_fades_is_told(run: Run, panel_shop: Path) -> None:
    code, _, err = run("show", "H-0001", "--panel", "--shop", panel_shop)
    assert code == MISUSE
    assert "no photograph of the panel was measured" in err
    words = ("--box", BOX, "--grey", GREY, "--shop", panel_shop)
    code, text, err = run("panel", "H-0001", "F1", *words)
    assert (code, err) == (UNDECIDED, "")
    assert "no earlier photograph" in " ".join(text.split())
    assert run("panel", "H-0001", "F2", *words)[0] == DONE
    code, text, _ = run("panel", "H-0001", "F3", *words, "--json")
    assert code == FINDINGS
    found = json.loads(text)
    assert [day["state"] for day in found["days"]] == ["cannot compare", "steady", "drifted"]
    # red: code values 150 and 135 are 0.3050 and 0.2423 in linear light, IEC 61966-2-1
    assert found["days"][2]["to_first"][0] == pytest.approx(0.2423 / 0.3050, abs=0.01)
    assert found["days"][2]["settings"] == "2 s, f/8, ISO 200"
    code, text, _ = run("panel", "H-0001", "F4", *words)
    assert code == UNDECIDED
    assert "camera settings differ" in " ".join(text.split())
    code, text, _ = run("show", "H-0001", "--panel", "--shop", panel_shop)
    assert code == UNDECIDED
    assert text.count("frame F") == 4


def test_a_frame_is_entered_once_and_must_be_the_panels(run: Run, panel_shop: Path) -> None:
    words = ("--box", BOX, "--shop", panel_shop)
    run("panel", "H-0001", "F1", *words)
    code, _, err = run("panel", "H-0001", "F1", *words)
    assert code == MISUSE
    assert "entered already" in err
    code, _, err = run("panel", "H-0001", "F9", *words)
    assert code == MISUSE
    assert "no such photograph" in err
    code, _, err = run("panel", "H-0001", "F2", "--box", "1,2,3", "--shop", panel_shop)
    assert code == MISUSE
    assert "not 5 numbers" in err
