"""Recordings at the bench without a browser: notes, takes of controls, spoken notes, playing."""

from __future__ import annotations

import html
import io
import re
from importlib import resources

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from fakes.plucked_string import pluck
from fakes.spoken_notes import mp4, webm
from fakes.web_shop import TAG, state_in
from heelstamp.catalogue import quantity_words, sound_words

HOME = f"/dossier/{TAG}"
RATE = 44100
F0, B = 82.7, 4e-5
TAKES = resources.files("heelstamp.reference") / "demo" / "recordings"
WEBM = webm(3.0)


@pytest.fixture(scope="module")
def notes() -> tuple[bytes, bytes]:
    """The low string open, and 5 cents sharp at its 12th fret."""
    rng = np.random.default_rng(31)
    low = pluck(rng, f0=F0, b=B, seconds=2.6, snr_db=50.0)
    high = pluck(rng, f0=2 * F0 * 2 ** (5 / 1200), b=4 * B, seconds=2.6, snr_db=50.0)
    return wav(low), wav(high)


def wav(samples: np.ndarray) -> bytes:
    written = io.BytesIO()
    soundfile.write(written, samples, RATE, format="WAV", subtype="PCM_24")
    return written.getvalue()


def words(text: str) -> str:
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", text)).split())


def test_a_note_is_kept_and_its_pitch_entered_with_its_finding(
    bench: TestClient, notes: tuple[bytes, bytes]
) -> None:
    told = {"string": "6", "fret": "0", "stage": "found", "id": "r-1"}
    for _ in range(2):  # the second was sent twice
        answer = bench.post(
            f"{HOME}/note", data=told, files={"sound": ("low.wav", notes[0], "text/plain")}
        )
        assert answer.status_code == 200, answer.text
    state = state_in(bench)
    (kept,) = state.recordings.values()
    assert (sound_words(kept), kept.media_type, kept.part) == (
        "note E2, 6th string, open",
        "audio/wav",
        "strings",
    )
    (pitch,) = state.measurements.values()
    true = 1200 * np.log2(F0 * np.sqrt(1 + B) / 82.4069)
    assert quantity_words(pitch) == "pitch E2, recording r-1"
    assert 1200 * np.log2(pitch.value / 82.4069) == pytest.approx(true, abs=0.3)
    assert len(pitch.heard.finding) == 64
    shown = words(answer.text)
    assert "Stiffness B" in shown
    assert re.search(r"From E2, 90 % \+\d\.\d\d ± 0\.\d\d cents", shown)


def test_a_pitch_that_was_taken_back_may_be_entered_again(
    bench: TestClient, notes: tuple[bytes, bytes]
) -> None:
    told = {"string": "6", "id": "r-1"}
    bench.post(f"{HOME}/note", data=told, files={"sound": ("n.wav", notes[0], "audio/wav")})
    assert "Enter the pitch" not in bench.get(f"{HOME}/setup/note").text
    bench.post(f"{HOME}/undo", data={"screen": "setup"})
    assert state_in(bench).measurements == {}
    assert "Enter the pitch" in bench.get(f"{HOME}/setup/note").text
    assert bench.post(f"{HOME}/pitch", data={"recording": "r-1"}).status_code == 200
    assert len(state_in(bench).measurements) == 1
    assert bench.post(f"{HOME}/pitch", data={"recording": "r-9"}).status_code == 404


def test_the_octave_of_a_string_is_told_and_entered(
    bench: TestClient, notes: tuple[bytes, bytes]
) -> None:
    for fret, sound in zip(("0", "12"), notes, strict=True):
        told = {"string": "6", "fret": fret, "stage": "plan", "id": f"r-{fret}"}
        bench.post(f"{HOME}/note", data=told, files={"sound": ("n.wav", sound, "audio/wav")})
    assert "Enter it for the saddles" in bench.get(f"{HOME}/setup/note").text
    told = {"open_note": "r-0", "fretted": "r-12", "id": "o-1"}
    assert bench.post(f"{HOME}/intonation", data=told).status_code == 200
    entered = state_in(bench).measurements["o-1"]
    assert (
        quantity_words(entered)
        == "intonation at the 12th fret, 6th string, new strings, rod not turned"
    )
    assert entered.value == pytest.approx(5.0, abs=0.5)
    assert (entered.unit, entered.stage) == ("cent", "plan")
    wrong = bench.post(f"{HOME}/intonation", data={"open_note": "r-12", "fretted": "r-0"})
    assert wrong.status_code == 422


def test_a_refused_note_is_kept_with_the_reason_and_nothing_is_entered(bench: TestClient) -> None:
    silence = wav(np.zeros(RATE * 3))
    answer = bench.post(
        f"{HOME}/note", data={"string": "6"}, files={"sound": ("s.wav", silence, "audio/wav")}
    )
    assert answer.status_code == 200
    assert "nothing was entered" in answer.text
    state = state_in(bench)
    assert len(state.recordings) == 1
    assert state.measurements == {}


def test_takes_of_a_control_are_counted_before_and_after_and_entered(bench: TestClient) -> None:
    for stage in ("found", "final"):
        for take in ("sweep", "still"):
            sound = (TAKES / f"tone-{take}-{stage}.flac").read_bytes()
            answer = bench.post(
                f"{HOME}/take",
                data={"part": "pot_tone", "take": take, "stage": stage},
                files={"sound": ("t.flac", sound, "audio/flac")},
            )
            assert answer.status_code == 200, answer.text
    text = words(bench.get(f"{HOME}/setup/controls").text)
    assert "From 19.0 to 3.0 events a turn" in text
    for stage, rate in (("found", 19.0), ("final", 3.0)):
        bench.post(f"{HOME}/crackle", data={"part": "pot_tone", "stage": stage})
        last = list(state_in(bench).measurements.values())[-1]
        assert (last.quantity, last.unit, last.stage) == (
            "crackle events per turn",
            "1/turn",
            stage,
        )
        assert last.value == pytest.approx(rate)
        assert 0.5 < last.uncertainty < 3.0
    refused = bench.post(f"{HOME}/crackle", data={"part": "pot_volume", "stage": "found"})
    assert refused.status_code == 422


def test_turns_that_cannot_be_heard_are_told_by_a_person(bench: TestClient) -> None:
    rng = np.random.default_rng(5)
    still = rng.normal(0.0, 1e-3, 4 * RATE)
    clicks = rng.normal(0.0, 1e-3, 6 * RATE)
    for at in range(1, 11):
        clicks[at * RATE // 2 : at * RATE // 2 + 40] += 0.3 * rng.normal(0.0, 1.0, 40)
    for take, sound in (("sweep", clicks), ("still", still)):
        told = {"part": "pot_volume", "take": take}
        bench.post(f"{HOME}/take", data=told, files={"sound": ("t.wav", wav(sound), "audio/wav")})
    page = bench.get(f"{HOME}/setup/controls?part=pot_volume").text
    assert "How many turns were there" in page
    assert "Enter the count" not in page
    page = words(bench.get(f"{HOME}/setup/controls?part=pot_volume&turns=5").text)
    assert "in 5 turns (given)" in page
    told = {"part": "pot_volume", "stage": "found", "turns": "5"}
    assert bench.post(f"{HOME}/crackle", data=told).status_code == 200
    (entered,) = state_in(bench).measurements.values()
    assert entered.value == pytest.approx(2.0)
    for wrong in ("0", "nan", "1e9", "x"):
        asked = bench.get(f"{HOME}/setup/controls", params={"turns": wrong})
        assert asked.status_code == 422


def test_a_spoken_note_is_kept_as_it_came_and_played_in_ranges(bench: TestClient) -> None:
    told = {"screen": "marks", "part": "neck", "id": "r-5", "made": "2026-11-02T09:14:00Z"}
    answer = bench.post(
        f"{HOME}/voice", data=told, files={"sound": ("spoken.webm", WEBM, "audio/webm")}
    )
    assert answer.status_code == 200
    (kept,) = state_in(bench).recordings.values()
    assert (kept.sound, kept.media_type, kept.part) == ("voice", "audio/webm", "neck")
    assert (kept.screen, kept.made) == ("marks", "2026-11-02T09:14:00Z")
    assert "Marks, neck" in words(answer.text)
    whole = bench.get(f"{HOME}/sound/r-5")
    assert (whole.status_code, whole.content) == (200, WEBM)
    assert whole.headers["content-type"] == "audio/webm"
    for asked, status, content in (
        ("bytes=0-3", 206, WEBM[:4]),
        ("bytes=40-", 206, WEBM[40:]),
        ("bytes=-4", 206, WEBM[-4:]),
        ("bytes=500000-", 416, b""),
        ("furlongs=1-2", 200, WEBM),
    ):
        part = bench.get(f"{HOME}/sound/r-5", headers={"range": asked})
        assert (part.status_code, part.content) == (status, content), asked
    assert bench.get(f"{HOME}/sound/r-9").status_code == 404


def test_a_spoken_note_is_no_evidence_for_an_act(bench: TestClient) -> None:
    bench.post(f"{HOME}/voice", data={"id": "r-5"}, files={"sound": ("s.webm", WEBM, "audio/webm")})
    page = bench.get(f"{HOME}/work?act=clean+board").text
    assert not re.search(r'name="(before|after)"[^>]*value="r-5"', page)


@pytest.mark.parametrize(
    ("path", "data", "sound", "told"),
    [
        ("note", {"string": "6"}, b"", "empty"),
        ("note", {"string": "6"}, b"<html>" * 99, "not a recording"),
        ("note", {"string": "6"}, WEBM, "not a recording that can be read"),
        ("note", {"string": "9"}, b"RIFF", "no such note"),
        ("note", {"string": "6", "fret": "7"}, b"RIFF", "no such note"),
        ("note", {"string": "6", "name": "H9"}, b"RIFF", "not the name of a note"),
        ("note", {"string": "x"}, b"RIFF", "cannot be read"),
        ("take", {"part": "roof", "take": "sweep"}, b"RIFF", "no such take"),
        ("take", {"part": "pot_tone", "take": "jump"}, b"RIFF", "no such take"),
        ("voice", {}, b"\x89PNG\r\n\x1a\n" + bytes(99), "not a recording"),
        ("voice", {}, WEBM + bytes(10_000_000), "too large"),
        ("voice", {}, WEBM[:-3], "cut short"),
        ("voice", {}, b"\x1aE\xdf\xa3" + bytes(2000), "cut short"),
        ("voice", {}, webm(3.0, kind=1), "sound and nothing else"),
        ("voice", {}, webm(3.0, doctype=b"film"), "not a webm"),
        ("voice", {}, webm(130.0), "too long to keep"),
        ("voice", {}, mp4(130.0), "too long to keep"),
        ("voice", {}, mp4(3.0, handler=b"vide"), "sound and nothing else"),
        ("voice", {}, mp4(3.0)[:40], "cut short"),
    ],
)
def test_what_cannot_be_kept_is_refused_and_nothing_is_kept(
    bench: TestClient, path: str, data: dict[str, str], sound: bytes, told: str
) -> None:
    answer = bench.post(f"{HOME}/{path}", data=data, files={"sound": ("x\x00/../y", sound, "a/b")})
    assert answer.status_code == 422
    assert told in html.unescape(answer.text).lower()
    assert state_in(bench).length == 1


def test_a_spoken_note_of_more_than_two_minutes_is_refused(bench: TestClient) -> None:
    written = io.BytesIO()
    soundfile.write(written, np.zeros(16_000 * 130), 16_000, format="FLAC")
    sound = {"sound": ("long.flac", written.getvalue(), "audio/flac")}
    answer = bench.post(f"{HOME}/voice", files=sound)
    assert answer.status_code == 422
    assert "too long to keep" in answer.text.lower()


def test_an_id_that_names_another_recording_is_refused(bench: TestClient) -> None:
    for seconds, status in ((2.0, 200), (3.0, 422)):
        sound = {"sound": ("s.webm", webm(seconds), "audio/webm")}
        assert bench.post(f"{HOME}/voice", data={"id": "r-5"}, files=sound).status_code == status
