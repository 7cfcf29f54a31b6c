"""The last entry of a hand can be taken back, from every screen."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Form
from fastapi.responses import Response
from pydantic import Field

from heelstamp.casework.taking_back import putting_back, taking_back
from heelstamp.web.at_bench import AtBench
from heelstamp.web.forms import Id, Sent, new_id

router = APIRouter()


class Undo(Sent):
    """Where the *last* entry is taken back from: the screen, and the part shown on it.

    A device that could not send it at once gives *id* and time.
    """

    screen: Annotated[str, Field(max_length=20)] = "first-look"
    part: Annotated[str, Field(max_length=40)] = ""
    last: Annotated[str, Field(max_length=64)] = ""
    id: Annotated[str, Field(max_length=64)] = ""
    made: Annotated[str, Field(max_length=40)] = ""


@router.post("/dossier/{tag}/undo")
def undo(here: AtBench, told: Annotated[Undo, Form()]) -> Response:
    """Take the last entry of this hand that stands back: it stays in the journal, withdrawn.

    Pressed again it takes back the one before, not the taking back.
    """
    id_ = told.id or new_id("c")
    last, entries = taking_back(here.state, here.hand, id_, named=told.last)
    here.enter(entries)
    return here.back(told.screen, part=told.part, taken=last)


class PutBack(Sent):
    """The entry that was taken back, and the screen it is put back from."""

    taken: Id
    screen: Annotated[str, Field(max_length=20)] = ""


@router.post("/dossier/{tag}/put-back")
def put_back(here: AtBench, told: Annotated[PutBack, Form()]) -> Response:
    """Let an entry stand again that this hand took back: the withdrawal is withdrawn."""
    here.enter(putting_back(here.state, here.hand, told.taken, new_id("c")))
    return here.back(told.screen)
