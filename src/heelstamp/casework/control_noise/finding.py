"""What the takes of a control came to: plain values for programs, statements for people."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from heelstamp.acoustics.control_noise import ControlNoise
from heelstamp.acoustics.event_rates import Comparison
from heelstamp.acoustics.recording import Recording
from heelstamp.acoustics.take_check import Reason
from heelstamp.wording import Grounds, Statement, about_control_noise

BASIS = "simulated takes only; no reference recording exists"


@dataclass(frozen=True, slots=True, eq=False)
class TakeFinding:
    """One take with its still take, by name."""

    sweep: str
    still: str
    recording: Recording
    noise: ControlNoise
    switch: bool = False

    def data(self) -> dict[str, Any]:
        """The take as plain values: seconds, decibels, degrees."""
        noise = self.noise
        return {
            "verdict": noise.verdict,
            "reasons": [_reason(one) for one in noise.reasons],
            "limits": [_reason(one) for one in noise.limits],
            "events": [round(one.at_s, 4) for one in noise.events],
            "event_levels_db": [round(one.level_db, 1) for one in noise.events],
            "turns": noise.turns,
            "turns_from": noise.turns_from,
            "per_turn": _rounded(noise.per_turn),
            "per_turn_90": None
            if noise.per_turn_90 is None
            else [round(one, 3) for one in noise.per_turn_90],
            "dead_angle": _rounded(noise.dead_angle_deg),
            "level_db": _rounded(noise.level_db),
            "loudest_db": _rounded(noise.loudest_db),
            "throws": [
                {
                    "at": round(one.at_s, 4),
                    "clicks": one.clicks,
                    "ms": round(1e3 * one.duration_s, 1),
                }
                for one in noise.throws
            ],
            "threshold": round(noise.threshold, 3),
            "mains_hz": _rounded(noise.mains_hz),
            "seconds": round(noise.seconds, 3),
            "sweep": self.sweep,
            "still": self.still,
        }

    def statements(self) -> list[Statement]:
        """The sentences of this take."""
        noise, grounds = self.noise, Grounds((self.sweep, self.still))
        id_ = f"noise:{self.sweep}"
        if noise.verdict == "refused":
            return [
                about_control_noise.refused(f"{id_}:{one.code}", grounds, **_reason(one))
                for one in noise.reasons
            ]
        told = [self._count(id_, grounds)]
        if noise.level_db is not None:
            told.append(
                about_control_noise.level(
                    f"{id_}:level",
                    grounds,
                    take=self.sweep,
                    level_db=noise.level_db,
                    loudest_db=noise.loudest_db,
                )
            )
        if noise.dead_angle_deg is not None:
            told.append(
                about_control_noise.dead_angle(
                    f"{id_}:dead", grounds, take=self.sweep, angle_deg=noise.dead_angle_deg
                )
            )
        told += [
            about_control_noise.weaker(f"{id_}:{one.code}", grounds, **_reason(one))
            for one in noise.limits
        ]
        return told

    def _count(self, id_: str, grounds: Grounds) -> Statement:
        noise = self.noise
        if self.switch:
            return about_control_noise.bounces(
                id_,
                grounds,
                take=self.sweep,
                clicks=tuple(one.clicks for one in noise.throws),
                durations_s=tuple(one.duration_s for one in noise.throws),
            )
        if noise.turns is None or noise.per_turn is None or noise.per_turn_90 is None:
            return about_control_noise.turns_unknown(
                id_, grounds, take=self.sweep, count=len(noise.events)
            )
        return about_control_noise.counted(
            id_,
            grounds,
            take=self.sweep,
            count=len(noise.events),
            turns=noise.turns,
            turns_from=noise.turns_from,
            per_turn=noise.per_turn,
            per_turn_90=noise.per_turn_90,
        )


@dataclass(frozen=True, slots=True, eq=False)
class NoiseFinding:
    """A take, an earlier one beside it, what changed, and the digest of all that was handed in."""

    after: TakeFinding
    before: TakeFinding | None
    change: Comparison | None
    digest: str

    @property
    def takes(self) -> tuple[TakeFinding, ...]:
        """All takes, in order of time."""
        return (self.after,) if self.before is None else (self.before, self.after)

    @property
    def refused(self) -> bool:
        """Whether a take was not good enough."""
        return any(one.noise.verdict == "refused" for one in self.takes)

    @property
    def undecided(self) -> bool:
        """Whether what was asked could not be told: a take refused, or no turns to count."""
        open_ = any(not one.switch and one.noise.turns is None for one in self.takes)
        return self.refused or open_

    @property
    def against(self) -> bool:
        """Whether the control became noisier."""
        return self.change is not None and self.change.change == "more"

    def data(self) -> dict[str, Any]:
        """The finding as plain values; those of the later take stand at the top."""
        change = self.change
        return {
            **self.after.data(),
            "before": None if self.before is None else self.before.data(),
            "change": None
            if change is None
            else {
                "change": change.change,
                "before_per_turn": round(change.before, 3),
                "after_per_turn": round(change.after, 3),
                "chance": change.chance,
            },
            "basis": BASIS,
            "statements": [one.text for one in self.statements()],
            "digest": self.digest,
        }

    def statements(self) -> tuple[Statement, ...]:
        """The sentences, in the order of reading."""
        told = [sentence for one in self.takes for sentence in one.statements()]
        names = tuple(name for one in self.takes for name in (one.sweep, one.still))
        grounds = Grounds(names)
        if self.change is not None:
            told.append(
                about_control_noise.change(
                    "noise:change",
                    grounds,
                    before=self.change.before,
                    after=self.change.after,
                    change=self.change.change,
                    chance=self.change.chance,
                )
            )
        if not self.refused:
            told.append(about_control_noise.bound("noise:bound", grounds))
        return tuple(told)


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3)


def _reason(one: Reason) -> dict[str, str]:
    return {"code": one.code, "found": one.found, "remedy": one.remedy}
