"""What an operator watches: metrics as Prometheus reads them, and a line of JSON for each request.

Paths are told as the program knows them (``/dossier/{tag}/sale``), never as they were asked for: no
tag, name, address or query leaves by a metric or a log. The port of the metrics is its own, for the
network of the machines alone.
"""

from __future__ import annotations

import time
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from fastapi import APIRouter, FastAPI, Request
from fastapi.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from heelstamp.errors import HeelstampError, InputError
from heelstamp.web.rendering import KEEP_NOTHING, shop_of

if TYPE_CHECKING:
    from prometheus_client import CollectorRegistry
    from prometheus_client.core import GaugeMetricFamily

router = APIRouter()
BOUNDS_S = (0.005, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0, 60.0)
"""Bounds of the histogram of seconds a request takes; a page is to be there in 0.03."""
NOWHERE = "none"


@router.get("/health", response_class=PlainTextResponse)
def health(request: Request) -> PlainTextResponse:
    """Whether this server answers, and its database too: 200 or 503; nothing else is told."""
    try:
        shop_of(request).journals.ledger()
    except HeelstampError:
        return PlainTextResponse("no database", 503, KEEP_NOTHING)
    return PlainTextResponse("well", 200, KEEP_NOTHING)


class Watch:
    """ASGI middleware that counts and times requests, and tells each in a line.

    Parameters
    ----------
    registry
        Where metrics are kept; none without.
    log
        Whether each request is told in a line of JSON on standard error.
    """

    def __init__(self, app: ASGIApp, registry: CollectorRegistry | None, *, log: bool) -> None:
        self._app = app
        self._count: Any = None
        self._seconds: Any = None
        self._log: Any = json_log() if log else None
        if registry is not None:
            from prometheus_client import Counter, Histogram  # noqa: PLC0415 - an extra

            names = ("method", "path", "status")
            self._count = Counter(
                "heelstamp_requests", "Requests answered.", names, registry=registry
            )
            self._seconds = Histogram(
                "heelstamp_request_seconds",
                "Seconds until the whole answer was sent; streams of events are left out.",
                ("path",),
                buckets=BOUNDS_S,
                registry=registry,
            )

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, and note how it went."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        began, status, stream = time.perf_counter(), 500, False

        async def noted(message: Message) -> None:
            nonlocal status, stream
            if message["type"] == "http.response.start":
                status = message["status"]
                stream = any(b"event-stream" in value for _, value in message["headers"])
            await send(message)

        try:
            await self._app(scope, receive, noted)
        finally:
            self._note(scope, status, time.perf_counter() - began, stream=stream)

    def _note(self, scope: Scope, status: int, seconds: float, *, stream: bool) -> None:
        path = getattr(scope.get("route"), "path", NOWHERE)
        method = scope["method"] if scope["method"] in METHODS else "OTHER"
        if self._count is not None:
            self._count.labels(method, path, str(status)).inc()
            if not stream:
                self._seconds.labels(path).observe(seconds)
        if self._log is not None:
            told = {"method": method, "path": path, "status": status}
            self._log.info("request", **told, ms=round(1000 * seconds, 1))


METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "DELETE", "OPTIONS"})


def json_log() -> Any:
    """A logger that writes one line of JSON for each event to standard error.

    Raises
    ------
    InputError
        structlog is not installed.
    """
    try:
        import structlog  # noqa: PLC0415 - an extra
    except ImportError as error:
        raise _not_installed("structlog") from error
    import sys  # noqa: PLC0415

    return structlog.wrap_logger(
        structlog.PrintLogger(sys.stderr),
        processors=[
            structlog.processors.add_log_level,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
            structlog.processors.JSONRenderer(),
        ],
    )


def new_registry() -> CollectorRegistry:
    """An empty registry of metrics.

    Raises
    ------
    InputError
        prometheus-client is not installed.
    """
    try:
        from prometheus_client import CollectorRegistry  # noqa: PLC0415 - an extra
    except ImportError as error:
        raise _not_installed("prometheus-client") from error
    return CollectorRegistry()


class Standing:
    """What waits and what fails, looked up when it is asked for.

    Parameters
    ----------
    app
        The bench.
    """

    def __init__(self, app: FastAPI) -> None:
        self._app = app

    def collect(self) -> Iterator[GaugeMetricFamily]:
        """Webhooks, and work by lane; nothing of them while the database is away."""
        from prometheus_client.core import GaugeMetricFamily  # noqa: PLC0415

        from heelstamp.shop.queued_jobs import ANSWERS_S, QueuedJobs  # noqa: PLC0415

        state = self._app.state
        up = GaugeMetricFamily("heelstamp_database_up", "Whether the database answers.")
        found: list[GaugeMetricFamily] = []
        try:
            hooks = state.webhooks.all()
            waiting = sum(one.waiting for one in hooks)
            found = [
                _gauge("heelstamp_webhook_waiting", "Messages that wait.", waiting),
                _gauge(
                    "heelstamp_webhooks_failing",
                    "Webhooks that fail or are stopped.",
                    sum(bool(one.error) for one in hooks),
                ),
            ]
            jobs = state.shop.jobs
            if isinstance(jobs, QueuedJobs):
                work = GaugeMetricFamily(
                    "heelstamp_work", "Work by lane and standing.", labels=("lane", "standing")
                )
                for (lane, standing), count in jobs.table.counts().items():
                    work.add_metric((lane, standing), count)
                workers = jobs.table.workers(ANSWERS_S)
                found += [work, _gauge("heelstamp_workers", "Workers that answer.", workers)]
        except HeelstampError:
            up.add_metric((), 0)
            yield up
            return
        up.add_metric((), 1)
        yield up
        yield from found


def _gauge(name: str, told: str, value: float) -> GaugeMetricFamily:
    from prometheus_client.core import GaugeMetricFamily  # noqa: PLC0415

    return GaugeMetricFamily(name, told, value=value)


def _not_installed(package: str) -> InputError:
    return InputError(
        f"this needs the package {package}, which is not installed",
        where="serve",
        remedy="Say make setup-server, or pip install 'heelstamp[server]'.",
    )
