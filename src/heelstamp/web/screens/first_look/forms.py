"""Forms of First look."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from heelstamp.casework.looking import Look
from heelstamp.web.forms import BasedForm, Line, Word, new_id


class DoubtfulCharacter(BasedForm):
    """A character of a serial number that could be another, as ``1:4``; empty takes doubts back."""

    number: Word
    part: Annotated[str, Field(max_length=40)] = ""
    other: Annotated[str, Field(pattern=r"^([0-9]{1,2}:.)?$", max_length=4)] = ""
    likely: Word = "as likely"

    def told(self) -> dict[str, Any]:
        """What `doubt_entries` takes."""
        place, _, other = self.other.partition(":")
        return {
            "number": self.number,
            "place": int(place or 0),
            "other": other,
            "likely": self.likely,
            "base": self.seen_at,
        }


class Seen(BasedForm):
    """What was seen of a part.

    Attributes
    ----------
    shown
        The part whose questions are shown, where the answer belongs to another.
    """

    part: Annotated[str, Field(max_length=40)]
    kind: Annotated[str, Field(max_length=20)]
    status: Annotated[str, Field(max_length=20)]
    subject: Word = ""
    value: Line = ""
    shown: Annotated[str, Field(max_length=40)] = ""

    @property
    def look(self) -> Look:
        """The look that is entered."""
        return Look(
            self.part,
            self.kind,
            self.status,
            self.subject,
            self.value,
            self.id or new_id("o"),
            self.made,
        )
