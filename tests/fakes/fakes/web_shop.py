"""A shop with one guitar in it, and its bench without a browser."""

from __future__ import annotations

import io
import re
import shutil
from pathlib import Path

from PIL import Image, ImageDraw
from starlette.testclient import TestClient

from heelstamp.casework.dossier import open_with, state_of
from heelstamp.catalogue import DossierState
from heelstamp.shop import create_shop, now
from heelstamp.web import create_app

TAG = "W-0001"
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": TAG,
}


def make_shop(folder: Path, *, key_of: Path | None = None) -> Path:
    """Make a shop with one dossier and nothing else in it; *key_of* is a shop whose key it gets."""
    shop = folder / "shop"
    with create_shop(shop, name="Bench test", currency="USD") as opened:
        open_with(opened, [("instrument", INSTRUMENT)], at=now(), by="examiner A")
    if key_of is not None:
        shutil.rmtree(shop / "key")
        shutil.copytree(key_of / "key", shop / "key")
    return shop


def bench_of(shop: Path) -> TestClient:
    """A client of the shop's bench."""
    return TestClient(create_app(shop), base_url="http://localhost:8756")


def flat(page: str) -> str:
    """A page without the breaks between its lines and its elements."""
    return re.sub(r"> <", "><", re.sub(r"\s+", " ", page))


def state_in(bench: TestClient) -> DossierState:
    """What stands of the guitar."""
    return state_of(bench.app.state.shop, TAG)  # type: ignore[attr-defined]


def jpeg(width: int = 640, height: int = 480, shade: int = 120) -> bytes:
    """Draw a photograph with edges in it."""
    picture = Image.new("RGB", (width, height), (shade, shade, shade))
    drawn = ImageDraw.Draw(picture)
    for left in range(0, width, 40):
        drawn.rectangle((left, 0, left + 18, height), fill=(230, 225, 210))
    written = io.BytesIO()
    picture.save(written, "JPEG", quality=90)
    return written.getvalue()


def add_frame(bench: TestClient, slot: str, shade: int = 120, **told: str) -> str:
    """Add a photograph by the bench's own form; give its id."""
    id_ = f"f-{slot}-{shade}"
    answer = bench.post(
        f"/dossier/{TAG}/photographs",
        data={"slot": slot, "id": id_, **told},
        files={"photo": (f"{slot}.jpg", jpeg(shade=shade), "image/jpeg")},
    )
    assert answer.status_code == 200, answer.text
    return id_


def let_pass(bench: TestClient, step: str) -> None:
    """Let a hand-over pass without a sale, as the owner of the shop may."""
    told = {"event": "override", "lets": step, "note": "on approval, no sale yet"}
    answer = bench.post(f"/dossier/{TAG}/sale/step", data=told)
    assert answer.status_code == 200, answer.text
