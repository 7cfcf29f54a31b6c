"""Dating a whole census again, in batches over two processes.

Each process reads the edition once and works with one thread of linear algebra; batches come back
as counts. A few instruments are dated in this process. Dossiers that are not in the census are
dated too, with the edition before as what they said earlier.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager
from multiprocessing import get_context
from multiprocessing.context import BaseContext
from typing import TYPE_CHECKING, Any

from heelstamp.shop.census import read_rows
from heelstamp.shop.makers import earlier_edition

if TYPE_CHECKING:
    from heelstamp.casework.census.redating import Earlier, Redated, Redater
    from heelstamp.chronology import Chronology
    from heelstamp.shop.opened import OpenShop

BATCH = 1024
PROCESSES = 2
AHEAD = 3
"""Batches a process may have waiting, to bound the memory."""

FEW = 4 * BATCH
"""Fewer are dated here: starting processes takes a second."""

THREADS = ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS")

Progress = Callable[[int, int], None]


def chronologies_in_use(shop: OpenShop) -> tuple[str, ...]:
    """Ids of the chronologies that census rows or dossiers of a shop rest on."""
    from heelstamp.casework.dossier import state_of

    found = set(shop.census.chronologies())
    for tag in shop.journals.tags():
        found.add(state_of(shop, tag).instrument.chronology)
    return tuple(sorted(found))


def redate(
    shop: OpenShop,
    id_: str,
    *,
    new: Chronology | None = None,
    keep: bool = False,
    progress: Progress | None = None,
) -> Redated:
    """Date all census rows and dossiers of a chronology again.

    Parameters
    ----------
    new
        Edition to date with; the shop's present one without it.
    keep
        Keep the new conclusions of census rows, all or none.
    progress
        Called with how many are done and how many there are.
    """
    from heelstamp.casework.census.redating import Redated

    after = shop.chronology(id_) if new is None else new
    before = earlier_edition(shop, id_) if new is None else shop.chronology(id_)
    result = Redated()
    kept: dict[str, str] = {}
    dossiers = _dossiers(shop, id_, after)
    total = shop.census.count(id_) + len(dossiers)
    batches = _batches(_instruments(shop, id_, after, dossiers))
    tell = progress or _silent
    tell(0, total)
    with _worker(after, before, total) as work:
        done = 0
        for size, one in work(batches, keep):
            result.add(one)
            kept |= one.conclusions
            done += size
            tell(done, total)
    if keep:
        shop.census.conclude(id_, kept)
    return result


def _silent(_done: int, _total: int) -> None:
    pass


def _instruments(
    shop: OpenShop, id_: str, edition: Chronology, dossiers: Sequence[Earlier]
) -> Iterator[Earlier]:
    from heelstamp.casework.census.redating import Earlier
    from heelstamp.casework.census.rows import reading_digest

    present = reading_digest(edition)
    stale = shop.census.read_otherwise(id_, present) > 0
    for record in shop.census.rows(id_, whole=stale):
        evidence = record.evidence
        if record.read_as != present:
            (row,) = read_rows([record], edition)
            evidence = row.evidence
        yield Earlier(record.id, evidence, record.conclusion)
    yield from dossiers


def _dossiers(shop: OpenShop, id_: str, edition: Chronology) -> list[Earlier]:
    """Return the dossiers of a chronology that are not in the census, by their evidence."""
    from heelstamp.casework.census.redating import Earlier
    from heelstamp.casework.census.rows import row_from_dossier
    from heelstamp.casework.dossier import state_of
    from heelstamp.reference.tables import mark_context

    tags = shop.journals.tags()
    if not tags:
        return []
    known = {record.id for record in shop.census.rows(id_, whole=False)}
    context = mark_context()
    found = []
    for tag in tags:
        if tag in known:
            continue
        state = state_of(shop, tag)
        if state.instrument.chronology == id_:
            row = row_from_dossier(state, edition, context, tag=tag, while_open=True)
            found.append(Earlier(tag, row.evidence, None))
    return found


def _batches(instruments: Iterator[Earlier]) -> Iterator[list[Earlier]]:
    batch: list[Earlier] = []
    for one in instruments:
        batch.append(one)
        if len(batch) == BATCH:
            yield batch
            batch = []
    if batch:
        yield batch


Work = Callable[[Iterator[list["Earlier"]], bool], Iterator[tuple[int, "Redated"]]]


@contextmanager
def _worker(after: Chronology, before: Chronology | None, total: int) -> Iterator[Work]:
    from heelstamp.casework.census.redating import Redater

    if total <= FEW:
        redater = Redater(after, before)
        yield lambda batches, keep: (
            (len(batch), redater.batch(batch, keep=keep)) for batch in batches
        )
        return
    context = _processes()
    with (
        _one_thread(),
        ProcessPoolExecutor(
            PROCESSES, mp_context=context, initializer=_prepare, initargs=(after, before)
        ) as pool,
    ):
        try:
            yield lambda batches, keep: _spread(pool, batches, keep)
        except BaseException:
            pool.shutdown(wait=False, cancel_futures=True)
            raise


def _processes() -> BaseContext:
    """How worker processes begin: from a clean server of forks, anew where a system has none."""
    try:
        context = get_context("forkserver")
    except ValueError:
        return get_context("spawn")
    context.set_forkserver_preload([__name__, "heelstamp.casework.census.redating"])
    return context


def _spread(
    pool: ProcessPoolExecutor, batches: Iterator[list[Earlier]], keep: bool
) -> Iterator[tuple[int, Redated]]:
    waiting: dict[Future[Redated], int] = {}
    for batch in batches:
        waiting[pool.submit(_redate_batch, batch, keep)] = len(batch)
        if len(waiting) >= PROCESSES * AHEAD:
            yield from _finished(waiting)
    while waiting:
        yield from _finished(waiting)


def _finished(waiting: dict[Future[Redated], int]) -> Iterator[tuple[int, Redated]]:
    done, _ = wait(waiting, return_when=FIRST_COMPLETED)
    for one in done:
        yield waiting.pop(one), one.result()


@contextmanager
def _one_thread() -> Iterator[None]:
    """Let processes that start inside use one thread of linear algebra each."""
    before = {name: os.environ.get(name) for name in THREADS}
    os.environ.update(dict.fromkeys(THREADS, "1"))
    try:
        yield
    finally:
        for name, value in before.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value


class _State:
    """What a working process keeps between batches."""

    redater: Redater | None = None


def _prepare(after: Chronology, before: Chronology | None) -> None:
    from heelstamp.casework.census.redating import Redater

    _State.redater = Redater(after, before)


def _redate_batch(batch: list[Any], keep: bool) -> Redated:
    assert _State.redater is not None
    return _State.redater.batch(batch, keep=keep)
