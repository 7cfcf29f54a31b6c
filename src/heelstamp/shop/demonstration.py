"""The demonstration's dossier: the journal replayed, and both pairs compared on the lamp's day.

What was drawn and typed for each pair comes with the demonstration; the pairs are compared by the
program's own procedure, at the same time on two threads, and entered where the examiner entered
them: after the lamp, before anything is opened.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from itertools import repeat
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from heelstamp.errors import ConflictError
from heelstamp.shop.files import write_whole
from heelstamp.shop.folder import create_shop

if TYPE_CHECKING:
    from heelstamp.casework.finish import FinishFinding
    from heelstamp.casework.journal_file import Verification
    from heelstamp.luminescence import Stage
    from heelstamp.reference.demonstration import DemoPair
    from heelstamp.shop.finish import Pair
    from heelstamp.shop.jobs import Job, Progress
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.uv_lamp import Compared

DEMO_TAG = "DEMO-0001"
"""Tag of the demonstration in a shop of one's own, whose own tags begin at their first."""
DEMO_CURRENCY = "USD"
WORKERS = 2
"""Pairs compared at a time, which bounds the memory to two of them decoded."""


def make_demo_dossier(
    folder: Path, tag: str, *, name: str, tell: Callable[[Stage], None] | None = None
) -> tuple[Verification, tuple[FinishFinding, ...]]:
    """Make the shop and its dossier; return its verification and what the pairs came to.

    The masks are laid beside the shop, so that a person can compare the pairs again.
    """
    from heelstamp.casework.journal_file import verify
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.casework.replay import replay
    from heelstamp.reference.demonstration import (
        demo_journal,
        demo_pairs,
        demo_photographs,
        demo_recordings,
    )
    from heelstamp.shop.finish import load_pair
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.uv_lamp import enter_look

    rows, pairs = demo_journal(), demo_pairs()
    files = demo_photographs() | demo_recordings()
    before = [row for row in rows if row["at"] < pairs[0].at]
    after = rows[len(before) :]
    create_shop(folder, name=name, currency=DEMO_CURRENCY).close()
    with OpenShop(folder) as shop:
        replay(shop, tag, before, files)
        sources = [load_pair(shop, f"{tag}:{one.visible}", f"{tag}:{one.uv}") for one in pairs]
        with ThreadPoolExecutor(WORKERS) as workers:
            compared = list(workers.map(_compared, sources, pairs, repeat(tell)))
        for pair, one in zip(pairs, compared, strict=True):
            write_whole(folder / pair.masks_name, pair.masks)
            stamp = EntryStamp(pair.id, "", pair.at)
            enter_look(shop, tag, one, stamp, by=pair.by, at=pair.at, seed=pair.seed)
        replay(shop, tag, after, files, opened=True)
        verified = verify(shop, tag)
    return verified, tuple(one.finding for one in compared)


def _compared(source: Pair, pair: DemoPair, tell: Callable[[Stage], None] | None) -> Compared:
    from heelstamp.casework.finish import PairRequest, read_masks
    from heelstamp.shop.finish import compare_pair
    from heelstamp.shop.uv_lamp import Compared

    masks = read_masks(pair.masks, pair.masks_name)
    request = PairRequest.of(masks=masks, ruler=pair.ruler, greys=pair.greys)
    return Compared.of(compare_pair(source.visible.file, source.uv.file, request, tell=tell))


def keep_demo_census(shop: OpenShop) -> None:
    """Keep the demonstration's census in a shop that has none of its maker."""
    from heelstamp.reference.demonstration import DEMO_CHRONOLOGY, demo_census
    from heelstamp.shop.census import add_table

    table, columns = demo_census()
    if not shop.census.count(DEMO_CHRONOLOGY):
        add_table(shop, DEMO_CHRONOLOGY, table, (columns, ""))


def bring_in_demo(shop: OpenShop, tag: str = DEMO_TAG, *, tell: Progress | None = None) -> None:
    """Make the demonstration's dossier aside, then take it over into *shop*, whole or not at all.

    Its journal keeps its own invented hands and times; the shop's examiners sign nothing of it. Its
    invented sales and terms come along where the shop counts in their currency and has no terms,
    its invented census where the shop has none of this maker.

    Raises
    ------
    ConflictError
        A dossier of this tag exists.
    """
    from heelstamp.reference.demonstration import DEMO_SHOP_NAME, demo_pairs
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.prices import price_demo
    from heelstamp.shop.terms import TERMS_FILE

    def told(stage: Stage) -> None:
        if tell is not None:
            tell(stage.share, 1.0, stage.name)

    if shop.journals.head(tag) is not None:
        raise ConflictError(
            "the demonstration is here already", where=tag, remedy="Open it on the rack."
        )
    with TemporaryDirectory(prefix="heelstamp-demo-", ignore_cleanup_errors=True) as aside:
        made = Path(aside) / "shop"
        make_demo_dossier(made, tag, name=DEMO_SHOP_NAME, tell=told)
        with OpenShop(made) as source:
            for record in source.journals.files():
                shop.files.put(source.files.get(record.digest))
                shop.journals.record_file(record)
            lines = source.journals.lines(tag)
    for pair in demo_pairs():
        write_whole(shop.folder / pair.masks_name, pair.masks)
    shop.journals.append(tag, lines, None)
    if shop.currency == DEMO_CURRENCY and not (shop.folder / TERMS_FILE).exists():
        price_demo(shop, tag)
    keep_demo_census(shop)


def demonstration_job(shop: OpenShop) -> Job | None:
    """Return where bringing the demonstration in stands; None when it was not begun."""
    return shop.jobs.at("bring in", DEMO_TAG)


def begin_demonstration(shop: OpenShop) -> None:
    """Begin to bring the demonstration in, unless it is here or on its way."""
    job = demonstration_job(shop)
    if shop.journals.head(DEMO_TAG) is None and (job is None or job.finished):
        shop.jobs.start(
            "demonstration",
            "bring in",
            DEMO_TAG,
            partial(_bring_in, shop),
            alone=True,
            rests_on=None if job is None else job.began,
        )


def _bring_in(shop: OpenShop, tell: Progress) -> None:
    bring_in_demo(shop, tell=tell)
