"""The frame of spoken notes: how long, whole or cut, sound alone."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fakes.spoken_notes import mp4, webm
from heelstamp.errors import InputError
from heelstamp.media.sound_kinds import sound_type
from heelstamp.media.spoken import spoken_seconds


@pytest.mark.parametrize("seconds", [1.0, 7.0, 119.0])
def test_the_length_is_that_of_the_last_block(seconds: float) -> None:
    for data, kind in (
        (webm(seconds), "audio/webm"),
        (mp4(seconds), "audio/mp4"),
        (mp4(seconds, fragments=True), "audio/mp4"),
    ):
        assert sound_type(data, "note") == kind
        assert spoken_seconds(data, kind, "note") == pytest.approx(seconds)


@pytest.mark.parametrize(
    ("head", "kind"),
    [
        (b"RIFF\x00\x00\x00\x00WAVEfmt ", "audio/wav"),
        (b"FORM\x00\x00\x00\x00AIFF", "audio/aiff"),
        (b"fLaC\x00\x00", "audio/flac"),
        (b"OggS\x00\x02", "audio/ogg"),
        (b"ID3\x04\x00", "audio/mpeg"),
        (b"\xff\xfb\x90\x00", "audio/mpeg"),
    ],
)
def test_a_recording_is_known_by_its_first_bytes(head: bytes, kind: str) -> None:
    """RFC 9639, RFC 3533, ID3v2, ISO/IEC 11172-3 (sync word, layer III)."""
    assert sound_type(head + bytes(20), "x.exe") == kind


@pytest.mark.parametrize("data", [b"", b"RIFF", b"\xff\xd8\xff\xe0", b"\xff\xff\xff\xff", b"MZ"])
def test_what_is_no_recording_is_not_taken_for_one(data: bytes) -> None:
    with pytest.raises(InputError):
        sound_type(data, "note.wav")


@given(st.binary(max_size=400), st.sampled_from(["audio/webm", "audio/mp4"]))
def test_whatever_the_bytes_are_there_is_a_length_or_a_refusal(data: bytes, kind: str) -> None:
    head = webm(1.0)[:60] if kind == "audio/webm" else mp4(1.0)[:60]
    for given_bytes in (data, head + data):
        with suppress(InputError):
            assert spoken_seconds(given_bytes, kind, "note") >= 0.0


@given(st.integers(1, 28))
def test_a_note_cut_short_within_a_block_is_refused(cut: int) -> None:
    """The last block is 29 bytes long; a cut between two blocks cannot be seen."""
    whole = webm(1.0)
    with pytest.raises(InputError):
        spoken_seconds(whole[:-cut], "audio/webm", "note")
