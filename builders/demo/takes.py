"""The recordings of the scenario: the tone pot at rest and swept five times, before and after."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

TURN_S, PAUSE_S = 0.9, 0.35


@dataclass(frozen=True)
class Take:
    """One recording; ``places`` of the track crackle each time the wiper passes."""

    id: str
    name: str
    stage: Literal["found", "final"]
    take: Literal["still", "sweep"]
    sweeps: int
    places: int

    @property
    def seconds(self) -> float:
        """Length; a take at rest lasts two seconds."""
        return 2.0 if not self.sweeps else PAUSE_S + self.sweeps * (TURN_S + PAUSE_S)

    def turns(self) -> list[tuple[float, float]]:
        """From and to of each turn, s."""
        starts = [PAUSE_S + k * (TURN_S + PAUSE_S) for k in range(self.sweeps)]
        return [(start, start + TURN_S) for start in starts]


TAKES = (
    Take("r-tone-still-found", "tone-still-found.flac", "found", "still", 0, 0),
    Take("r-tone-sweep-found", "tone-sweep-found.flac", "found", "sweep", 5, 19),
    Take("r-tone-still-final", "tone-still-final.flac", "final", "still", 0, 0),
    Take("r-tone-sweep-final", "tone-sweep-final.flac", "final", "sweep", 5, 3),
)
