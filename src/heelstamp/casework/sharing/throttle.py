"""How often a password may be tried, so that guessing takes longer than anyone has.

Three counts run side by side: of one name from one address, of one address, of one name. Above its
free tries each count doubles the wait, up to a ceiling. The ceiling of a name alone is low: else
whoever sits on the network could keep the owner out by failing in the owner's name. A try counts
before the password is looked at, so that many at once gain nothing. An
address from which the name has signed in before does not wait for what others try in its name at
all. Counts live in this process: a restart forgets them, and one process serves a shop.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import datetime, timedelta
from threading import Lock

FORGOTTEN_AFTER = timedelta(hours=1)
COUNTS_MAX = 10_000


@dataclass(slots=True)
class _Count:
    tries: int
    last: datetime


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
    """Counts of failed tries; safe for several threads."""

    def __init__(self) -> None:
        self._counts: OrderedDict[tuple[str, str, str], _Count] = OrderedDict()
        self._welcome: OrderedDict[tuple[str, str], None] = OrderedDict()
        self._lock = Lock()

    def attempt(self, name: str, address: str, at: datetime) -> int:
        """Count a try, and give 0; or give the seconds to wait, and count none."""
        with self._lock:
            keys = self._counted(name, address)
            wait = max(RULES[key[0]].wait(self._standing(key, at), at) for key in keys)
            if wait:
                return wait
            for key in keys:
                count = self._counts.pop(key, None) or _Count(0, at)
                self._counts[key] = _Count(count.tries + 1, at)
            while len(self._counts) > COUNTS_MAX:
                self._counts.popitem(last=False)
        return 0

    def passed(self, name: str, address: str) -> None:
        """Take back the count of a try that was right.

        What else was counted of the name and of the address stays: an account of one's own must
        not clear the tries at another's.
        """
        with self._lock:
            both, *others = self._counted(name, address)
            self._counts.pop(both, None)
            for key in others:
                count = self._counts.get(key)
                if count is not None:
                    count.tries -= 1
            self._welcome[name, address] = None
            while len(self._welcome) > COUNTS_MAX:
                self._welcome.popitem(last=False)

    def _counted(self, name: str, address: str) -> tuple[tuple[str, str, str], ...]:
        keys = (("both", name, address), ("address", "", address), ("name", name, ""))
        return keys[:2] if (name, address) in self._welcome else keys

    def _standing(self, key: tuple[str, str, str], at: datetime) -> _Count | None:
        count = self._counts.get(key)
        if count is not None and at - count.last > FORGOTTEN_AFTER:
            del self._counts[key]
            return None
        return count
