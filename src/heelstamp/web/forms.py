"""Fields that forms of several screens share, and the way back to a screen.

An answer to a form is always the page it belongs to: a browser without scripts follows to it, the
page's own script takes from it the region that the form names.
"""

from __future__ import annotations

import re
from typing import Annotated
from urllib.parse import quote, urlencode
from uuid import uuid4

from fastapi import Form
from fastapi.responses import RedirectResponse
from pydantic import BeforeValidator

from heelstamp.casework.new_entry import Slip
from heelstamp.shop import now
from heelstamp.web.paths import screen_path

Word = Annotated[str, Form(max_length=100)]
Line = Annotated[str, Form(max_length=400)]
Prose = Annotated[str, Form(max_length=4000)]
Id = Annotated[str, Form(max_length=64)]
Made = Annotated[str, Form(max_length=40)]


def _with_point(told: object) -> object:
    """Read a decimal comma as a point: ``21,5``."""
    return re.sub(r"^(\s*[-+]?\d+),(\d+\s*)$", r"\1.\2", told) if isinstance(told, str) else told


Number = Annotated[float | None, BeforeValidator(_with_point), Form(allow_inf_nan=False)]
Ids = Annotated[list[str], Form(max_length=60)]


def new_id(letter: str) -> str:
    """Give an id that no other device gives: a letter and 40 random bits."""
    return f"{letter}-{uuid4().hex[:10]}"


def slip(letter: str, id_: str, made: str) -> Slip:
    """Give what the device says of an entry, with an id where it gave none."""
    return Slip(id_ or new_id(letter), made, now())


def back(tag: str, screen: str, **asked: str) -> RedirectResponse:
    """Send the browser to a screen."""
    told = {key: one for key, one in asked.items() if one}
    path = screen_path(quote(tag), screen)
    return RedirectResponse(path + (f"?{urlencode(told)}" if told else ""), 303)


Base = Annotated[str, Form(pattern=r"^[0-9]{0,9}$")]
"""Length of the journal when the question was shown; empty enters whatever stands."""


def base_of(base: str) -> int | None:
    """Read a base."""
    return int(base) if base else None
