"""The picture of a note: axes with round values, and marks where the numbers say."""

import numpy as np
import pytest

from fakes.plucked_string import pluck
from heelstamp.acoustics import Recording, pitch
from heelstamp.casework.pitch import PitchFinding
from heelstamp.report.pitch_picture import _ticks, pitch_svg


@pytest.mark.parametrize(
    ("low", "high", "wanted"),
    [
        (0.0, 10.0, [0, 2, 4, 6, 8, 10]),
        (-0.3, 0.9, [-0.2, 0, 0.2, 0.4, 0.6, 0.8]),
        (0.0, 2.15, [0, 0.5, 1, 1.5, 2]),
    ],
)
def test_ticks_are_round(low, high, wanted):
    assert _ticks(low, high) == pytest.approx(wanted)


def test_equal_notes_give_equal_pictures_and_names_are_escaped():
    samples = pluck(np.random.default_rng(1), f0=329.6, b=2e-5, seconds=2.6, snr_db=50.0)
    found = PitchFinding(
        Recording(samples.astype(np.float32), 44100, "<b>&.wav"), pitch(samples, 44100), "0" * 64
    )
    drawn = pitch_svg(found)
    assert drawn == pitch_svg(found)
    assert "&lt;b&gt;&amp;.wav" in drawn
    used = sum(one.used for one in found.pitch.partials)
    assert drawn.count("<circle") >= used
    assert "no glide found" in drawn
