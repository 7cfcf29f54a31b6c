"""The live channel of a dossier: server-sent events (WHATWG HTML, section 9.2).

``standing`` opens every connection and carries the length of the journal, ``entered`` comes when
it grew, ``work`` when image work went on. Who gets an event fetches the page again; nothing of a
dossier is sent through the channel itself.
"""

from __future__ import annotations

import json
import time
from collections.abc import AsyncGenerator

from fastapi import APIRouter, Request
from fastapi.concurrency import run_in_threadpool
from fastapi.responses import Response, StreamingResponse

from heelstamp.catalogue import DossierState
from heelstamp.shop.live import QUIET, Live, News
from heelstamp.web.rendering import shop_of

router = APIRouter()
RETRY_MS = 2000
"""How long a browser waits before it asks again after a break."""
LASTS_S = 600.0
"""A stream ends after this; the browser asks again, and whether it still may is looked up again."""


@router.get("/dossier/{tag}/live")
async def live(request: Request, tag: str) -> Response:
    """Stream the news of a dossier for as long as the page is open."""
    shop = shop_of(request)
    state = (await run_in_threadpool(shop.subject, tag)).state
    return StreamingResponse(
        _lines(shop.live, tag, state),
        media_type="text/event-stream",
        headers={"cache-control": "no-store", "x-accel-buffering": "no"},
    )


async def _lines(channel: Live, tag: str, state: DossierState) -> AsyncGenerator[str]:
    standing = News("standing", {"length": state.length})
    heard, until = channel.listen(tag, standing, known=state.head), time.monotonic() + LASTS_S
    yield f"retry: {RETRY_MS}\n\n"
    try:
        async for news in heard:
            yield ": still here\n\n" if news is QUIET else _event(news)
            if time.monotonic() > until:
                return
    finally:
        await heard.aclose()


def _event(news: News) -> str:
    return f"event: {news.what}\ndata: {json.dumps(dict(news.told))}\n\n"
