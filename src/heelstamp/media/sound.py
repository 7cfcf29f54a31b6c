"""Recordings in: known by their content, bounded before they are decoded, one channel handed on.

WAV, AIFF, FLAC, Ogg (Vorbis, Opus) and MP3, decoded by libsndfile through *soundfile*; whole
numbers of any width become fractions of full scale. Decoding goes block by block within a bound on
length, so that a head that lies about its length costs no memory. Of several channels the strongest
is taken, because a mean of two can cancel a partial; a channel, or the mean, may be asked for. The
file itself is only read. Phone formats that libsndfile does not know (AAC in M4A) are refused by
name, with the way to one that is read: wheels that decode them carry libraries under the GPL. A WAV
that is shorter than its head says (bytes 4 to 8 of RIFF) was cut short and is refused, unless the
recorder never wrote a length (0 or all ones).
"""

from __future__ import annotations

import io
from typing import Literal

import numpy as np
import soundfile
from numpy.typing import NDArray

from heelstamp.acoustics.recording import Recording
from heelstamp.errors import InputError, LimitError

LARGEST_BYTES = 200_000_000
MOST_SECONDS = 600.0
MOST_SAMPLES = 60_000_000
"""Over all channels: 240 MB while decoding, ten minutes of mono at 96 kHz."""
LOUDEST = 1e6
"""Times full scale, 120 dB above it: a recorder of floating point may pass full scale, not this."""
_ESTIMATED = 1 << 62
"""Frames from which a head's count stands for "not known" (libsndfile writes 2^63 - 1)."""
MOST_CHANNELS = 8
RATES_HZ = (16_000, 96_000)
BLOCK = 65_536

KINDS = {
    "WAV": "WAV",
    "WAVEX": "WAV",
    "RF64": "WAV",
    "AIFF": "AIFF",
    "FLAC": "FLAC",
    "OGG": "Ogg",
    "MP3": "MP3",
}
"""Formats of libsndfile that are read, and what they are called."""
_FROM_PHONE = (
    "Record it on the bench's page, or set the telephone to WAV or lossless; once made, "
    "ffmpeg -i IN.m4a OUT.wav turns it into one that is read."
)
LOSSY = ("MP3", "OGG")
_REMEDY = "Give a WAV, FLAC, AIFF, Ogg or MP3 recording."
_ALIKE = 1e-4
"""Channels whose difference carries less than this share of the energy are one and the same."""

Channel = int | Literal["mix"] | None


def read_recording(data: bytes, name: str, *, channel: Channel = None) -> Recording:
    """Decode a recording and choose one channel.

    Parameters
    ----------
    data
        The whole file.
    name
        What to call it in errors and results.
    channel
        Counted from 1, or "mix" for the mean of all; None takes the strongest.

    Returns
    -------
    Recording
        Samples relative to full scale, with what was chosen and why.

    Raises
    ------
    InputError
        Empty, of no known kind, broken or cut short, too long, of a rate outside 16 to 96 kHz,
        with no such channel, or holding values that are no numbers.
    """
    if not data:
        raise InputError("the recording is empty", where=name, remedy=_REMEDY)
    if len(data) > LARGEST_BYTES:
        raise LimitError(
            "the recording is too large",
            where=name,
            received=f"{len(data) / 1e6:.0f} MB",
            remedy=f"At most {LARGEST_BYTES / 1e6:.0f} MB; cut out the part that matters.",
        )
    samples, rate, kind, coding = _decoded(data, name)
    chosen, number, how = _choose(samples, channel, name)
    return Recording(
        samples=chosen,
        rate_hz=rate,
        name=name,
        channels=samples.shape[1],
        channel=number,
        how_chosen=how,
        coding=f"{KINDS[kind]}, {coding}",
        lossy=kind in LOSSY,
    )


def _decoded(data: bytes, name: str) -> tuple[NDArray[np.float32], int, str, str]:
    try:
        with soundfile.SoundFile(io.BytesIO(data)) as file:
            _bound(file, name)
            samples = _blocks(file, name)
            _whole(data, len(samples), file, name)
            rate, kind, coding = int(file.samplerate), str(file.format), str(file.subtype)
    except InputError:
        raise
    except (
        soundfile.SoundFileError,
        RuntimeError,
        ArithmeticError,
        TypeError,
        ValueError,
    ) as error:
        raise InputError(
            "not a recording that can be read",
            where=name,
            received=_kind_of_phone(data) or None,
            remedy=_FROM_PHONE if _kind_of_phone(data) else _REMEDY,
        ) from error
    if not len(samples):
        raise InputError("the recording holds no samples", where=name, remedy=_REMEDY)
    if not max(-float(samples.min()), float(samples.max())) <= LOUDEST:  # so that NaN is refused
        raise InputError(
            "the recording holds values that are no numbers, or beyond any sound",
            where=name,
            remedy="Export it again as whole numbers, 16 or 24 bits.",
        )
    return samples, rate, kind, coding


def _bound(file: soundfile.SoundFile, name: str) -> None:
    """Refuse by the head alone what would not be read to the end."""
    if file.format not in KINDS:
        raise InputError(
            "a recording of another kind", where=name, received=file.format, remedy=_REMEDY
        )
    low, high = RATES_HZ
    if not low <= file.samplerate <= high:
        raise InputError(
            "a sampling rate out of bounds",
            where=name,
            received=f"{file.samplerate} Hz",
            remedy=f"Record at {low / 1000:.0f} to {high / 1000:.0f} kHz; 44.1 or 48 serve well.",
        )
    if file.channels > MOST_CHANNELS:
        raise LimitError(
            "too many channels",
            where=name,
            received=file.channels,
            remedy=f"At most {MOST_CHANNELS}; export the one that matters.",
        )
    if file.seekable() and _ESTIMATED > file.frames > _most(file):
        raise _too_long(file, name)


def _whole(data: bytes, read: int, file: soundfile.SoundFile, name: str) -> None:
    """Refuse what ends before it should; the length in an MP3's head is only an estimate."""
    promised = int.from_bytes(data[4:8], "little") + 8 if data[:4] == b"RIFF" else 0
    unknown = promised in {8, 0xFFFFFFFF + 8}
    if (read < file.frames and file.format != "MP3") or (len(data) + 1 < promised and not unknown):
        raise InputError(
            "the recording is cut short",
            where=name,
            received=f"{read} samples",
            remedy="Copy it again from where it was made.",
        )


def _blocks(file: soundfile.SoundFile, name: str) -> NDArray[np.float32]:
    """Read to the end into room that the system hands out as it is written."""
    most = _most(file)
    kept = np.empty((most, file.channels), np.float32)
    count = 0
    while len(block := file.read(BLOCK, dtype="float32", always_2d=True)):
        if count + len(block) > most:
            raise _too_long(file, name)
        kept[count : count + len(block)] = block
        count += len(block)
    return kept[:count]


def _most(file: soundfile.SoundFile) -> int:
    rate, channels = int(file.samplerate), int(file.channels)
    return min(int(MOST_SECONDS * rate), MOST_SAMPLES // max(channels, 1))


def _too_long(file: soundfile.SoundFile, name: str) -> LimitError:
    return LimitError(
        "the recording is too long",
        where=name,
        received=f"more than {_most(file) / file.samplerate:.0f} s",
        remedy="Cut out the part that matters; a note needs three seconds.",
    )


def _choose(
    samples: NDArray[np.float32], channel: Channel, name: str
) -> tuple[NDArray[np.float32], int, str]:
    """One channel, its number (0 for the mean), and why it was taken."""
    count = samples.shape[1]
    if channel == "mix":
        return np.asarray(samples.mean(axis=1), np.float32), 0, f"mean of {count} channels"
    if channel is not None:
        if not 1 <= channel <= count:
            raise InputError(
                "no such channel",
                where=name,
                received=channel,
                remedy=f"The recording has {count}, counted from 1.",
            )
        return np.ascontiguousarray(samples[:, channel - 1]), channel, f"channel {channel} asked"
    if count == 1:
        return np.ascontiguousarray(samples[:, 0]), 1, "only channel"
    energies = np.einsum("ij,ij->j", samples, samples, dtype=np.float64)
    strongest = int(energies.argmax())
    differing = max(
        float(np.square(samples[:, n] - samples[:, strongest], dtype=np.float64).sum())
        for n in range(count)
    )
    how = (
        f"{count} channels alike, the first"
        if differing <= _ALIKE * energies[strongest]
        else f"strongest of {count} channels"
    )
    number = 0 if "alike" in how else strongest
    return np.ascontiguousarray(samples[:, number]), number + 1, how


def _kind_of_phone(data: bytes) -> str:
    """Name the usual formats of telephones that are not read here (ISO/IEC 14496-12, 4.3)."""
    if data[4:8] == b"ftyp":
        return "an MP4 or M4A file (AAC or ALAC)"
    if data.startswith(b"\x1aE\xdf\xa3"):
        return "a Matroska or WebM file"
    if data.startswith(b"#!AMR"):
        return "an AMR file"
    return ""
