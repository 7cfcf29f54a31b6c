"""A shop kept open for many requests: subjects and findings remembered by the chain's head.

Equal heads are equal dossiers, so what was folded or computed for a head and the shop's own
chronologies as they lie there never grows stale; it only falls out when newer ones need the room.
Safe for several threads.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Mapping, Sequence
from functools import partial
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, Self, TypeVar

from heelstamp.shop.record_forms import fill_forms
from heelstamp.shop.folder import CHRONOLOGIES_FOLDER, now, open_shop
from heelstamp.shop.subjects import Subject, chronology_for, date_subject
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.chronology import Chronology
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.inspections import Plan
    from heelstamp.catalogue import DossierState, Entry, PartsTree
    from heelstamp.dating import CompiledModel

T = TypeVar("T")
REMEMBERED = 64
"""Dossiers of which subject, finding and plan are kept."""


class OpenShop:
    """One shop, open.

    Parameters
    ----------
    folder
        The shop's folder.

    Raises
    ------
    HeelstampError
        As `open_shop` does.
    """

    def __init__(self, folder: Path) -> None:
        fill_forms()
        self.folder = folder
        self.shop = open_shop(folder)
        self._chronologies: dict[str, tuple[object, Chronology]] = {}
        self._models: dict[str, tuple[Chronology, CompiledModel]] = {}
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()
        self._lock = Lock()
        self.writing = Lock()
        """Held while a file of the shop is replaced after it was looked at."""

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Let go of the shop."""
        self.shop.close()

    def subject(self, tag: str) -> Subject:
        """Give what stands of a dossier.

        Raises
        ------
        InputError
            There is no such dossier.
        """
        return self.remembered("subject", tag, lambda: self._load(tag))

    def finding(self, tag: str) -> DateFinding:
        """Date a dossier."""
        return self.remembered("finding", tag, lambda: self.dated(self.subject(tag)))

    def plan(self, tag: str) -> Plan:
        """Plan the next inspection of a dossier."""
        from heelstamp.shop.inspection_plan import plan_for

        return self.remembered("plan", tag, lambda: plan_for(self.subject(tag)))

    def has(self, what: str, tag: str) -> bool:
        """Whether *what* ("finding", "plan") is remembered for a dossier as it stands."""
        head = self.shop.journals.head(tag)
        with self._lock:
            return head is not None and (what, tag, head.digest, self.shelf()) in self._kept

    def enter(
        self, tag: str, acts: Sequence[tuple[str, Mapping[str, Any]]], *, by: str
    ) -> tuple[Entry, ...]:
        """Enter; see `heelstamp.casework.dossier.append_all`.

        An entry that stands already with the same body under the same id is not entered again, so
        that a device may send what it kept without knowing whether it arrived.

        Raises
        ------
        InputError
            The entry cannot be read, or its id names another.
        ConflictError
            Custody or consent do not allow it, or others kept writing.
        """
        from heelstamp.casework.dossier import append_all

        return append_all(self.shop, tag, acts, at=now(), by=by, resent=True)

    def standing(self, tag: str) -> tuple[DossierState, PartsTree]:
        """What stands of a dossier, folded anew, with the parts of its kind."""
        from heelstamp.casework.dossier import state_of

        state = state_of(self.shop, tag)
        return state, self.shop.tree_for(state.instrument.kind)

    def _load(self, tag: str) -> Subject:
        state, tree = self.remembered("state", tag, partial(self.standing, tag))
        chronology = self.chronology(state.instrument.chronology)
        return Subject(tag, state, tree, chronology, self.folder)

    def dated(self, subject: Subject) -> DateFinding:
        """Date a subject; the model of its chronology is made ready once."""
        from heelstamp.casework.dating import ready_model

        name, chronology = subject.state.instrument.chronology, subject.chronology
        kept = self._models.get(name)
        if kept is None or kept[0] is not chronology:
            kept = (chronology, ready_model(chronology))
            self._models[name] = kept
        return date_subject(subject, kept[1])

    def shelf(self) -> Hashable:
        """Tell the shop's own chronologies apart from what they were or will be, by their files."""
        own = self.folder / CHRONOLOGIES_FOLDER
        files = sorted(own.iterdir()) if own.is_dir() else []
        return tuple((one.name, one.stat().st_mtime_ns, one.stat().st_size) for one in files)

    def chronology(self, name: str) -> Chronology:
        """Give a chronology, read again when a file of the shop's own ones was changed."""
        edition = self.shelf()
        kept = self._chronologies.get(name)
        if kept is None or kept[0] != edition:
            kept = (edition, chronology_for(name, self.folder))
            self._chronologies[name] = kept
        return kept[1]

    def remembered(self, what: str, tag: str, make: Callable[[], T]) -> T:
        """Give what was made for the head of *tag*, or make it now."""
        head = self.shop.journals.head(tag)
        if head is None:
            raise InputError(
                "no such dossier", received=tag, remedy="Choose one on the rack, or open it first."
            )
        return self.made_once((what, tag, head.digest, self.shelf()), make)

    def made_once(self, key: Hashable, make: Callable[[], T]) -> T:
        """Give what was made under *key*, which names all that it rests on, or make it now."""
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                kept: T = self._kept[key]
                return kept
        made = make()
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > 5 * REMEMBERED:
                self._kept.popitem(last=False)
        return made
