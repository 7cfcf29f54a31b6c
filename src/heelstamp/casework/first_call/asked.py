"""What is asked of an owner: frames, questions, what to leave alone; one document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any

import msgspec

from heelstamp.archive import digest_of
from heelstamp.catalogue.conversion import convert, nearest
from heelstamp.errors import InputError

FIRST_CALL_SCHEMA = "heelstamp/first-call/1"
FEATURE = "feature."
"""Begins the key of a question about a feature that can be seen from outside."""
DONT_KNOW = "I cannot tell"

Chance = Annotated[float, msgspec.Meta(gt=0.0, lt=1.0)]
Above = Annotated[float, msgspec.Meta(gt=0.0)]


class FrameAsked(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A picture that is asked for.

    Attributes
    ----------
    slot
        Slot of the photo plan that shows the same.
    label, how
        What it shows and how to take it, for a layman.
    across_mm, px_per_mm
        What the longer side holds when it is framed as asked, and how fine it must be.
    whole
        Whether all of the subject must lie within the picture.
    """

    slot: str
    label: str
    how: str
    across_mm: Above
    px_per_mm: Above
    whole: bool = False


class Question(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A question; *choices* are its answers, or any words without."""

    key: str
    label: str
    help: str = ""
    choices: list[str] = []


class AsTold(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """Chances that what an owner tells is so; judgement, no source."""

    serial: Chance
    feature: Chance


class _Document(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    schema: str
    days: Annotated[int, msgspec.Meta(ge=1)]
    most_days: Annotated[int, msgspec.Meta(ge=1, le=90)]
    most_pictures: Annotated[int, msgspec.Meta(ge=1, le=200)]
    leave: list[str]
    how: list[str]
    as_told: AsTold
    frame: list[FrameAsked]
    question: list[Question]


@dataclass(frozen=True)
class Asked:
    """What is asked of an owner.

    Attributes
    ----------
    days, most_days
        How long a link stands, usually and at most.
    most_pictures
        Pictures that one call takes.
    leave, how
        What to leave alone, and how to take pictures: the first message.
    digest
        Of the document.
    """

    days: int
    most_days: int
    most_pictures: int
    leave: tuple[str, ...]
    how: tuple[str, ...]
    as_told: AsTold
    frames: tuple[FrameAsked, ...]
    questions: tuple[Question, ...]
    digest: str

    def frame(self, slot: str, *, where: str = "frame") -> FrameAsked:
        """The frame of a slot.

        Raises
        ------
        InputError
            None is asked for by this name; names the likeliest.
        """
        known = {one.slot: one for one in self.frames}
        if slot not in known:
            raise InputError(
                "no frame that is asked for",
                where=where,
                received=slot,
                remedy=nearest(slot, known),
            )
        return known[slot]


def parse_asked(data: Mapping[str, Any], *, where: str) -> Asked:
    """Read the document from plain values.

    Raises
    ------
    InputError
        Another schema, unknown or missing fields, two frames of one slot or questions of one key.
    """
    told = convert(data, _Document, where=where)
    if told.schema != FIRST_CALL_SCHEMA:
        raise InputError(
            "not a document of the first call that this program reads",
            where=f"{where}, field schema",
            received=told.schema,
            remedy=f'Write schema = "{FIRST_CALL_SCHEMA}".',
        )
    for names in ([one.slot for one in told.frame], [one.key for one in told.question]):
        twice = sorted({one for one in names if names.count(one) > 1})
        if twice:
            raise InputError(
                "asked for twice", where=where, received=twice[0], remedy="Ask for it once."
            )
    return Asked(
        told.days,
        told.most_days,
        told.most_pictures,
        tuple(told.leave),
        tuple(told.how),
        told.as_told,
        tuple(told.frame),
        tuple(told.question),
        digest_of(dict(data)),
    )
