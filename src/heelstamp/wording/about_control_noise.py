"""The noise of a control: events, dead angle, level, bounces, before and after."""

from __future__ import annotations

from heelstamp.wording.sentences import counted as count_of
from heelstamp.wording.sentences import listed, sentence

CHANGES = {
    "fewer": "they became fewer",
    "more": "they became more",
    "not told apart": "no change is told apart",
}


@sentence("noise refused", "seen", 1)
def refused(*, code: str, found: str, remedy: str) -> str:
    return f"Refused, because {found} ({code}). {remedy}"


@sentence("noise weaker", "seen", 1)
def weaker(*, code: str, found: str, remedy: str) -> str:
    return f"Weaker, because {found} ({code}). {remedy}"


@sentence("noise counted", "measured", 1)
def counted(
    *,
    take: str,
    count: int,
    turns: float,
    turns_from: str,
    per_turn: float,
    per_turn_90: tuple[float, float],
) -> str:
    low, high = per_turn_90
    return (
        f"Take {take}: {count_of(count, 'event')} in {count_of(turns, 'turn')} ({turns_from}), "
        f"{per_turn:.1f} a turn (90 %: {low:.1f} to {high:.1f})."
    )


@sentence("noise turns unknown", "measured", 1)
def turns_unknown(*, take: str, count: int) -> str:
    return (
        f"Take {take}: {count_of(count, 'event')}; how often the control was turned cannot be "
        "heard: no rate."
    )


@sentence("noise dead angle", "inferred", 2)
def dead_angle(*, take: str, angle_deg: float) -> str:
    """Over which angle contact is lost, if anywhere."""
    if angle_deg <= 0.0:
        return f"Take {take}: no place without contact was heard."
    return (
        f"Take {take}: contact is lost over {angle_deg:.0f}° of a turn on average, at an even "
        "speed."
    )


@sentence("noise level", "measured", 1)
def level(*, take: str, level_db: float, loudest_db: float | None) -> str:
    """The level against the control at rest."""
    told = f"{level_db:+.1f} dB".replace("-", "−")
    loudest = "" if loudest_db is None else f", the loudest event {loudest_db:.0f} dB"
    return f"Take {take}: {told} above 2 kHz against the control at rest{loudest}."


@sentence("noise bounces", "measured", 1)
def bounces(*, take: str, clicks: tuple[int, ...], durations_s: tuple[float, ...]) -> str:
    """The clicks of each throw of a switch."""
    told = [
        count_of(count, "click") + (f" over {1000 * length:.0f} ms" if count > 1 else "")
        for count, length in zip(clicks, durations_s, strict=True)
    ]
    return f"Take {take}: {count_of(len(clicks), 'throw')}: {listed(told) or 'none'}."


@sentence("noise change", "inferred", 2)
def change(*, before: float, after: float, change: str, chance: float) -> str:
    rare = "under 0.001" if chance < 0.001 else f"{chance:.3f}"
    return (
        f"From {before:.1f} to {after:.1f} events a turn: {CHANGES[change]} (chance of a change so "
        f"large without one {rare})."
    )


@sentence("noise bound", "inferred", 2)
def bound() -> str:
    return (
        "Accuracy was measured on simulated takes only; events less than 18 dB over the noise are "
        "counted in part."
    )
