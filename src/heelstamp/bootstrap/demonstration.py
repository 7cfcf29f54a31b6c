"""The demonstration's dossier: the journal replayed, and both pairs compared on the lamp's day.

What was drawn and typed for each pair comes with the demonstration; the pairs are compared by the
program's own procedure, at the same time on two threads, and entered where the examiner entered
them: after the lamp, before anything is opened.
"""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.bootstrap import finish_pair
from heelstamp.bootstrap.paper_issue import write_whole
from heelstamp.bootstrap.shops import create_shop, open_shop

if TYPE_CHECKING:
    from heelstamp.casework.finish import Face, FinishFinding
    from heelstamp.casework.journal_file import Verification
    from heelstamp.reference.demonstration import DemoPair

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
    with create_shop(shop, name=name, currency="USD") as opened:
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
