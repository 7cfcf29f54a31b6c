"""Forms of First look."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from heelstamp.casework.looking import Look
from heelstamp.web.forms import BasedForm, Line, Word, new_id


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
