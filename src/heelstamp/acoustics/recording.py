"""A recording as the acoustics engines take it: one channel of samples and what is known of it.

Samples are pressures or voltages relative to full scale (1.0 = the largest code a file of whole
numbers can hold); nothing is filtered, mixed or resampled before the engines see it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float32]


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """One channel of a recording.

    Attributes
    ----------
    samples
        Shape (n,), relative to full scale; finite.
    rate_hz
        Samples a second.
    name
        What to call it: a file's name, or the id of an entry.
    channels
        How many channels the file holds.
    channel
        Which of them this is, counted from 1; 0 when it is their mean.
    how_chosen
        Why this channel: "only channel", "strongest of 2 channels", "channel 1 asked for", ….
    coding
        Container and coding, as "WAV, PCM_16".
    lossy
        Whether the coding throws sound away (MP3, Vorbis, Opus).
    """

    samples: Samples
    rate_hz: int
    name: str
    channels: int = 1
    channel: int = 1
    how_chosen: str = "only channel"
    coding: str = ""
    lossy: bool = False

    @property
    def seconds(self) -> float:
        """Length in seconds."""
        return len(self.samples) / self.rate_hz
