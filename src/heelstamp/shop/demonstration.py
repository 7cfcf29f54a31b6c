"""The demonstration's dossier: the journal replayed, and both pairs compared on the lamp's day.

What was drawn and typed for each pair comes with the demonstration; the pairs are compared by the
program's own procedure, at the same time on two threads, and entered where the examiner entered
them: after the lamp, before anything is opened.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory
from threading import Lock, Thread
from typing import TYPE_CHECKING

from heelstamp.shop import finish_pair
from heelstamp.shop.paper_issue import write_whole
from heelstamp.shop.folder import create_shop, open_shop
from heelstamp.shop.opened import OpenShop
from heelstamp.errors import ConflictError, HeelstampError

if TYPE_CHECKING:
    from heelstamp.casework.finish import Face, FinishFinding
    from heelstamp.casework.journal_file import Verification
    from heelstamp.reference.demonstration import DemoPair

DEMO_TAG = "DEMO-0001"
"""Tag of the demonstration in a shop of one's own, whose own tags begin at their first."""
DEMO_CURRENCY = "USD"
WORKERS = 2
"""Pairs compared at a time, which bounds the memory to two of them decoded."""


def make_demo_dossier(
    shop: Path, tag: str, *, name: str
) -> tuple[Verification, tuple[FinishFinding, ...]]:
    """Make the shop and its dossier; give its verification and what the pairs came to.

    The masks are laid beside the shop, so that a person can compare the pairs again.
    """
    from heelstamp.casework.journal_file import verify
    from heelstamp.casework.replay import replay
    from heelstamp.reference.demonstration import (
        demo_journal,
        demo_pairs,
        demo_photographs,
        demo_recordings,
    )

    rows, pairs = demo_journal(), demo_pairs()
    files = demo_photographs() | demo_recordings()
    before = [row for row in rows if row["at"] < pairs[0].at]
    after = rows[len(before) :]
    with create_shop(shop, name=name, currency=DEMO_CURRENCY) as opened:
        replay(opened, tag, before, files)
    sources = [
        finish_pair.load_pair(f"{tag}:{one.visible}", f"{tag}:{one.uv}", shop) for one in pairs
    ]
    with ThreadPoolExecutor(WORKERS) as workers:
        compared = list(workers.map(_compared, sources, pairs))
    for pair, source, (face, kept) in zip(pairs, sources, compared, strict=True):
        write_whole(shop / pair.masks_name, pair.masks)
        finish_pair.enter(source, face, shop, at=pair.at, by=pair.by, id_=pair.id, kept=kept)
    with open_shop(shop) as opened:
        replay(opened, tag, after, files, opened=True)
        verified = verify(opened, tag)
    return verified, tuple(face.finding for face, _ in compared)


def _compared(source: finish_pair.Source, pair: DemoPair) -> tuple[Face, bytes]:
    from heelstamp.casework.finish import PairRequest, read_masks

    masks = read_masks(pair.masks, pair.masks_name)
    request = PairRequest.of(masks=masks, ruler=pair.ruler, greys=pair.greys)
    face = finish_pair.examine(source, request)
    return face, finish_pair.kept_file(face)


def keep_demo_census(shop: Path) -> None:
    """Keep the demonstration's census in a shop that has none of its maker."""
    from heelstamp.shop.census import add_table
    from heelstamp.reference.demonstration import DEMO_CHRONOLOGY, demo_census

    table, columns = demo_census()
    with OpenShop(shop) as opened:
        if not opened.census.count(DEMO_CHRONOLOGY):
            add_table(opened, DEMO_CHRONOLOGY, table, (columns, ""))


def bring_in_demo(shop: Path, tag: str = DEMO_TAG) -> None:
    """Make the demonstration's dossier aside, then take it over into *shop*, whole or not at all.

    Its journal keeps its own invented hands and times; the shop's examiners sign nothing of it. Its
    invented sales and terms come along where the shop counts in their currency and has no terms,
    its invented census where the shop has none of this maker.

    Raises
    ------
    ConflictError
        A dossier of this tag exists.
    """
    from heelstamp.shop.prices import price_demo
    from heelstamp.shop.terms import TERMS_FILE
    from heelstamp.reference.demonstration import DEMO_SHOP_NAME, demo_pairs

    with open_shop(shop) as into:
        if into.journals.head(tag) is not None:
            raise ConflictError(
                "the demonstration is here already", where=tag, remedy="Open it on the rack."
            )
        with TemporaryDirectory(prefix="heelstamp-demo-", ignore_cleanup_errors=True) as aside:
            made = Path(aside) / "shop"
            make_demo_dossier(made, tag, name=DEMO_SHOP_NAME)
            with open_shop(made) as source:
                for record in source.journals.files():
                    into.files.put(source.files.get(record.digest))
                    into.journals.record_file(record)
                lines = source.journals.lines(tag)
        for pair in demo_pairs():
            write_whole(shop / pair.masks_name, pair.masks)
        into.journals.append(tag, lines, None)
        priced = into.currency == DEMO_CURRENCY and not (shop / TERMS_FILE).exists()
    if priced:
        with OpenShop(shop) as opened:
            price_demo(opened, tag)
    keep_demo_census(shop)


class DemoWork:
    """The demonstration brought in on a thread of its own, once at a time.

    Attributes
    ----------
    state
        ``idle``, ``working``, ``done`` or ``failed``.
    error
        What went wrong, when it failed.
    """

    def __init__(self) -> None:
        self.state = "idle"
        self.error = ""
        self._lock = Lock()

    def begin(self, shop: Path) -> None:
        """Begin, unless it is being brought in."""
        with self._lock:
            if self.state == "working":
                return
            self.state, self.error = "working", ""
        Thread(target=self._run, args=(shop,), name="demonstration", daemon=True).start()

    def _run(self, shop: Path) -> None:
        try:
            bring_in_demo(shop)
        except HeelstampError as error:
            self.state, self.error = "failed", str(error)
        except BaseException:
            self.state, self.error = "failed", "The program failed; nothing was brought in."
            raise
        else:
            self.state = "done"
