"""The showing page: one HTML file that needs nothing else, from a stick on any phone.

Pictures and sounds stand in it as data; its policy names the one script and the one style by their
digest and forbids every connection (W3C Content Security Policy Level 3), so that it does the same
without a network. It reads whole without the script, which adds zooming and the wipe. Pictures are
made smaller together until the file keeps its bound.
"""

from __future__ import annotations

import base64
import hashlib
import io
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup
from PIL import Image

from heelstamp.casework.listing.composing import price_line
from heelstamp.casework.listing.showing import ShowingPage
from heelstamp.errors import LimitError
from heelstamp.report.finish_pictures import PAPER_HALF
from heelstamp.report.timeline import PAPER, TELEPHONE, timeline_alt, timeline_svg
from heelstamp.wording import about_listing as about

MOST_BYTES = 8_000_000
"""Of the whole file, its signature included."""
SIGNATURE_ROOM = 6_000
EDGES_PX = (1600, 1400, 1200, 1000, 850, 700, 560, 440, 320)
"""Longer edges of the pictures, tried in turn."""
QUALITY = 80
LAYOUTS = (PAPER, TELEPHONE)
"""Of the picture of the date; the page shows the one that the screen has room for."""
SAID = "said"
"""Id of the element that holds the page's sentences as JSON."""
_TEMPLATES = Path(__file__).parent / "templates"


def render_showing(
    page: ShowingPage,
    *,
    pictures: Mapping[str, bytes],
    pairs: Mapping[str, bytes],
    sounds: Mapping[str, bytes],
    said: Mapping[str, Any],
    signed: str,
) -> bytes:
    """Write the page.

    Parameters
    ----------
    pictures
        Photographs by their name in what leaves: upright, boxes filled, pixels only.
    pairs
        Pictures of pairs by key, visible on the left and UV-A laid over it on the right.
    sounds
        FLAC files by the id of the recording.
    said
        The listing's data, which travel inside.
    signed
        What the page says of its version and key.

    Raises
    ------
    LimitError
        It is larger than `MOST_BYTES` however small the pictures are.
    """
    halves = {key: _halves(data) for key, data in pairs.items()}
    for edge in EDGES_PX:
        shown = {
            frame: _uri("image/jpeg", _reduced(data, edge)) for frame, data in pictures.items()
        }
        made = _written(page, shown=shown, halves=halves, sounds=sounds, said=said, signed=signed)
        if len(made) + SIGNATURE_ROOM <= MOST_BYTES:
            return made
    raise LimitError(
        "a showing page that is too large",
        received=f"{len(made) / 1e6:.1f} MB",
        remedy="Release fewer recordings, or keep some photographs with the shop.",
    )


def said_in(page: bytes) -> dict[str, Any]:
    """Return the listing's data that travel in a page; empty where there are none."""
    begin = page.find(f'<script type="application/json" id="{SAID}">'.encode())
    end = page.find(b"</script>", begin)
    if begin < 0 or end < 0:
        return {}
    found = json.loads(page[page.index(b">", begin) + 1 : end])
    return found if isinstance(found, dict) else {}


def _written(
    page: ShowingPage,
    *,
    shown: Mapping[str, str],
    halves: Mapping[str, tuple[str, str]],
    sounds: Mapping[str, bytes],
    said: Mapping[str, Any],
    signed: str,
) -> bytes:
    script = (_TEMPLATES / "showing.js").read_text("utf-8")
    style = (_TEMPLATES / "showing.css").read_text("utf-8")
    line = page.timeline
    text = (
        _environment()
        .get_template("showing.html")
        .render(
            page=page,
            listing=page.listing,
            words=about,
            price=price_line(page.listing.offer),
            shown=shown,
            halves=halves,
            sounds={one: _uri("audio/flac", data) for one, data in sounds.items()},
            timelines=[Markup(timeline_svg(line, one)) for one in LAYOUTS]  # noqa: S704 - escaped
            if line
            else [],
            timeline_alt=timeline_alt(line) if line else "",
            said=Markup(_plain_json(said)),  # noqa: S704 - every angle bracket is written by number
            said_id=SAID,
            signed=signed,
            script=Markup(script),  # noqa: S704 - our own file
            style=Markup(style),  # noqa: S704 - our own file
            script_digest=_digest(script),
            style_digest=_digest(style),
        )
    )
    return text.encode()


def _environment() -> Environment:
    return Environment(
        loader=FileSystemLoader(_TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )


def _plain_json(said: Mapping[str, Any]) -> str:
    text = json.dumps(said, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _digest(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()


def _uri(kind: str, data: bytes) -> str:
    return f"data:{kind};base64,{base64.b64encode(data).decode()}"


def _reduced(data: bytes, edge: int) -> bytes:
    with Image.open(io.BytesIO(data)) as opened:
        opened.draft("RGB", (edge, edge))
        picture = opened.convert("RGB")
    picture.thumbnail((edge, edge), Image.Resampling.LANCZOS)
    return _jpeg(picture)


def _halves(pair: bytes) -> tuple[str, str]:
    """Cut the picture of a pair in two."""
    with Image.open(io.BytesIO(pair)) as opened:
        both = opened.convert("RGB")
    half = min(PAPER_HALF, both.width // 2)
    left = both.crop((0, 0, half, both.height))
    right = both.crop((both.width - half, 0, both.width, both.height))
    return _uri("image/jpeg", _jpeg(left)), _uri("image/jpeg", _jpeg(right))


def _jpeg(picture: Image.Image) -> bytes:
    clean = Image.frombytes("RGB", picture.size, picture.tobytes())
    out = io.BytesIO()
    clean.save(out, "JPEG", quality=QUALITY)
    return out.getvalue()
