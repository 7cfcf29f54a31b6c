"""What could have been done to an instrument, and what each act made possible.

An *opening* is an act such as taking the guard off or heating a joint; a part can only have been
changed where a path of openings to it is open. A *set* of parts is swapped whole, from one source.
How they fit together is checked by ``model``; all numbers are judgement and settings.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from math import comb

from heelstamp.dating.elements import ModelError, Paths, Sign, check_distribution, check_error

CAREFUL = 0.08
"""P(a careful hand left no trace at an access), where a model names none (judgement)."""


def holds(ways: Paths, opened: Collection[str]) -> bool:
    """Tell whether one of the ways has all its openings open; no way at all holds always."""
    return not ways or any(all(name in opened for name in way) for way in ways)


@dataclass(frozen=True)
class Opening:
    """An act that may have been done at some time between maker and intake (E).

    Attributes
    ----------
    p
        P(done | history class) by itself where ``needs`` hold, in the model's order of classes.
    needs
        Openings without which it cannot have been done.
    along
        Openings that bring it with them, and with which share each (noisy or: Pearl,
        Probabilistic Reasoning in Intelligent Systems, 1988, section 4.3.2; from memory).
    careful
        The access whose careful hand hides its traces; None: an access of its own.
    root
        Whether several assemblies depend on it; such an opening stands beside the history class.
    """

    name: str
    p: tuple[float, ...]
    needs: Paths = ()
    along: Mapping[str, float] = field(default_factory=dict)
    careful: str | None = None
    root: bool = False

    def __post_init__(self) -> None:
        for share in (*self.p, *self.along.values()):
            if not 0 <= share <= 1:
                raise ModelError(
                    "a probability lies from 0 to 1", where=f"opening {self.name!r}", received=share
                )

    @property
    def access(self) -> str:
        """The access whose careful hand hides its traces."""
        return self.careful or self.name

    @property
    def parents(self) -> tuple[str, ...]:
        """Openings it depends on, each once."""
        named = [name for way in self.needs for name in way]
        return tuple(dict.fromkeys([*named, *self.along]))

    def probability(self, opened: Collection[str], history: int) -> float:
        """P(done | the openings it depends on, history class)."""
        if not holds(self.needs, opened):
            return 0.0
        left = 1 - self.p[history]
        for name, share in self.along.items():
            if name in opened:
                left *= 1 - share
        return 1 - left


@dataclass(frozen=True)
class PartSet:
    """Parts that are often swapped whole, all from one source.

    Attributes
    ----------
    p
        P(swapped whole | history class) where ``needs`` hold. Of the sets of one assembly at most
        one is swapped; their shares are taken from one.
    source
        State that every member then has, and with which share.
    """

    name: str
    parts: tuple[str, ...]
    p: tuple[float, ...]
    source: Mapping[str, float]
    needs: Paths = ()

    def __post_init__(self) -> None:
        where = f"set {self.name!r}"
        check_distribution(tuple(self.source.values()), f"{where}, source")
        if not all(0 <= share <= 1 for share in self.p):
            raise ModelError("a probability lies from 0 to 1", where=where, received=self.p)
        if not self.parts or len(set(self.parts)) != len(self.parts):
            raise ModelError("a set has each of its parts once", where=where, received=self.parts)


@dataclass(frozen=True)
class Screws:
    """How many of the screws of an opening look turned.

    Attributes
    ----------
    tightened
        P(some were tightened or tried although it was never opened); then any number.
    shown, false
        P(a screw looks turned | it was; it was not).
    error
        Share of careless counts, spread evenly.
    """

    tightened: float = 0.30
    shown: float = 0.98
    false: float = 0.02
    error: float = 0.01

    def __post_init__(self) -> None:
        check_error(self.error, "screws")
        for share in (self.tightened, self.shown, self.false):
            if not 0 <= share <= 1:
                raise ModelError("a probability lies from 0 to 1", where="screws", received=share)

    def likelihood(self, count: int, turned: int) -> tuple[float, float, float]:
        """P(*turned* of *count* look turned | closed; opened; opened by a careful hand).

        Closed: (1 - tightened) Bin(false) + tightened / (count + 1); opened: Bin(shown); careful:
        as closed; each mixed with error / (count + 1).
        """
        even = 1 / (count + 1)

        def mixed(p: float) -> float:
            return (1 - self.error) * p + self.error * even

        def binomial(p: float) -> float:
            return comb(count, turned) * p**turned * (1 - p) ** (count - turned)

        closed = mixed((1 - self.tightened) * binomial(self.false) + self.tightened * even)
        return closed, mixed(binomial(self.shown)), closed


JOINTS = ("untouched", "doubtful", "reworked")
"""What can be said of a soldered joint, of tape, foil glue, or paint that bridges a gap."""

JOINT_TABLE = ((0.86, 0.12, 0.02), (0.06, 0.20, 0.74), (0.35, 0.25, 0.40))
"""P(seen | closed; opened; opened by a careful hand): judgement. Reheating without a trace is
harder than turning a screw without one."""


def joint_sign(name: str, opening: str, error: float = 0.01) -> Sign:
    """The sign *name*, the look of a joint, as evidence on *opening*."""
    return Sign(name, JOINTS, JOINT_TABLE, error=error, opening=opening)
