"""A recording made ready to leave: its samples written anew, no word of the recorder's."""

from __future__ import annotations

import io

import numpy as np
import soundfile

from heelstamp.acoustics.recording import Recording

MOST_S = 8.0
"""Seconds that are taken along, from the beginning."""


def outgoing_sound(recording: Recording) -> bytes:
    """Write a recording as FLAC of 16 bit and one channel, cut at `MOST_S`; no words go with it."""
    rate = round(recording.rate_hz)
    kept = np.clip(recording.samples[: int(MOST_S * rate)], -1.0, 1.0)
    out = io.BytesIO()
    soundfile.write(out, kept, rate, format="FLAC", subtype="PCM_16")
    return out.getvalue()
