"""The live channel: what listeners hear, that nobody is waited for, and that it ends."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import AsyncGenerator

from fakes.own_loop import in_own_loop
from heelstamp.casework.ports import Head
from heelstamp.errors import StorageError
from heelstamp.shop.live import QUIET, REMEMBERED, Live, News

STANDING = News("standing", {"length": 1, "head": "a"})


class Journal:
    """A journal of which only the end is asked."""

    def __init__(self) -> None:
        self.head: Head | None = Head(1, "a")
        self.asked, self.busy = 0, False

    def __call__(self, tag: str) -> Head | None:
        assert tag == "A"
        self.asked += 1
        if self.busy:
            self.busy = False
            raise StorageError("the database is busy")
        return self.head


async def heard(stream: AsyncGenerator[News]) -> News:
    return await asyncio.wait_for(anext(stream), 5)


def test_every_listener_hears_that_the_journal_grew() -> None:
    async def scene() -> None:
        journal = Journal()
        live, before = Live(journal, every=0.01), threading.active_count()
        streams = [live.listen("A", STANDING, known="") for _ in range(9)]
        assert [await heard(one) for one in streams] == [STANDING] * 9
        journal.busy = True  # one look that fails is made good by the next
        journal.head = Head(2, "b")
        for one in streams:
            news = await heard(one)
            assert (news.what, news.told["length"]) == ("entered", 2)
        assert threading.active_count() - before < 4  # a queue each, no thread each
        for one in streams:
            await one.aclose()
        assert live.listening("A") == 0
        asked = journal.asked
        await asyncio.sleep(0.1)
        assert journal.asked <= asked + 1  # nobody listens, nobody asks

    in_own_loop(scene)


def test_work_is_told_from_another_thread_and_only_to_its_dossier() -> None:
    async def scene() -> None:
        live = Live(lambda _tag: Head(1, "a"), every=5)
        mine, other = live.listen("A", STANDING, known=""), live.listen("B", STANDING, known="")
        await heard(mine)
        await heard(other)
        news = News("work", {"share": 0.5})
        await asyncio.to_thread(live.tell, "A", news)
        assert await heard(mine) == news
        live.tell("B", News("work", {"share": 1.0}))
        assert (await heard(other)).told["share"] == 1.0
        await mine.aclose()
        await other.aclose()

    in_own_loop(scene)


def test_who_does_not_listen_loses_the_oldest_news_and_holds_nobody_up() -> None:
    async def scene() -> None:
        live = Live(lambda _tag: Head(1, "a"), every=5)
        slow = live.listen("A", STANDING, known="")
        await heard(slow)
        for number in range(REMEMBERED + 5):
            live.tell("A", News("work", {"number": number}))
        await asyncio.sleep(0)
        await asyncio.sleep(0)
        assert (await heard(slow)).told["number"] == 5
        await slow.aclose()

    in_own_loop(scene)


def test_silence_is_broken_and_closing_ends_every_stream() -> None:
    async def scene() -> None:
        live = Live(lambda _tag: Head(1, "a"), every=5, quiet=0.01)
        stream = live.listen("A", STANDING, known="")
        await heard(stream)
        assert await heard(stream) is QUIET
        threading.Thread(target=live.close).start()
        told = [one async for one in stream]
        assert all(one is QUIET for one in told)
        assert live.listening("A") == 0

    in_own_loop(scene)


def test_news_without_a_listener_go_nowhere() -> None:
    live = Live(lambda _tag: None)
    live.tell("A", STANDING)
    live.close()
    assert live.listening("A") == 0
