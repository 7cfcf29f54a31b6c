"""A scene of coroutines in a loop and thread of its own: a browser test may hold the main one."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable
from concurrent.futures import ThreadPoolExecutor


def in_own_loop(scene: Callable[[], Awaitable[None]]) -> None:
    """Run a scene to its end, and raise what it raises."""

    async def run() -> None:
        await scene()

    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(run())).result()
