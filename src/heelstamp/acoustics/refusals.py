"""When a note is not measured, what is said instead, and how to record it better.

Thresholds were set on simulated notes and looked at on recorded ones; none has a published source.
"""

from __future__ import annotations

from heelstamp.acoustics.finding import Reason

AGAIN = "Record one string alone, plucked once, ringing for three seconds."


def silent() -> Reason:
    """Nothing above the noise."""
    return Reason("silence", "nothing sounds above the noise", f"Raise the level. {AGAIN}")


def steady(hz: float) -> Reason:
    """Say that a tone does not decay: the mains, or an oscillator."""
    return Reason(
        "no pluck",
        f"only a steady tone of {hz:.2f} Hz, which does not fade as a plucked string does",
        f"Turn away from transformers and shield the lead. {AGAIN}",
    )


def hum_above(hz: float) -> Reason:
    """Hum louder than what is left of the note."""
    return Reason(
        "hum",
        f"mains hum of {hz:.2f} Hz stands above the note",
        f"Shield the lead, turn the instrument away from transformers, raise the level. {AGAIN}",
    )


def too_short(seconds: float, least: float) -> Reason:
    """Too little sound after the pluck."""
    return Reason(
        "too short",
        f"{seconds:.2f} s of the note can be used, {least:.2f} s are needed",
        "Let the note ring for three seconds before stopping the recording.",
    )


def clipped(count: int) -> Reason:
    """Say that samples stand at the stop."""
    return Reason(
        "clipped",
        f"the sound stands at the stop {count} times",
        "Lower the recording level by 10 dB and record again.",
    )


def damped(seconds: float) -> Reason:
    """Say that the string was muted."""
    return Reason(
        "damped",
        f"the strongest partials fall to 1/e within {seconds:.3f} s, as under a muting hand",
        "Take hand and cloth off the string and let it ring.",
    )


def two_notes(first_hz: float, second_hz: float) -> Reason:
    """More than one string."""
    return Reason(
        "two notes",
        f"sounds near {second_hz:.1f} Hz that are no partials of {first_hz:.1f} Hz: "
        "a second note, or distortion",
        "Mute the other strings with a cloth, pluck one alone, record straight from the jack.",
    )


def whole_ratios(most_b: float) -> Reason:
    """Say that the partials stand as a distorted sound's do."""
    return Reason(
        "distorted",
        f"the partials stand in whole ratios (B below {most_b:.0e}), not as a string's do",
        "Record straight from the jack, without amplifier, effect or limiter.",
    )


def scattered(cents: float) -> Reason:
    """Say that the partials follow no string."""
    return Reason(
        "distorted",
        f"partials scatter by {cents:.1f} cents about any string",
        "Record straight from the jack, without amplifier, effect or limiter, the other strings "
        "muted. If it is so again, the string itself does it (old, dirty, kinked, or touching "
        "something): its pitch is not one figure; measure it again with the next set of strings.",
    )


def wrong_string(named: str, found: str, hz: float) -> Reason:
    """Another note than the one named."""
    return Reason(
        "wrong string",
        f"{named} was named, but {found} sounds ({hz:.2f} Hz)",
        f"Name the note that was played (--note {found}), or leave the name away.",
    )


def too_few(count: int) -> Reason:
    """Not enough partials."""
    return Reason(
        "too few partials",
        f"{count} partials can be used",
        f"Raise the level, pluck nearer to the bridge. {AGAIN}",
    )
