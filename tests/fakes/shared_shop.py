"""A shop that is shared: three accounts, a clock to turn, and devices that come and go."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path

from fastapi import FastAPI
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from fakes.web_shop import TAG, make_shop
from heelstamp.shop.sharing import Sharing, clock
from heelstamp.store.passwords import Argon2Passwords
from heelstamp.web import create_app
from heelstamp.web.api import ROUTERS
from heelstamp.web.api.acts import acts_of
from heelstamp.web.app import OPENING_SCREENS, SCREENS, SHARED_SCREENS
from heelstamp.web.gate import Shared

ADDRESS = "https://bench.test:8756"
SHARED = Shared(ADDRESS, secure=True)
PASSWORDS = {
    "examiner A": "seven herons stand quietly",
    "examiner B": "a kettle under the stairs",
    "a reader": "lamps along the towpath",
}
ROLES = {"examiner A": "owner", "examiner B": "examiner", "a reader": "reader"}
NAMES_OF_ROLES = {role: name for name, role in ROLES.items()}


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
    life: TestClient | None = None
    """Whoever opened the bench, while it is open: its event loop serves every device."""

    def device(self, address: str = "192.0.2.7", name: str = "a telephone") -> TestClient:
        """A browser of its own on the shop's network."""
        device = TestClient(
            self.app,
            base_url=ADDRESS,
            client=(address, 50_000),
            follow_redirects=False,
            headers={"origin": ADDRESS, "user-agent": name, "accept": "text/html"},
        )
        if self.life is not None:
            device.portal = self.life.portal  # otherwise each request starts a thread and a loop
        return device

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
    return shared_of(with_accounts(make_shop(folder)))


def with_accounts(shop: Path) -> Path:
    """Open an account of each role in a shop."""
    sharing = shared_quickly(shop, now=Clock())
    for name, role in ROLES.items():
        sharing.add(name, role, PASSWORDS[name])
    sharing.close()
    return shop


def shared_of(shop: Path, hosts: tuple[str, ...] = ("bench.test",)) -> SharedShop:
    """The shared bench of a shop that has accounts; it starts with the first device."""
    turned = Clock()
    share = partial(shared_quickly, now=turned)
    return SharedShop(shop, create_app(shop, hosts=hosts, shared=SHARED, share=share), turned)


def opened(shared: SharedShop) -> TestClient:
    """The bench's life, to be entered as a context; sets the clock."""
    shared.life = TestClient(shared.app, base_url=ADDRESS)
    return shared.life


def paired(shop: SharedShop, desk: TestClient) -> TestClient:
    """Pair a telephone with a desk, as two people would."""
    desk.post("/pair")
    code = code_at(desk)
    phone = shop.device("192.0.2.44")
    assert phone.get(f"/pair/{code}").status_code == 200
    assert phone.post(f"/pair/{code}").headers["location"] == "/pairing"
    assert desk.post("/pair/desk/let-in", data={"check": digits_on(phone)}).status_code == 303
    assert phone.get("/pairing").headers["location"] == "/"
    return phone


def code_at(desk: TestClient) -> str:
    found = re.search(rf"{ADDRESS}/pair/([\w-]+)", desk.get("/pair").text)
    assert found is not None
    return found[1]


def digits_on(device: TestClient) -> str:
    found = re.search(r'class="check"[^>]*>(\d{4})<', device.get("/pairing").text)
    assert found is not None
    return found[1]


def routes(shared_app: object) -> list[tuple[str, str]]:
    """Every path and method of the bench, as the application knows them, with its API's."""
    screens = [one.router for one in (*SCREENS, *OPENING_SCREENS, *SHARED_SCREENS)]
    acts = acts_of(one.router for one in SCREENS)
    found = [
        (route.path, method)
        for router in (*screens, *ROUTERS, acts)
        for route in router.routes
        if isinstance(route, APIRoute)
        for method in sorted(route.methods)
    ]
    return [*found, ("/api.json", "GET")]


def filled(path: str) -> str:
    path = path.replace("{tag}", TAG)
    return re.sub(r"\{[^}]+\}", "x", path)
