"""The truss rod: never more than a quarter turn a step, a rest after it, and when to stop.

All of it is common practice of the trade, no source: steps of a quarter turn at most, re-measured
after ten to thirty minutes and again after a night; an eighth for the first step, because nothing
is known yet of what this rod does. After a step the rod's own response (mm of relief per turn) sets
the next. Tightening takes relief away. A rod that snaps or strips ends the sale: every sign in
`STOPS` ends the turning, whatever the relief.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.mechanics.estimate import Z_90, Estimate

MOST_TURN = 0.25
FIRST_TURN = 0.125
REST_MIN = (10, 30)
KEY_SLACK_MM = 0.10
"""Most play of a key on the rod's drive before it may round it; judgement."""
BLADE_SLACK_MM = 0.10
"""Most play of a blade in the slot of the rod before it may spread it; judgement."""


class RodSign(StrEnum):
    """What was felt, heard or seen at the rod."""

    CREAK = "creak"
    HARD = "hard resistance"
    AT_LIMIT = "rod at its limit"
    NO_MOVE = "no response"
    KEY_LOOSE = "key does not fill the drive"
    BLADE_LOOSE = "blade does not fill the slot"
    TOO_LARGE = "tool does not go in"
    DRIVE_WORN = "drive rounded or spread"


STOPS: dict[RodSign, str] = {
    RodSign.CREAK: "A creak: stop, slacken back to the last quiet place, price it.",
    RodSign.HARD: "Hard resistance: stop. The next thing to give is the rod.",
    RodSign.AT_LIMIT: "The rod is at its limit: set action otherwise, price the rod.",
    RodSign.NO_MOVE: "The last step did not move the relief: stop and find out why.",
    RodSign.KEY_LOOSE: "The key does not fill the drive: no turn with this key.",
    RodSign.BLADE_LOOSE: "The blade does not fill the slot: no turn with this blade.",
    RodSign.TOO_LARGE: "The tool is larger than the drive takes: no turn with it, force nothing.",
    RodSign.DRIVE_WORN: "The drive is worn: no turn, price it.",
}
CAUTION = (
    "Rod and strings are under load: goggles on, face out of the line of the strings; slacken the "
    "strings before tightening, let the neck rest, never force."
)


@dataclass(frozen=True, slots=True)
class RodStep:
    """One step that was taken: turns (positive tightens) and the relief before and after, mm."""

    turns: float
    before_mm: Estimate
    after_mm: Estimate


@dataclass(frozen=True, slots=True)
class RodAdvice:
    """What to do next at the rod.

    Attributes
    ----------
    act
        ``leave``, ``turn`` or ``stop``.
    turns
        Of the next step; positive tightens; nought unless *act* is ``turn``.
    response_mm_turn
        Relief per turn by the steps so far; None before the first.
    steps_left
        About how many such steps; None when not known.
    """

    act: Literal["leave", "turn", "stop"]
    turns: float
    reasons: tuple[str, ...]
    response_mm_turn: Estimate | None
    steps_left: int | None


@dataclass(frozen=True, slots=True)
class ToolFit:
    """How a tool fills the drive of the truss rod.

    Attributes
    ----------
    tool
        ``key`` over a square or hexagon, across flats; ``blade`` in a slot.
    play_mm
        What is left between them; under nought the tool does not go in or on.
    slack_mm
        Most play that is taken as filling the drive.
    fits
        None when the readings leave it open: too close to call.
    """

    tool: Literal["key", "blade"]
    play_mm: Estimate
    slack_mm: float
    fits: bool | None

    @property
    def margin_mm(self) -> float:
        """Play that is left before the tool counts as loose; under nought it is."""
        return self.slack_mm - self.play_mm.value

    @property
    def sign(self) -> RodSign | None:
        """The sign that stops the turning; None where the tool fits or it is open."""
        if self.fits is not False:
            return None
        if self.play_mm.value < 0:
            return RodSign.TOO_LARGE
        return RodSign.KEY_LOOSE if self.tool == "key" else RodSign.BLADE_LOOSE


def key_fit(drive_mm: Estimate, key_mm: Estimate) -> ToolFit:
    """How a key that goes over the drive, across flats, fills it."""
    return _fit("key", key_mm - drive_mm, KEY_SLACK_MM)


def blade_fit(slot_mm: Estimate, blade_mm: Estimate) -> ToolFit:
    """How a blade fills the width of a slot."""
    return _fit("blade", slot_mm - blade_mm, BLADE_SLACK_MM)


def _fit(tool: Literal["key", "blade"], play: Estimate, slack: float) -> ToolFit:
    """Play from nought to *slack* fits, by its 90 % reach; a true play of nought reads as less."""
    reach = Z_90 * play.uncertainty
    fits: bool | None = None
    if -reach <= play.value <= slack - reach:
        fits = True
    elif play.value > slack + reach or play.value < -reach:
        fits = False
    return ToolFit(tool, play, slack, fits)


def rod_advice(
    relief_mm: Estimate,
    target_mm: Estimate,
    *,
    steps: tuple[RodStep, ...] = (),
    signs: tuple[RodSign, ...] = (),
    tool_fit_recorded: bool = False,
) -> RodAdvice:
    """Advise the next step.

    Parameters
    ----------
    relief_mm, target_mm
        As read now, rested at pitch; the target's uncertainty is how near is near enough.
    steps
        Steps already taken, in order.
    signs
        Anything of `RodSign` met so far.
    tool_fit_recorded
        Whether drive and key were measured and recorded.

    Raises
    ------
    InputError
        A step of more than a quarter turn, or of none, was recorded.
    """
    for one in steps:
        if not 0 < abs(one.turns) <= MOST_TURN:
            raise InputError(
                "a step of the rod is a quarter turn at most",
                received=f"{one.turns:g} turn",
                remedy="Record every step by itself, with the relief before and after it.",
            )
    response = _response(steps)
    if signs:
        return RodAdvice("stop", 0.0, tuple(STOPS[sign] for sign in signs), response, None)
    gap = relief_mm - target_mm
    if abs(gap.value) <= Z_90 * gap.uncertainty:
        reason = (
            f"The relief is {gap.value:+.2f} mm from the target, within the "
            f"{Z_90 * gap.uncertainty:.2f} mm that reading and target leave open: "
            "leave the truss rod."
        ).replace("-", "−")
        return RodAdvice("leave", 0.0, (reason,), response, None)
    if not tool_fit_recorded:
        reason = (
            "Measure the rod's drive and the tool with a caliper, and record both, first: across "
            "flats of rod and key, or the slot's width and the blade's thickness."
        )
        return RodAdvice("stop", 0.0, (reason,), response, None)
    if response is None:
        turns = FIRST_TURN if gap.value > 0 else -FIRST_TURN
        reason = "First step, an eighth: nothing is known yet of what this rod does."
        return RodAdvice("turn", turns, (reason, *_rest()), None, None)
    if response.value <= 0 or response.value <= Z_90 * response.uncertainty / 2.0:
        return RodAdvice("stop", 0.0, (STOPS[RodSign.NO_MOVE],), response, None)
    wanted = gap.value / response.value
    turns = max(-MOST_TURN, min(MOST_TURN, wanted))
    return RodAdvice(
        "turn",
        turns,
        (f"This rod moves the relief by {response.value:.1f} mm a turn.", *_rest()),
        response,
        max(1, -int(-abs(wanted) // MOST_TURN)),
    )


def _rest() -> tuple[str, ...]:
    return (f"Rest {REST_MIN[0]} to {REST_MIN[1]} minutes, read again; the last word is a night.",)


def _response(steps: tuple[RodStep, ...]) -> Estimate | None:
    """Mm of relief taken away per turn, over all steps."""
    if not steps:
        return None
    net = sum(one.turns for one in steps)
    if net == 0:
        one = steps[-1]
        return (one.before_mm - one.after_mm) / one.turns
    return (steps[0].before_mm - steps[-1].after_mm) / net
