"""Form of Own record."""

from __future__ import annotations

from typing import Literal

from heelstamp.errors import InputError
from heelstamp.units import Period
from heelstamp.web.forms import EntryForm, Line, Typed, Word


class Later(EntryForm):
    """What became known of the date, or of a part."""

    about: Word
    fitted_first: Literal["", "yes", "no"] = ""
    first: Typed = ""
    last: Typed = ""
    source: Line

    @property
    def original(self) -> bool | None:
        """Whether a part was fitted first; None of the date."""
        return None if self.fitted_first == "" else self.fitted_first == "yes"

    @property
    def months(self) -> Period | None:
        """The months that the date can have been; None of a part.

        Raises
        ------
        InputError
            They cannot be read, or the last is given alone.
        """
        first, last = self.first.strip(), self.last.strip()
        if last and not first:
            raise InputError(
                "a last month needs a first",
                where="field First month",
                remedy="Write both, or the same month twice.",
            )
        return Period.parse([first, last or first], where="field First month") if first else None
