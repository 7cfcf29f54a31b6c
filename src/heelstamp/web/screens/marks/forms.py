"""Forms of Marks."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from heelstamp.web.forms import BasedForm, EntryForm, Id, Ids, Line, Word

READINGS_MAX = 60


class Reading(BasedForm):
    """What a mark says, or that it says nothing."""

    mark: Id = ""
    part: Word = ""
    frame: Id = ""
    status: Word = "read"
    text: Line = ""


class Weighing(BasedForm):
    """A person's own readings of a mark: one *only*, or several with weights."""

    mark: Id
    period: Ids
    weight: Annotated[list[float], Field(max_length=READINGS_MAX)]
    only: Word = ""

    @property
    def weights(self) -> dict[str, float]:
        """Weight in per cent by period."""
        return (
            {self.only: 100.0} if self.only else dict(zip(self.period, self.weight, strict=False))
        )


class SecondReading(EntryForm):
    """What a second person reads, before the first reading is shown to them."""

    mark: Id
    status: Word = "read"
    text: Line = ""
