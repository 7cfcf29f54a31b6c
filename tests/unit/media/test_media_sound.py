"""Recordings in: every coding alike, bounds, broken files, and which channel was taken."""

from __future__ import annotations

import io

import numpy as np
import pytest
import soundfile

from heelstamp.errors import InputError
from heelstamp.media import sound
from heelstamp.media.sound import read_recording


def tone(rate=44100, seconds=0.5, hz=220.0, level=0.5):
    return level * np.sin(2 * np.pi * hz * np.arange(int(rate * seconds)) / rate)


def coded(samples, rate=44100, kind="WAV", coding="PCM_16"):
    file = io.BytesIO()
    soundfile.write(file, samples, rate, format=kind, subtype=coding)
    return file.getvalue()


@pytest.mark.parametrize(
    ("kind", "coding", "tolerance", "lossy"),
    [
        ("WAV", "PCM_U8", 1e-2, False),
        ("WAV", "PCM_16", 4e-5, False),
        ("WAV", "PCM_24", 2e-7, False),
        ("WAV", "PCM_32", 1e-7, False),
        ("WAV", "FLOAT", 1e-7, False),
        ("WAV", "DOUBLE", 1e-7, False),
        ("AIFF", "PCM_16", 4e-5, False),
        ("FLAC", "PCM_16", 4e-5, False),
        ("FLAC", "PCM_24", 2e-7, False),
        ("OGG", "VORBIS", 3e-2, True),
    ],
)
def test_every_coding_gives_the_same_sound(kind, coding, tolerance, lossy):
    samples = tone()
    read = read_recording(coded(samples, kind=kind, coding=coding), "note")
    assert read.rate_hz == 44100
    assert len(read.samples) == len(samples)
    assert np.abs(read.samples - samples).max() < tolerance
    assert read.lossy is lossy
    assert coding in read.coding


def test_mp3_keeps_pitch_and_length_nearly():
    read = read_recording(coded(tone(seconds=1.0), kind="MP3", coding="MPEG_LAYER_III"), "note.mp3")
    assert read.lossy
    assert abs(read.seconds - 1.0) < 0.12
    spectrum = np.abs(np.fft.rfft(read.samples * np.hanning(len(read.samples))))
    assert abs(spectrum.argmax() * 44100 / len(read.samples) - 220.0) < 1.0


@pytest.mark.parametrize("rate", [16000, 22050, 48000, 96000])
def test_rates_within_bounds_are_kept(rate):
    assert read_recording(coded(tone(rate), rate), "note").rate_hz == rate


@pytest.mark.parametrize("rate", [8000, 11025, 192000])
def test_rates_out_of_bounds_are_refused(rate):
    with pytest.raises(InputError, match=f"{rate} Hz.*16 to 96 kHz"):
        read_recording(coded(tone(rate), rate), "note")


def test_the_strongest_channel_is_taken_and_said():
    left, right = tone(level=0.1), tone(level=0.4)
    read = read_recording(coded(np.column_stack([left, right])), "note")
    assert (read.channels, read.channel, read.how_chosen) == (2, 2, "strongest of 2 channels")
    assert np.abs(read.samples - right).max() < 4e-5


def test_channels_alike_are_said_to_be_alike():
    read = read_recording(coded(np.column_stack([tone(), tone()])), "note")
    assert (read.channel, read.how_chosen) == (1, "2 channels alike, the first")


def test_a_mean_of_opposite_channels_cancels_and_the_strongest_does_not():
    data = coded(np.column_stack([tone(), -tone()]))
    assert np.abs(read_recording(data, "note", channel="mix").samples).max() < 1e-4
    assert np.abs(read_recording(data, "note").samples).max() > 0.4


def test_a_channel_asked_for_must_exist():
    data = coded(np.column_stack([tone(level=0.1), tone(level=0.4)]))
    assert np.abs(read_recording(data, "note", channel=1).samples).max() < 0.11
    with pytest.raises(InputError, match=r"no such channel.*received: 3"):
        read_recording(data, "note", channel=3)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "empty"),
        (b"RIFF", "not a recording"),
        (b"\x00" * 500, "not a recording"),
        (b"\x00\x00\x00\x20ftypM4A \x00\x00" + b"\x00" * 200, "MP4 or M4A"),
        (b"<html>not found</html>" * 20, "not a recording"),
    ],
)
def test_what_is_no_recording_is_refused_by_name(data, said):
    with pytest.raises(InputError, match=f"note.wav.*{said}"):
        read_recording(data, "note.wav")


def test_a_telephones_recording_is_refused_with_a_way_out():
    m4a = b"\x00\x00\x00\x20ftypM4A \x00\x00" + b"\x00" * 200
    with pytest.raises(InputError, match=r"AAC.*WAV or lossless.*ffmpeg -i IN.m4a OUT.wav"):
        read_recording(m4a, "note.m4a")


def test_a_flac_cut_short_is_refused():
    noise = np.random.default_rng(5).normal(0, 0.1, 44100)
    whole = coded(noise, kind="FLAC")
    with pytest.raises(InputError, match=r"cut short|not a recording"):
        read_recording(whole[: len(whole) // 2], "note.flac")


def test_a_wav_cut_short_is_refused_and_a_streamed_one_is_not():
    whole = coded(tone())
    with pytest.raises(InputError, match="cut short"):
        read_recording(whole[: len(whole) // 2], "note.wav")
    streamed = whole[:4] + b"\xff\xff\xff\xff" + whole[8:]
    assert len(read_recording(streamed, "note.wav").samples) == 22050


def test_a_head_without_samples_is_refused():
    with pytest.raises(InputError, match="no samples"):
        read_recording(coded(np.empty(0)), "note")


def test_values_that_are_no_numbers_are_refused():
    samples = tone().astype(np.float32)
    samples[100] = np.nan
    with pytest.raises(InputError, match="no numbers"):
        read_recording(coded(samples, coding="FLOAT"), "note")


def test_length_is_bounded_while_decoding(monkeypatch):
    monkeypatch.setattr(sound, "MOST_SECONDS", 0.3)
    with pytest.raises(InputError, match=r"too long.*three seconds"):
        read_recording(coded(tone()), "note")


def test_size_is_bounded_before_decoding(monkeypatch):
    monkeypatch.setattr(sound, "LARGEST_BYTES", 1000)
    with pytest.raises(InputError, match="too large"):
        read_recording(coded(tone()), "note")


def test_too_many_channels_are_refused():
    with pytest.raises(InputError, match="too many channels"):
        read_recording(coded(np.zeros((200, 9))), "note")


def test_a_damaged_file_never_raises_anything_else():
    rng = np.random.default_rng(17)
    whole = bytearray(coded(rng.normal(0, 0.1, 4000), kind="FLAC"))
    for _ in range(60):
        broken = bytearray(whole)
        for place in rng.integers(0, len(broken), 8):
            broken[place] = int(rng.integers(0, 256))
        try:
            read = read_recording(bytes(broken), "note.flac")
        except InputError:
            continue
        assert np.isfinite(read.samples).all()


def test_values_beyond_any_sound_are_refused():
    samples = tone().astype(np.float32)
    assert len(read_recording(coded(samples * 4, coding="FLOAT"), "note").samples) == len(samples)
    samples[100] = -1e30
    with pytest.raises(InputError, match="beyond any sound"):
        read_recording(coded(samples, coding="FLOAT"), "note")
