"""What can be chosen between: an inspection through an open opening, or one act and all behind it.

The act is the cost, so everything it uncovers is one choice with its joint gain. Level 4 cannot be
undone and is no choice.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.casework.inspections.access import Way
from heelstamp.casework.inspections.looks import Candidate
from heelstamp.dating import Look

NEVER = 4
"""Level that is never proposed: it cannot be undone."""


@dataclass(frozen=True)
class Choice:
    """An inspection through an open opening, or all inspections behind one act."""

    id: str
    name: str
    way: Way
    members: tuple[Candidate, ...]

    @property
    def level(self) -> int:
        """Highest level on the way and of the looks."""
        return max(self.way.invasiveness, *(one.row.invasiveness for one in self.members))

    @property
    def minutes(self) -> float:
        """Minutes with access."""
        return self.way.minutes + sum(one.row.minutes for one in self.members)

    @property
    def parts(self) -> tuple[str, ...]:
        """Parts it tells of directly."""
        return tuple(dict.fromkeys(part for one in self.members for part in one.parts))

    @property
    def acts(self) -> tuple[str, ...]:
        """Acts on the way and of the inspections themselves."""
        own = [one.row.act for one in self.members if one.row.act is not None]
        return tuple(dict.fromkeys((*self.way.acts, *own)))

    @property
    def need_consent(self) -> tuple[str, ...]:
        """Those of the acts that need the owner's consent."""
        return tuple(act for act in self.acts if act not in self.way.acts) + self.way.need_consent

    @property
    def looks(self) -> list[Look]:
        """Everything that would be looked at."""
        return [look for one in self.members for look in one.looks]


def choices_of(candidates: Sequence[Candidate], ways_to: dict[str, Way]) -> list[Choice]:
    """Make one choice an inspection where nothing is to be opened, else one an opening."""
    found: list[Choice] = []
    for opening, way in ways_to.items():
        behind = [
            one for one in candidates if one.row.opening == opening and one.row.invasiveness < NEVER
        ]
        if not behind or way.invasiveness >= NEVER:
            continue
        if way.is_open or len(behind) == 1:
            found += [Choice(one.row.id, one.row.name, way, (one,)) for one in behind]
        else:
            name = f"{way.label}: {len(behind)} inspections"
            found.append(Choice(f"open:{opening}", name, way, tuple(behind)))
    return found
