"""One shop, open, for the command and for the pages: its records, what was made of them, its jobs.

What was folded or computed is remembered by the digest of the dossier's last entry and by the
shop's own chronologies as they lie there: equal digests are equal dossiers, so nothing grows stale;
it only falls out when newer things need the room. Safe for several threads.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import fields
from functools import cached_property
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any, TypeVar

from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.ports import Shop
from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop.files import kept_id
from heelstamp.shop.folder import now, open_shop
from heelstamp.shop.jobs import Jobs
from heelstamp.shop.kept_prints import FOLDER as KEPT_FOLDER
from heelstamp.shop.kept_prints import KeptPrints
from heelstamp.shop.memo import Memo
from heelstamp.shop.settings import CHRONOLOGIES_FOLDER, is_shop, read_settings
from heelstamp.shop.subjects import (
    ENDINGS,
    Subject,
    chronology_for,
    date_subject,
    doubts_of,
    said_of,
    sensitivity_of,
    subject_from_file,
)

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.doubts import SensitivityFinding
    from heelstamp.casework.papers.said import Said
    from heelstamp.casework.sale.blocks import Block
    from heelstamp.catalogue import DossierState, Entry, PartsTree
    from heelstamp.chronology import Chronology
    from heelstamp.dating import CompiledModel
    from heelstamp.shop.live import Live
    from heelstamp.shop.queued_jobs import QueuedJobs

T = TypeVar("T")
REMEMBERED = 320
"""Things made of dossiers that are remembered: some five of each of the last 64."""
COPIES_MAX, PREVIEWS_MAX, PIECES_MAX = 64_000_000, 24_000_000, 48_000_000
"""Bytes of small copies of photographs, of previews of papers, and of pieces of pairs."""
DECODED = 2
"""Decoded photographs that are held: one pair, some 75 MB each at 18 megapixels."""


class OpenShop(Shop):
    """One shop, open; a context that closes it.

    Parameters
    ----------
    folder
        The shop's folder.

    Attributes
    ----------
    folder
        The same.
    copies, previews, pieces, decoded
        Small copies of photographs, previews of papers, pieces of pairs, decoded photographs.
    prints
        Copies of photographs for papers, kept in the shop's cache folder.
    writing
        Held while a file of the shop is replaced after it was looked at.

    Raises
    ------
    HeelstampError
        As `open_shop` does.
    """

    def __init__(self, folder: Path) -> None:
        opened = open_shop(folder)
        plain = {one.name: getattr(opened, one.name) for one in fields(opened)}
        super().__init__(**plain | {"against": self._against})
        self.folder = folder
        self.made = Memo(REMEMBERED)
        self.copies, self.previews = Memo(COPIES_MAX, len), Memo(PREVIEWS_MAX, len)
        self.prints = KeptPrints(folder / KEPT_FOLDER)
        self.pieces, self.decoded = Memo(PIECES_MAX, len), Memo(DECODED, one_at_a_time=True)
        self.writing = Lock()

    @cached_property
    def jobs(self) -> Jobs | QueuedJobs:
        """Work beside the requests: in this process, or, where the shop has workers, with them."""
        settings = read_settings(self.folder)
        if not settings.workers:
            return Jobs()
        from heelstamp.shop.queued_jobs import QueuedJobs

        return QueuedJobs(self.folder, settings, self)

    def _against(self, state: DossierState, step: str) -> Sequence[Block]:
        from heelstamp.shop.sale_blocks import shops_blocks

        return shops_blocks(self, state, step)

    def close(self) -> None:
        """End what is at work, and let go of the shop."""
        if "jobs" in vars(self):  # most commands begin none
            self.jobs.close()
        super().close()

    @cached_property
    def live(self) -> Live:
        """News of its dossiers to whoever listens."""
        from heelstamp.shop.live import Live

        return Live(self.journals.head)

    def subject(self, tag: str) -> Subject:
        """Return what stands of a dossier.

        Raises
        ------
        NoSuchDossierError
            There is no such dossier.
        """
        return self.remembered("subject", tag, lambda: self._load(tag))

    def finding(self, tag: str) -> DateFinding:
        """Date a dossier."""
        return self.remembered("finding", tag, lambda: self.dated(self.subject(tag)))

    def doubts(self, tag: str) -> dict[str, Any]:
        """Examine what does not fit and what the answer hangs on; plain values."""
        return self.remembered(
            "doubts",
            tag,
            lambda: dict(
                doubts_of(
                    self.subject(tag),
                    self.finding(tag),
                    self.sensitivity(tag),
                    self.model(self.subject(tag).chronology),
                ).data()
            ),
        )

    def sensitivity(self, tag: str) -> SensitivityFinding:
        """Try every printed word under each changed table."""
        return self.remembered(
            "sensitivity", tag, lambda: self.tried(self.subject(tag), self.finding(tag))
        )

    def said(self, tag: str) -> Said:
        """Say what a dossier's finding comes down to, in the words that every face prints."""
        return self.remembered(
            "said",
            tag,
            lambda: said_of(self.subject(tag), self.finding(tag), self.sensitivity(tag)),
        )

    def has(self, what: Hashable, tag: str) -> bool:
        """Whether *what*, as "finding" or "doubts", is remembered for a dossier as it stands."""
        head = self.journals.head(tag)
        return head is not None and (what, tag, head.digest, self.shelf()) in self.made

    def enter(
        self,
        tag: str,
        entries: Sequence[NewEntry],
        *,
        by: str,
        at: str = "",
        seed: str | None = None,
    ) -> tuple[Entry, ...]:
        """Enter, all or none; now, unless *at* gives another time.

        *seed*, in hexadecimal, is that of the first entry where it is no secret; drawn without.

        An entry that stands already with the same body under the same id is not entered again, so
        that a device may send what it kept without knowing whether it arrived.

        Raises
        ------
        InputError
            The entry cannot be read, its id names another, or the dossier could not be dated with
            it: see `heelstamp.casework.at_entry`.
        ConflictError
            Custody or consent do not allow it, or others kept writing.
        """
        from heelstamp.casework.dossier import append_all
        from heelstamp.casework.replay import with_seeds

        self._refuse_unfit(tag, entries)
        seeded = self if seed is None else with_seeds(self, [seed])
        return append_all(seeded, tag, entries, at=at or now(), by=by, resent=True)

    def _refuse_unfit(self, tag: str, entries: Sequence[NewEntry]) -> None:
        """Refuse what would later stop the dossier, where it can be dated at all."""
        if not any(kind in ("observation", "correction") for kind, _ in entries):
            return
        from heelstamp.casework.at_entry import refuse_other_kind, refuse_unfit
        from heelstamp.catalogue.entries import INSTRUMENT_ID
        from heelstamp.reference.tables import mark_context

        try:
            subject = self.subject(tag)
        except HeelstampError:
            return  # there is no such dossier, or no chronology of it: said where it is needed
        refuse_unfit(subject.state, entries, subject.chronology, mark_context())
        for kind, body in entries:
            told = body.get("replacement")
            if (kind, body.get("corrects")) == ("correction", INSTRUMENT_ID) and told:
                chronology = self.chronology(str(told.get("chronology")))
                refuse_other_kind(str(told.get("kind")), chronology)

    def standing(self, tag: str) -> tuple[DossierState, PartsTree]:
        """Return what stands of a dossier, folded anew, with the parts of its kind."""
        from heelstamp.casework.dossier import state_of

        state = state_of(self, tag)
        return state, self.tree_for(state.instrument.kind)

    def _load(self, tag: str) -> Subject:
        state, tree = self.standing(tag)
        return Subject(tag, state, tree, self.chronology(state.instrument.chronology), self)

    def dated(self, subject: Subject) -> DateFinding:
        """Date a subject; the model of its chronology is made ready once."""
        return date_subject(subject, self.model(subject.chronology))

    def tried(self, subject: Subject, finding: DateFinding) -> SensitivityFinding:
        """Try every printed word of a subject's finding; its model is made ready once."""
        return sensitivity_of(subject, finding, self.model(subject.chronology))

    def model(self, chronology: Chronology) -> CompiledModel:
        """The model of a chronology, made ready once."""
        from heelstamp.casework.dating import ready_model

        return self.made.get(
            ("model", chronology.id, chronology.digest), lambda: ready_model(chronology)
        )

    def shelf(self) -> Hashable:
        """Tell the shop's own chronologies apart from what they were or will be, by their files."""
        own = self.folder / CHRONOLOGIES_FOLDER
        files = sorted(own.iterdir()) if own.is_dir() else []
        return tuple((one.name, one.stat().st_mtime_ns, one.stat().st_size) for one in files)

    def chronology(self, name: str) -> Chronology:
        """Return a chronology, read again when a file of the shop's own ones was changed.

        Raises
        ------
        NotFoundError
            There is none of this name.
        """
        return self.made.get(
            ("chronology", name, self.shelf()), lambda: chronology_for(name, self.folder)
        )

    def remembered(self, what: Hashable, tag: str, make: Callable[[], T]) -> T:
        """Return what was made of *tag* as it stands, or make it now."""
        head = self.journals.head(tag)
        if head is None:
            from heelstamp.casework.dossier import no_such_dossier

            raise no_such_dossier(self, tag)
        return self.made_once((what, tag, head.digest, self.shelf()), make)

    def made_once(self, key: Hashable, make: Callable[[], T]) -> T:
        """Return what was made under *key*, which names all that it rests on, or make it now."""
        return self.made.get(key, make)


@contextmanager
def open_subject(what: str, folder: Path) -> Iterator[tuple[OpenShop | None, Subject]]:
    """Load an examination file, or open the shop in *folder* for a dossier by its tag.

    Raises
    ------
    InputError
        Neither a file nor a dossier, or it cannot be read.
    """
    path = Path(what)
    if path.suffix.lower() in ENDINGS:
        yield None, subject_from_file(path, folder)
        return
    if not is_shop(folder):
        raise InputError(
            "neither an examination file nor a shop to find this dossier in",
            received=what,
            remedy="Name a .toml or .json file, or give the shop's folder with --shop.",
        )
    with OpenShop(folder) as shop:
        yield shop, shop.subject(what)


def load_subject(what: str, folder: Path) -> Subject:
    """Load what `open_subject` does, and let go of the shop again."""
    with open_subject(what, folder) as (_, subject):
        return subject


@contextmanager
def shop_for(words: Sequence[str], folder: Path, things: str) -> Iterator[OpenShop | None]:
    """Open the shop in *folder* where one of *words* names something in a dossier.

    Raises
    ------
    InputError
        There is no shop; *things* says what is looked for.
    """
    inside = [word for word in words if kept_id(word) is not None]
    if not inside:
        yield None
        return
    if not is_shop(folder):
        raise InputError(
            f"no shop to find {things} in",
            where=str(folder),
            received=inside[0],
            remedy="Give the shop's folder with --shop, or name a file.",
        )
    with OpenShop(folder) as shop:
        yield shop
