"""``heelstamp pitch`` on simulated notes: the contract, the dossier, pictures, and bad input."""

import hashlib
import io
import json
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
import soundfile

from fakes.commands import Run
from fakes.plucked_string import pluck

DONE, MISUSE, UNDECIDED = 0, 2, 3
RATE = 44100
F0, B = 82.7, 4e-5


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """One string open and at the 12th fret; whatever a test does, the files stay as they are."""
    made = tmp_path_factory.mktemp("notes")
    rng = np.random.default_rng(31)
    low = pluck(rng, f0=F0, b=B, seconds=2.6, snr_db=50.0, glide_cents=3.0)
    high = pluck(rng, f0=2 * F0 * 2 ** (5 / 1200), b=4 * B, seconds=2.6, snr_db=50.0)
    soundfile.write(made / "low.wav", low, RATE, subtype="PCM_24")
    soundfile.write(made / "high.flac", high, RATE, subtype="PCM_16")
    both = np.column_stack([0.1 * low, low])
    soundfile.write(made / "stereo.wav", both, RATE, subtype="PCM_16")
    soundfile.write(made / "low.mp3", low, RATE)
    soundfile.write(made / "loud.wav", np.clip(4 * low, -1, 1), RATE, subtype="PCM_16")
    before = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in made.iterdir()}
    yield made
    after = {path.name: hashlib.sha256(path.read_bytes()).hexdigest() for path in made.iterdir()}
    assert after == before


def test_one_note_gives_the_contract(run: Run, folder: Path) -> None:
    code, text, _ = run("pitch", folder / "low.wav", "--note", "E2", "--json")
    found = json.loads(text)
    assert code == DONE
    truth = F0 * np.sqrt(1 + B)
    assert abs(1200 * np.log2(found["f1_hz"] / truth)) < 0.05
    assert found["cents"] == pytest.approx(1200 * np.log2(truth / 82.406889), abs=0.05)
    assert found["cents_90"][0] < found["cents"] < found["cents_90"][1]
    assert found["B"] == pytest.approx(B, rel=0.02)
    assert found["B_90"][0] < found["B"] < found["B_90"][1]
    left = 3.0 * np.exp(-1.0 / 0.3)
    assert found["cents_at_1_s"] == pytest.approx(found["cents"] + left, abs=0.05)
    assert found["cents_at_1_s_90"][0] < found["cents_at_1_s"] < found["cents_at_1_s_90"][1]
    assert found["glide_cents"] == pytest.approx(3.0, abs=0.2)
    assert found["refused"] is None
    assert found["named"] is True
    first = found["partials"][0]
    assert first["n"] == 1
    assert first["hz"] == pytest.approx(truth, abs=0.05)
    assert {"hz", "level_db", "decay_s", "used", "why_not"} <= set(first)
    again = json.loads(run("pitch", folder / "low.wav", "--note", "E2", "--json")[1])
    assert again == found


def test_several_notes_give_a_table_and_the_intonation(run: Run, folder: Path) -> None:
    code, text, _ = run("pitch", folder / "high.flac", folder / "low.wav", "--json")
    found = json.loads(text)
    assert code == DONE
    assert [one["note"] for one in found["notes"]] == ["E3", "E2"]
    (row,) = found["intonation"]
    truth = 5 + 600 * np.log2((1 + 4 * B) / (1 + B))
    assert row["cents"] == pytest.approx(truth, abs=0.15)
    assert 0 < row["uncertainty"] < 0.1
    assert row["one_string"] is True
    code, text, _ = run("pitch", folder / "high.flac", folder / "low.wav")
    assert code == DONE
    assert "Twelfth fret against the open string" in text
    assert "not the perceived pitch" in text
    assert "clock" in text


def test_stereo_and_lossy_recordings_are_said_to_be(run: Run, folder: Path) -> None:
    _, text, _ = run("pitch", folder / "stereo.wav")
    assert "Strongest of 2 channels (channel 2)" in text
    found = json.loads(run("pitch", folder / "stereo.wav", "--channel", "mix", "--json")[1])
    assert found["how_chosen"] == "mean of 2 channels"
    code, text, _ = run("pitch", folder / "low.mp3")
    assert code == DONE
    assert "throws sound away" in text


def test_a_refused_note_exits_three_with_reason_and_remedy(run: Run, folder: Path) -> None:
    code, text, _ = run("pitch", folder / "loud.wav", "--json")
    found = json.loads(text)
    assert code == UNDECIDED
    assert found["f1_hz"] is None
    assert found["refusals"][0]["code"] == "clipped"
    assert "Lower the recording level" in found["refused"][0]
    code, text, _ = run(
        "pitch", folder / "low.wav", folder / "loud.wav", "--note", "A2", "--note", "E2"
    )
    assert code == UNDECIDED
    assert "A2 was named, but E2 sounds" in text


def test_pictures_are_svg_and_replace_nothing(run: Run, folder: Path, tmp_path: Path) -> None:
    code, _, _ = run(
        "pitch",
        folder / "low.wav",
        folder / "low.mp3",
        folder / "loud.wav",
        "--out",
        tmp_path / "made",
    )
    assert code == UNDECIDED
    assert sorted(one.name for one in (tmp_path / "made").iterdir()) == ["low-2.svg", "low.svg"]
    drawn = ET.fromstring((tmp_path / "made" / "low.svg").read_text())
    words = " ".join(drawn.itertext())
    assert "E2" in words
    assert "glide +" in words
    assert len(list(drawn.iter("{http://www.w3.org/2000/svg}circle"))) > 10
    mine = tmp_path / "low.svg"
    mine.write_bytes((folder / "low.wav").read_bytes())
    code, _, err = run("pitch", mine, "--out", tmp_path)
    assert code == MISUSE
    assert "would replace one of the recordings" in err
    assert mine.read_bytes() == (folder / "low.wav").read_bytes()


def test_a_recording_of_a_dossier_is_measured_and_entered(
    run: Run, folder: Path, tmp_path: Path
) -> None:
    shop = ("--shop", tmp_path / "shop")
    code, _, err = run(
        "new",
        "H-0001",
        "--maker",
        "Sallowby Instrument Works",
        "--model",
        "Wherry",
        "--chronology",
        "sallowby-wherry",
        *shop,
    )
    assert code == DONE, err
    for id_, name in (("r1", "low.wav"), ("r2", "loud.wav")):
        code, _, err = run(
            "add",
            "H-0001",
            "recording",
            f"id={id_}",
            "media_type=audio/wav",
            "part=strings",
            "what=string 6 open",
            "--file",
            folder / name,
            *shop,
        )
        assert code == DONE, err
    code, text, _ = run("pitch", "H-0001:r1", "--note", "E2", "--enter", "--json", *shop)
    found = json.loads(text)
    assert code == DONE
    assert found["entered"][0]["id"] == "m1"
    state = json.loads(run("show", "H-0001", "--json", *shop)[1])
    (pitch,) = (one for one in state["measurement"] if one["quantity"] == "pitch")
    assert (pitch["heard"]["recordings"], pitch["heard"]["note"]) == (["r1"], "E2")
    code, _, err = run("pitch", "H-0001:r1", "--enter", *shop)
    assert code == MISUSE
    assert "entered already" in err
    assert run("pitch", "H-0001:r2", "--enter", *shop)[0] == UNDECIDED
    code, _, err = run("pitch", "H-0001:r9", *shop)
    assert code == MISUSE
    assert "no such recording" in err
    code, _, err = run("pitch", folder / "low.wav", "--enter", *shop)
    assert code == MISUSE
    assert "only recordings of a dossier" in err


def test_bad_input_exits_two_and_says_what_to_do(run: Run, folder: Path, tmp_path: Path) -> None:
    cut = io.BytesIO()
    soundfile.write(cut, np.zeros(RATE), 8000, format="WAV")
    files = {
        "empty.wav": (b"", "empty"),
        "words.wav": (b"a note, said the string", "not a recording"),
        "cut.wav": ((folder / "low.wav").read_bytes()[:20_000], "cut short"),
        "slow.wav": (cut.getvalue(), "8000 Hz"),
    }
    for name, (data, told) in files.items():
        (tmp_path / name).write_bytes(data)
        code, text, err = run("pitch", tmp_path / name, "--json")
        assert code == MISUSE, name
        assert told in err, name
        assert json.loads(text)["error"]["remedy"], name
    for words, told in (
        (("--note", "H2"), "not the name of a note"),
        (("--note", "E2", "--note", "E3"), "not one note for each recording"),
        (("--channel", "0"), "no channel"),
        (("--channel", "2"), "no such channel"),
    ):
        code, _, err = run("pitch", folder / "low.wav", *words)
        assert code == MISUSE
        assert told in err
    code, _, err = run("pitch", tmp_path / "none.wav")
    assert code == MISUSE
