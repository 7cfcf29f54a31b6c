"""A shop with one simulated pair for the lamp, and what is true of it."""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from functools import cache
from pathlib import Path

from PIL import Image
from starlette.testclient import TestClient

from fakes.finish_moved import lit_from
from fakes.finish_simulator import Pair, simulate
from fakes.finish_surfaces import Planted
from fakes.web_shop import TAG, make_shop
from heelstamp.casework.dossier import attach_photograph
from heelstamp.shop import now, open_shop

WIDTH = 800
VISIBLE, UV = "f-seen", "f-glow"
LAMP = f"/dossier/{TAG}/uv-lamp"
PAIR = {"visible": VISIBLE, "uv": UV}


WORN = (
    Planted("touch-up", (-75, 90), (34, 24), 0.42, hue=0.2, visible=0.02, outline="ragged"),
    Planted("touch-up", (-60, 150), (24, 18), 0.50),
    Planted("fill", (75, 150), (14, 10), 1.9, hue=0.5),
)
"""Two dark places with a crisp border, which one frame tells, and a brighter one, left open."""


@cache
def worn(width: int = WIDTH) -> Pair:
    """A body with places that differ; drawn once."""
    return simulate(
        41,
        difficulty="easy",
        style="lozenge",
        finish="solid light",
        side="front",
        width=width,
        planted=WORN,
    )


@cache
def as_jpeg(*, uv: bool) -> bytes:
    """Write one photograph of the pair."""
    out = io.BytesIO()
    Image.fromarray(worn().uv if uv else worn().visible).save(out, "JPEG", quality=95)
    return out.getvalue()


def lit_jpeg(degrees: float) -> bytes:
    """Write the UV half under a lamp in a direction of the picture."""
    out = io.BytesIO()
    Image.fromarray(lit_from(worn(), degrees)).save(out, "JPEG", quality=95)
    return out.getvalue()


def lamp_shop(folder: Path, *, whole: bool = True, lamp: float | None = None) -> Path:
    """Make a shop whose guitar has the pair, or only its frame in ordinary light.

    With *lamp* the UV half has its light from there, in degrees of the picture.
    """
    shop = make_shop(folder)
    frames = [(VISIBLE, "uv-front-visible", "visible", False), (UV, "uv-front", "UV-A", True)]
    with open_shop(shop) as opened:
        for id_, slot, light, uv in frames[: 2 if whole else 1]:
            details = {
                "id": id_,
                "name": f"{id_}.jpg",
                "slot": slot,
                "light": light,
                "part": "finish",
                "simulated": True,
            }
            data = as_jpeg(uv=uv) if lamp is None or not uv else lit_jpeg(lamp)
            attach_photograph(opened, TAG, data, details, at=now(), by="examiner A")
    return shop


def drawing() -> str:
    """What a careful person draws on the pair."""
    pair = worn()
    return json.dumps(
        {
            "outline": pair.outline.tolist(),
            "parts": [{"name": name, "polygon": one.tolist()} for name, one in pair.parts],
            "ruler": [100, 100, 100 + 100 * pair.px_per_mm, 100, 100],
            "greys": [[*map(float, pair.grey), pair.grey_reflectance]],
        }
    )


def compared(
    bench: TestClient, marks: str = "", *, pair: Mapping[str, str] = PAIR, **more: str
) -> str:
    """Compare a pair and wait for the answer; give the page."""
    begun = bench.post(f"{LAMP}/compare", data={**pair, "marks": marks, **more})
    assert begun.status_code == 200, begun.text
    jobs = bench.app.state.shop.jobs  # type: ignore[attr-defined]
    job = jobs.at("compare", TAG, (pair["visible"], pair["uv"]))
    assert job is not None
    assert jobs.wait(job, 600).finished, "the comparison did not end"
    return bench.get(LAMP, params=dict(pair)).text
