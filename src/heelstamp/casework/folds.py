"""Journals as they were folded last, so that one more entry does not begin at the first again.

A fold is kept by the tag of its dossier and goes on only where the journal still ends with the very
digest that the fold ended with: equal digests are equal journals. Whoever goes on with a fold takes
it out, and puts it back once the entries are stored, so that a refusal or a second writer leaves
nothing behind: the next one folds anew. Safe for several threads.
"""

from __future__ import annotations

from dataclasses import dataclass
from threading import Lock

from cachetools import LRUCache

from heelstamp.catalogue import Entry, Folding, PartsTree

MOST = 16
"""Dossiers whose folds are kept; those that were gone on with last."""


@dataclass(frozen=True, slots=True)
class Fold:
    """A journal folded to its end.

    Attributes
    ----------
    tree
        Parts tree that it was folded with.
    entries
        All of it, in order; grows with *folding*.
    """

    tree: PartsTree | None
    folding: Folding
    entries: list[Entry]

    @property
    def head(self) -> Entry:
        """The last entry."""
        return self.entries[-1]


class Folds:
    """The folds that are kept of one shop."""

    def __init__(self) -> None:
        self._kept: LRUCache[str, Fold] = LRUCache(MOST)
        self._lock = Lock()

    def take(self, tag: str, digest: str) -> Fold | None:
        """Take out the fold of *tag*; None where there is none that ends with *digest*."""
        with self._lock:
            found: Fold | None = self._kept.pop(tag, None)
        return found if found is not None and found.head.digest == digest else None

    def keep(self, tag: str, fold: Fold) -> None:
        """Keep a fold whose entries are all stored."""
        with self._lock:
            self._kept[tag] = fold
