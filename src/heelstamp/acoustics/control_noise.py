"""Noise of a control: a take of sweeps judged against a take with the control at rest.

Both takes are made with muted strings, in one place, at one gain. The still take is needed: it says
what the room, the amplifier and the strings do by themselves, and sets the threshold. Refused are
clipped, silent and short takes, takes of two sampling rates, and a still take that is not still.
Levels are told above 2 kHz against the control at rest; they are those of the recording, not of
the ear. Accuracy is that on simulated takes (method page); no reference recording exists.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from heelstamp.acoustics.control_events import (
    LEAST_THRESHOLD,
    Event,
    Prominence,
    events,
    prominence,
    short_rms,
    threshold_from,
)
from heelstamp.acoustics.event_rates import interval
from heelstamp.acoustics.switch_bounce import RESOLUTION_S, Throw, throws
from heelstamp.acoustics.take_check import Reason, faults
from heelstamp.acoustics.turning import Turns, find_turns, level_track
from heelstamp.errors import InputError

Samples = NDArray[np.floating]
Verdict = Literal["assessed", "refused"]

STILL_MOST_A_SECOND = 1.0
"""Triggers a second from which a still take is not still; ringing strings give 2 to 20."""
MOST_THRESHOLD = 4.0
"""A still take that asks for more has something in it that would hide events."""
GAIN_DB = 3.0
"""The quietest parts of both takes may differ by so much."""


@dataclass(frozen=True, slots=True)
class ControlNoise:
    """What a sweep take tells.

    Attributes
    ----------
    verdict, reasons
        Whether anything is told, and why not.
    limits
        What makes the answer weaker.
    events
        In order of time.
    threshold
        Ratio above which an event counts.
    turns, turns_from
        Number of turns, and whether it was ``"given"``, ``"counted"`` or ``""`` (not known).
    per_turn, per_turn_90
        Events a turn with the exact 90 % interval; None when turns are not known.
    dead_angle_deg
        Mean angle of a turn without contact; None when turns cannot be heard.
    level_db, loudest_db
        Above 2 kHz, against the control at rest: the mean while it is turned, the largest peak.
    throws
        Of a switch; empty for a knob.
    mains_hz
        Frequency of buzz that was taken away; None without.
    """

    verdict: Verdict
    reasons: tuple[Reason, ...] = ()
    limits: tuple[Reason, ...] = ()
    events: tuple[Event, ...] = ()
    threshold: float = LEAST_THRESHOLD
    turns: float | None = None
    turns_from: Literal["given", "counted", ""] = ""
    per_turn: float | None = None
    per_turn_90: tuple[float, float] | None = None
    dead_angle_deg: float | None = None
    level_db: float | None = None
    loudest_db: float | None = None
    throws: tuple[Throw, ...] = ()
    mains_hz: float | None = None
    seconds: float = 0.0


def control_noise(
    sweep: Samples,
    sweep_rate_hz: float,
    still: Samples,
    still_rate_hz: float,
    *,
    turns: float | None = None,
    switch: bool = False,
) -> ControlNoise:
    """Count the events of a control that is turned, or of a switch that is thrown.

    Parameters
    ----------
    sweep, still
        Samples relative to full scale, shapes (n,) and (m,); strings muted, one gain.
    turns
        How often the control was turned from end to end, to or fro; counted when absent.
    switch
        Tell throws and their bounces.

    Raises
    ------
    InputError
        A number of turns that is not above 0.
    """
    if turns is not None and not 0.0 < turns < 10_000.0:
        raise InputError(
            "no number of turns", where="turns", received=turns, remedy="Count each way as one."
        )
    reasons = [*faults(still, still_rate_hz, "the still take")]
    reasons += faults(sweep, sweep_rate_hz, "the sweep")
    if sweep_rate_hz != still_rate_hz:
        reasons.append(
            Reason(
                "two rates",
                f"the takes have {sweep_rate_hz:g} and {still_rate_hz:g} samples a second",
                "Record both in one session with one setting.",
            )
        )
    if reasons:
        return ControlNoise("refused", tuple(reasons))
    rest = prominence(still, still_rate_hz)
    threshold = threshold_from(rest)
    reasons += _unrest(rest, threshold, len(still) / still_rate_hz)
    if reasons:
        return ControlNoise("refused", tuple(reasons), threshold=threshold)
    take = prominence(sweep, sweep_rate_hz)
    found = events(take, threshold)
    level = _level(rest)
    heard = None if switch else find_turns(_track(take), level, _step(take))
    count: float | None = turns
    if turns is None and heard is not None:
        count = float(len(heard.spans))
    low, high = interval(len(found))
    fine = events(take, threshold, RESOLUTION_S) if switch else ()
    return ControlNoise(
        "assessed",
        limits=_weaker(take, rest, heard, turns, threshold),
        events=found,
        threshold=threshold,
        turns=count,
        turns_from="given" if turns is not None else "counted" if count is not None else "",
        per_turn=None if count is None else len(found) / count,
        per_turn_90=None if count is None else (low / count, high / count),
        dead_angle_deg=None if heard is None else heard.dead_angle_deg,
        level_db=_loudness(take, heard, rest),
        loudest_db=_loudest(take, found, rest),
        throws=throws(fine),
        mains_hz=take.mains_hz,
        seconds=len(sweep) / sweep_rate_hz,
    )


def _unrest(rest: Prominence, threshold: float, seconds: float) -> list[Reason]:
    """Say why a still take is not still."""
    triggers = len(events(rest, LEAST_THRESHOLD))
    if triggers / seconds >= STILL_MOST_A_SECOND:
        return [
            Reason(
                "not still",
                f"the still take has {triggers / seconds:.1f} triggers a second",
                "Mute the strings with a cloth, let go of the instrument, and record it again.",
            )
        ]
    if threshold > MOST_THRESHOLD:
        return [
            Reason(
                "a knock at rest",
                f"something in the still take stands {20 * np.log10(rest.ratio.max()):.0f} dB out",
                "Record the still take again; with this one quieter events would not be counted.",
            )
        ]
    return []


def _step(take: Prominence) -> float:
    """The time between two values of `_track`, s."""
    return max(3, round(0.005 * take.rate_hz / take.hop)) * take.hop / take.rate_hz


def _track(take: Prominence) -> NDArray[np.float64]:
    return level_track(short_rms(take.passed, take.hop, take.rate_hz), take.hop, take.rate_hz)


def _level(rest: Prominence) -> float:
    return float(np.median(_track(rest)))


def _weaker(
    take: Prominence, rest: Prominence, heard: Turns | None, turns: float | None, threshold: float
) -> tuple[Reason, ...]:
    found = []
    quiet = 20.0 * float(np.log10(np.quantile(_track(take), 0.05) / max(_level(rest), 1e-30)))
    if quiet < -GAIN_DB:
        found.append(
            Reason(
                "another gain",
                f"the quietest parts of the sweep lie {-quiet:.0f} dB below the still take",
                "Record both takes at one gain, with the other controls where they were.",
            )
        )
    if heard is not None and turns is not None and len(heard.spans) != round(turns):
        found.append(
            Reason(
                "turns heard",
                f"{len(heard.spans)} turns were heard, {turns:g} were given",
                "Count again; the number given was used.",
            )
        )
    if threshold > LEAST_THRESHOLD:
        found.append(
            Reason(
                "restless",
                f"the still take asks for a threshold of {threshold:.1f} instead of "
                f"{LEAST_THRESHOLD:.0f}",
                "Quieter events were not counted.",
            )
        )
    return tuple(found)


def _loudness(take: Prominence, heard: Turns | None, rest: Prominence) -> float:
    """The mean level while the control is turned, or throughout, against the one at rest."""
    power = take.passed**2
    if heard is not None:
        spans = [slice(*(round(t * take.rate_hz) for t in span)) for span in heard.spans]
        power = np.concatenate([power[span] for span in spans])
    return 10.0 * float(np.log10(np.mean(power) / max(float(np.mean(rest.passed**2)), 1e-30)))


def _loudest(take: Prominence, found: tuple[Event, ...], rest: Prominence) -> float | None:
    """The largest peak of an event against the mean level at rest."""
    if not found:
        return None
    around = round(0.001 * take.rate_hz)
    peaks = []
    for one in found:
        low, high = (round(t * take.rate_hz) for t in (one.from_s, one.to_s))
        peaks.append(np.abs(take.passed[max(0, low - around) : high + around + 1]).max())
    level = float(np.sqrt(np.mean(rest.passed**2)))
    return 20.0 * float(np.log10(max(peaks) / max(level, 1e-30)))
