"""Which of several things said about one entry stands.

Every correction aims at an entry or at another correction. What an entry says is decided by the
last correction aimed at it that is not itself undone; a correction whose last standing correction
withdraws it is undone, as though it had not been made. The rule is the same at any depth.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from heelstamp.catalogue.entries import Correction, Said, body_id


@dataclass(frozen=True, slots=True)
class Version:
    """One thing said about an id.

    Attributes
    ----------
    entry
        Id of the entry or correction that said it.
    body
        What it said; None withdraws.
    reason
        Why, for a correction.
    stands
        Whether it is what counts now.
    """

    seq: int
    at: str
    by: str
    entry: str
    body: Said | None
    reason: str
    stands: bool


@dataclass(frozen=True, slots=True)
class _Spoken:
    entry: Said
    body: Said | None
    seq: int
    at: str
    by: str


class Corrections:
    """Everything said, and what stands of it."""

    def __init__(self) -> None:
        self._said: dict[str, _Spoken] = {}
        self._aimed: dict[str, list[str]] = {}

    def add(self, body: Said, replacement: Said | None, seq: int, at: str, by: str) -> None:
        """Take in an entry; for a correction, *replacement* is its parsed new body or None."""
        id_ = body_id(body)
        content = replacement if isinstance(body, Correction) else body
        self._said[id_] = _Spoken(body, content, seq, at, by)
        if isinstance(body, Correction):
            self._aimed.setdefault(body.corrects, []).append(id_)

    def remove_last(self) -> None:
        """Take back the entry taken in last."""
        _, said = self._said.popitem()
        if isinstance(said.entry, Correction):
            self._aimed[said.entry.corrects].pop()

    def root(self, id_: str) -> str:
        """Follow corrections to the id of the entry they are about."""
        entry = self._said[id_].entry
        while isinstance(entry, Correction):
            id_ = entry.corrects
            entry = self._said[id_].entry
        return id_

    def original(self, id_: str) -> Said:
        """An entry as it was made."""
        return self._said[id_].entry

    def standing(self) -> Iterator[tuple[str, Said]]:
        """What stands of every entry that is not withdrawn, in the order of entry."""
        for id_, said in self._said.items():
            if isinstance(said.entry, Correction):
                continue
            body = said.body if id_ not in self._aimed else self._outcome(id_)[0]
            if body is not None:
                yield id_, body

    def standing_of(self, id_: str) -> Said | None:
        """What stands of one entry; None when it is unknown, withdrawn, or a correction."""
        said = self._said.get(id_)
        if said is None or isinstance(said.entry, Correction):
            return None
        return self._outcome(id_)[0]

    def corrections(self) -> dict[str, Correction]:
        """All corrections, also those undone."""
        return {
            id_: said.entry
            for id_, said in self._said.items()
            if isinstance(said.entry, Correction)
        }

    def history(self) -> dict[str, tuple[Version, ...]]:
        """Give, by id, everything said of it, oldest first."""
        versions: dict[str, list[Version]] = {}
        sources: dict[str, str] = {}
        for id_, said in self._said.items():
            root = self.root(id_)
            if root not in sources:
                sources[root] = self._outcome(root)[1]
            reason = said.entry.reason if isinstance(said.entry, Correction) else ""
            stands = sources[root] == id_
            versions.setdefault(root, []).append(
                Version(said.seq, said.at, said.by, id_, said.body, reason, stands)
            )
        return {id_: tuple(said) for id_, said in versions.items()}

    def _outcome(self, id_: str) -> tuple[Said | None, str]:
        """What stands in the place of *id_*, and the id that says so."""
        for correction in reversed(self._aimed.get(id_, ())):
            if not self._undone(correction):
                return self._outcome(correction)
        return self._said[id_].body, id_

    def _undone(self, correction: str) -> bool:
        for later in reversed(self._aimed.get(correction, ())):
            if not self._undone(later):
                return self._outcome(later)[0] is None
        return False
