"""Sentences about the noise of a control: events, dead angle, level, bounces, before and after."""

from __future__ import annotations

from heelstamp.wording.sentences import Grounds, Statement, listed, write

CHANGES = {
    "fewer": "they became fewer",
    "more": "they became more",
    "not told apart": "no change is told apart",
}


def plural(count: float, one: str) -> str:
    """Write a count with its noun.

    Examples
    --------
    >>> plural(1, "event"), plural(95, "event")
    ('1 event', '95 events')
    """
    return f"{count:g} {one}" + ("" if count == 1 else "s")


def refused(id_: str, *, code: str, found: str, remedy: str, grounds: Grounds) -> Statement:
    """Tell why takes are refused, and what to do."""
    return write("noise refused", id_, grounds, code=code, found=found, remedy=remedy)


def weaker(id_: str, *, code: str, found: str, remedy: str, grounds: Grounds) -> Statement:
    """Tell what makes the answer weaker."""
    return write("noise weaker", id_, grounds, code=code, found=found, remedy=remedy)


def counted(
    id_: str,
    *,
    take: str,
    count: int,
    turns: float,
    turns_from: str,
    per_turn: float,
    per_turn_90: tuple[float, float],
    grounds: Grounds,
) -> Statement:
    """Tell how many events a turn has."""
    return write(
        "noise counted",
        id_,
        grounds,
        take=take,
        count=plural(count, "event"),
        turns=plural(turns, "turn"),
        turns_from=turns_from,
        per_turn=f"{per_turn:.1f}",
        low=f"{per_turn_90[0]:.1f}",
        high=f"{per_turn_90[1]:.1f}",
    )


def turns_unknown(id_: str, *, take: str, count: int, grounds: Grounds) -> Statement:
    """Tell events without a rate."""
    return write("noise turns unknown", id_, grounds, take=take, count=plural(count, "event"))


def dead_angle(id_: str, *, take: str, angle_deg: float, grounds: Grounds) -> Statement:
    """Tell over which angle contact is lost, if anywhere."""
    if angle_deg <= 0.0:
        return write("noise no dead place", id_, grounds, take=take)
    return write("noise dead angle", id_, grounds, take=take, angle=f"{angle_deg:.0f}°")


def level(
    id_: str, *, take: str, level_db: float, loudest_db: float | None, grounds: Grounds
) -> Statement:
    """Tell the level against the control at rest."""
    loudest = "" if loudest_db is None else f", the loudest event {loudest_db:.0f} dB"
    told = f"{level_db:+.1f} dB".replace("-", "−")
    return write("noise level", id_, grounds, take=take, level=told, loudest=loudest)


def bounces(
    id_: str,
    *,
    take: str,
    clicks: tuple[int, ...],
    durations_s: tuple[float, ...],
    grounds: Grounds,
) -> Statement:
    """Tell the clicks of each throw of a switch."""
    told = [
        plural(count, "click") + (f" over {1000 * length:.0f} ms" if count > 1 else "")
        for count, length in zip(clicks, durations_s, strict=True)
    ]
    return write(
        "noise bounces",
        id_,
        grounds,
        take=take,
        count=plural(len(clicks), "throw"),
        told=listed(told) or "none",
    )


def change(
    id_: str, *, before: float, after: float, change: str, chance: float, grounds: Grounds
) -> Statement:
    """Tell whether events became fewer."""
    return write(
        "noise change",
        id_,
        grounds,
        before=f"{before:.1f}",
        after=f"{after:.1f}",
        change=CHANGES[change],
        chance="under 0.001" if chance < 0.001 else f"{chance:.3f}",
    )


def bound(id_: str, grounds: Grounds) -> Statement:
    """Tell on what accuracy rests."""
    return write("noise bound", id_, grounds)
