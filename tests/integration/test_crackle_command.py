"""``heelstamp crackle`` on the bundled recordings: figures, dossier, picture, refusals."""

import json
from importlib import resources
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import soundfile

from fakes.commands import Done, Run
from fakes.crackle_simulator import ringing, room, sweep_take
from heelstamp.casework.replay import replay
from heelstamp.reference.demonstration import demo_journal, demo_photographs, demo_recordings
from heelstamp.shop import create_shop

DONE, FINDINGS, MISUSE, UNDECIDED = 0, 1, 2, 3
TAKES = Path(str(resources.files("heelstamp.reference") / "demo" / "recordings"))
SWEEP, STILL = TAKES / "tone-sweep-final.flac", TAKES / "tone-still-final.flac"
EARLIER, EARLIER_STILL = TAKES / "tone-sweep-found.flac", TAKES / "tone-still-found.flac"


def crackle(run: Run, *words: object) -> Done:
    """Type ``crackle``; what it says comes back on one line."""
    code, out, err = run("crackle", *words)
    return Done(code, " ".join(out.split()), " ".join(err.split()))


def test_nineteen_a_turn_became_three(run: Run, tmp_path: Path) -> None:
    """Invented scenario: 19 events a turn before the cleaner, 3 after it, five sweeps each."""
    picture = tmp_path / "noise.svg"
    code, out, _ = run(
        "crackle",
        SWEEP,
        "--still",
        STILL,
        "--before",
        EARLIER,
        "--before-still",
        EARLIER_STILL,
        "--out",
        picture,
        "--json",
    )
    data = json.loads(out)
    assert code == DONE
    assert (data["per_turn"], data["turns"], data["turns_from"]) == (3.0, 5.0, "counted")
    assert data["before"]["per_turn"] == 19.0
    assert len(data["events"]) == 15
    assert data["dead_angle"] == 0.0
    assert data["change"]["change"] == "fewer"
    assert data["level_db"] < data["before"]["level_db"]
    root = ET.fromstring(picture.read_text("utf-8"))
    words = [node.text or "" for node in root.iter() if node.tag.endswith("text")]
    assert "95 events, 19.0 a turn" in words
    assert "15 events, 3.0 a turn" in words


def test_the_other_way_round_is_a_finding_against(run: Run) -> None:
    code, out, _ = run(
        "crackle",
        EARLIER,
        "--still",
        STILL,
        "--before",
        SWEEP,
        "--turns",
        "5",
        "--before-turns",
        "5",
    )
    assert code == FINDINGS
    assert "they became more" in out


def test_recordings_of_a_dossier_are_found_by_their_ids(run: Run, tmp_path: Path) -> None:
    rows = [row for row in demo_journal() if row["kind"] in ("instrument", "recording")]
    with create_shop(tmp_path / "shop", name="Shop", currency="USD") as shop:
        replay(shop, "H-1", rows, demo_photographs() | demo_recordings())
    words = ("H-1:r-tone-sweep-found", "--still", "H-1:r-tone-still-found", "--shop")
    code, out, _ = crackle(run, *words, tmp_path / "shop")
    assert code == DONE
    assert "95 events in 5 turns" in out
    code, _, err = crackle(run, "H-1:r-tone", *words[1:], tmp_path / "shop")
    assert code == MISUSE
    assert "no such recording" in err


def test_a_quiet_turn_is_not_decided_unless_it_is_counted_by_hand(run: Run, tmp_path: Path) -> None:
    place = room(7)
    sweep = tmp_path / "quiet.wav"
    soundfile.write(sweep, sweep_take(place, 7, rustle_db=0.0).samples, place.rate)
    still = tmp_path / "still.wav"
    rest = sweep_take(place, 8, rustle_db=0.0, per_sweep=0.0).samples
    soundfile.write(still, rest, place.rate)
    code, out, _ = crackle(run, sweep, "--still", still)
    assert code == UNDECIDED
    assert "no rate" in out
    assert crackle(run, sweep, "--still", still, "--turns", "5")[0] == DONE
    code, out, _ = crackle(run, sweep, "--still", still, "--switch")
    assert code == DONE
    assert "throw" in out


def test_ringing_strings_are_refused_with_what_to_do(run: Run, tmp_path: Path) -> None:
    place = room(9)
    for name, take in (("sweep", sweep_take(place, 9)), ("rings", ringing(place, 9))):
        soundfile.write(tmp_path / f"{name}.wav", take.samples, place.rate)
    picture = tmp_path / "noise.svg"
    code, out, _ = run(
        "crackle", tmp_path / "sweep.wav", "--still", tmp_path / "rings.wav", "--out", picture
    )
    assert code == UNDECIDED
    assert "not still" in out
    assert "Mute the strings" in " ".join(out.split())
    assert not picture.exists()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((SWEEP,), "no take with the control at rest"),
        ((SWEEP, "--still", STILL, "--turns", "0"), "no number of turns"),
        (("nowhere.wav", "--still", STILL), "cannot be read"),
        ((__file__, "--still", STILL), "not a recording"),
        (("H-9:r1", "--still", STILL), "no shop to find this recording in"),
    ],
)
def test_bad_input_is_one_message(run: Run, words: tuple[object, ...], message: str) -> None:
    code, out, err = crackle(run, *words)
    assert (code, out) == (MISUSE, "")
    assert message in err


def test_bundled_recordings_are_current_and_small() -> None:
    journal = {
        row["body"]["name"]: row["body"] for row in demo_journal() if row["kind"] == "recording"
    }
    files = demo_recordings()
    assert set(journal) == set(files)
    assert sum(map(len, files.values())) < 600_000
    for name in files:
        samples, rate = soundfile.read(TAKES / name, dtype="int16")
        assert (rate, samples.ndim) == (44_100, 1)
        assert np.abs(samples.astype(int)).max() < 32_000
