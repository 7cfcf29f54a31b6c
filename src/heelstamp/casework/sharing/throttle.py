"""How often a password may be tried, so that guessing takes longer than anyone has.

Three counts run side by side: of one name from one address, of one address, of one name. Above its
free tries each count doubles the wait, up to a ceiling. The ceiling of a name alone is low: else
whoever sits on the network could keep the owner out by failing in the owner's name. A try counts
before the password is looked at, so that many at once gain nothing. An
address from which the name has signed in before does not wait for what others try in its name at
all. Counts live in this process, and a restart forgets them; where several serve a shop they live
in its database.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any

from heelstamp.casework.sharing.held_state import Held, in_process

FORGOTTEN_AFTER = timedelta(hours=1)
COUNTS_MAX = 10_000


@dataclass(slots=True)
class _Count:
    tries: int
    last: datetime


@dataclass(slots=True)
class Tries:
    """Counts by rule, name and address; and from where each name has signed in. Oldest first."""

    counts: dict[tuple[str, str, str], _Count] = field(default_factory=dict)
    welcome: dict[tuple[str, str], None] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class _Rule:
    free: int
    ceiling_s: int

    def wait(self, count: _Count | None, at: datetime) -> int:
        """Seconds to wait before the next try."""
        if count is None or count.tries < self.free:
            return 0
        owed = min(self.ceiling_s, 2 ** min(count.tries - self.free, 20))
        left = owed - (at - count.last).total_seconds()
        return max(0, -int(-left // 1))


RULES = {"both": _Rule(5, 900), "address": _Rule(20, 900), "name": _Rule(50, 30)}


class Throttle:
    """Counts of failed tries; safe for several threads.

    Parameters
    ----------
    held
        Where they are held; in this process without.
    """

    def __init__(self, held: Held[Tries] | None = None) -> None:
        self._held = held or in_process(Tries())

    def attempt(self, name: str, address: str, at: datetime) -> int:
        """Count a try, and give 0; or give the seconds to wait, and count none."""
        with self._held() as tries:
            keys = _counted(tries, name, address)
            wait = max(RULES[key[0]].wait(_standing(tries, key, at), at) for key in keys)
            if wait:
                return wait
            for key in keys:
                count = tries.counts.pop(key, None) or _Count(0, at)
                tries.counts[key] = _Count(count.tries + 1, at)
            _forget_oldest(tries.counts)
        return 0

    def passed(self, name: str, address: str) -> None:
        """Take back the count of a try that was right.

        What else was counted of the name and of the address stays: an account of one's own must
        not clear the tries at another's.
        """
        with self._held() as tries:
            both, *others = _counted(tries, name, address)
            tries.counts.pop(both, None)
            for key in others:
                count = tries.counts.get(key)
                if count is not None:
                    count.tries -= 1
            tries.welcome[name, address] = None
            _forget_oldest(tries.welcome)


def _counted(tries: Tries, name: str, address: str) -> tuple[tuple[str, str, str], ...]:
    keys = (("both", name, address), ("address", "", address), ("name", name, ""))
    return keys[:2] if (name, address) in tries.welcome else keys


def _standing(tries: Tries, key: tuple[str, str, str], at: datetime) -> _Count | None:
    count = tries.counts.get(key)
    if count is not None and at - count.last > FORGOTTEN_AFTER:
        del tries.counts[key]
        return None
    return count


def _forget_oldest(some: dict[Any, Any]) -> None:
    while len(some) > COUNTS_MAX:
        del some[next(iter(some))]
