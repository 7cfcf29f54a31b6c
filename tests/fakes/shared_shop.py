"""A shop that is shared: three accounts, a clock to turn, and devices that come and go."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from fastapi import FastAPI
from starlette.testclient import TestClient

from fakes.web_shop import make_shop
from heelstamp.shop.sharing import Sharing, clock
from heelstamp.store.passwords import Argon2Passwords
from heelstamp.web import create_app
from heelstamp.web.gate import Shared

ADDRESS = "https://bench.test:8756"
SHARED = Shared(ADDRESS, secure=True)
PASSWORDS = {
    "examiner A": "seven herons stand quietly",
    "examiner B": "a kettle under the stairs",
    "a reader": "lamps along the towpath",
}
ROLES = {"examiner A": "owner", "examiner B": "examiner", "a reader": "reader"}


@dataclass
class Clock:
    """A clock that a test turns."""

    at: datetime = field(default_factory=lambda: datetime(2026, 11, 2, 9, 0, tzinfo=UTC))

    def __call__(self) -> datetime:
        return self.at

    def turn(self, **by: float) -> None:
        self.at += timedelta(**by)


@dataclass
class SharedShop:
    """The shared bench of one shop."""

    folder: Path
    app: FastAPI
    clock: Clock

    def device(self, address: str = "192.0.2.7", name: str = "a telephone") -> TestClient:
        """A browser of its own on the shop's network."""
        return TestClient(
            self.app,
            base_url=ADDRESS,
            client=(address, 50_000),
            follow_redirects=False,
            headers={"origin": ADDRESS, "user-agent": name, "accept": "text/html"},
        )

    def signed_in(self, name: str) -> TestClient:
        """A browser that is signed in."""
        device = self.device()
        answer = device.post("/sign-in", data={"name": name, "password": PASSWORDS[name]})
        assert answer.status_code == 303, answer.text
        return device

    @property
    def sharing(self) -> Sharing:
        sharing: Sharing = self.app.state.sharing
        return sharing


def shared_quickly(shop: Path, now: Callable[[], datetime] = clock) -> Sharing:
    """Open accounts whose passwords are hashed with as little work as Argon2 allows."""
    quick = Argon2Passwords(passes=1, memory_kib=8, lanes=1)
    return Sharing(shop, now=now, passwords=quick)


def make_shared(folder: Path) -> SharedShop:
    """Make a shop with a dossier and three accounts; its bench starts with the first device."""
    shop, turned = make_shop(folder), Clock()
    share = partial(shared_quickly, now=turned)
    sharing = share(shop)
    for name, role in ROLES.items():
        sharing.add(name, role, PASSWORDS[name])
    sharing.close()
    return SharedShop(
        shop, create_app(shop, hosts=("bench.test",), shared=SHARED, share=share), turned
    )


def opened(shared: SharedShop) -> TestClient:
    """The bench's life, to be entered as a context; sets the clock."""
    return TestClient(shared.app, base_url=ADDRESS)
