"""What the forms of all screens share: the kinds of field, and what a device says of an entry.

A screen names its forms as models in its own ``forms.py``. The fields of a form are the arguments
of the act that it enters, so that no route lists them again.
"""

from __future__ import annotations

import re
from typing import Annotated, Any
from uuid import uuid4

from pydantic import BaseModel, BeforeValidator, Field, model_validator

from heelstamp.casework.new_entry import EntryStamp
from heelstamp.shop import now

Word = Annotated[str, Field(max_length=100)]
Line = Annotated[str, Field(max_length=400)]
Prose = Annotated[str, Field(max_length=4000)]
Id = Annotated[str, Field(max_length=64)]
Ids = Annotated[list[str], Field(max_length=60)]
Typed = Annotated[str, Field(max_length=24)]
"""A number as a person or the wheel writes it, in the unit of the device."""
Base = Annotated[str, Field(pattern=r"^[0-9]{0,9}$")]
"""Length of the journal when the question was shown; empty enters whatever stands."""
Digest = Annotated[str, Field(pattern="^([0-9a-f]{64})?$")]
"""SHA-256 of the text that was shown to be changed."""
Whole = Annotated[int, Field(ge=0, le=100_000)]
Real = Annotated[float, Field(allow_inf_nan=False)]


def with_point(told: object) -> object:
    """Read a decimal comma as a point: ``21,5``."""
    return re.sub(r"^(\s*[-+]?\d+),(\d+\s*)$", r"\1.\2", told) if isinstance(told, str) else told


Humidity = Annotated[Annotated[Real, Field(gt=0, le=100)] | None, BeforeValidator(with_point)]
"""Relative humidity in %; a bound on what may be null stands inside, for null is held to none."""
Number = Annotated[Real | None, BeforeValidator(with_point)]


class Sent(BaseModel):
    """A form as it was sent. A field that was left empty is one that was not sent."""

    @model_validator(mode="before")
    @classmethod
    def _filled_in(cls, told: dict[str, Any]) -> dict[str, Any]:
        return {name: value for name, value in told.items() if value != ""}

    def fields(self, *apart: str) -> dict[str, Any]:
        """Name every field with its value, but those of the device and those set *apart*."""
        return self.model_dump(exclude={"id", "made", *apart})


class EntryForm(Sent):
    """A form that makes an entry.

    Attributes
    ----------
    id
        Given by the device, so that what it sends twice is entered once.
    made
        When the device took the entry, if it could not be sent then.
    """

    id: Id = ""
    made: Annotated[str, Field(max_length=40)] = ""

    def stamp(self, letter: str) -> EntryStamp:
        """Return id and times of the entry, with an id of *letter* where the device gave none."""
        return EntryStamp(self.id or new_id(letter), self.made, now())


class BasedForm(EntryForm):
    """A form whose question must not have been answered by another device since it was shown."""

    base: Base = ""

    @property
    def seen_at(self) -> int | None:
        """Length of the journal when the question was shown; None for whatever stands."""
        return int(self.base) if self.base else None


def new_id(letter: str) -> str:
    """Return an id that no other device gives: a letter and 40 random bits."""
    return f"{letter}-{uuid4().hex[:10]}"
