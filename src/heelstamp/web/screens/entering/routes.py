"""The last entry of a hand can be taken back, from every screen."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response
from pydantic import Field

from heelstamp.casework.taking_back import taking_back
from heelstamp.web.at_bench import AtBench
from heelstamp.web.forms import Sent, new_id

router = APIRouter()


class Undo(Sent):
    """Where the last entry is taken back from: the screen, and the part shown on it."""

    screen: Annotated[str, Field(max_length=20)] = "first-look"
    part: Annotated[str, Field(max_length=40)] = ""


@router.post("/dossier/{tag}/undo")
def undo(here: AtBench, told: Annotated[Undo, Form()]) -> Response:
    """Take the last entry of this hand that stands back: it stays in the journal, withdrawn.

    Pressed again it takes back the one before, not the taking back.
    """
    last, acts = taking_back(here.state, here.hand, new_id("c"))
    here.enter(acts)
    return here.back(told.screen, part=told.part, taken=last)
