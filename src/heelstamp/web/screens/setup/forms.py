"""Forms of Setup."""

from __future__ import annotations

from typing import Literal

from heelstamp.web.forms import EntryForm, Line, Prose, Typed, Whole, Word


class Reading(EntryForm):
    """A number read of a *measure*, in one *column* of before, plan and after."""

    measure: Word
    column: Word
    value: Typed
    tool: Word = ""
    note: Prose = ""
    public: bool = False


class StringSet(EntryForm):
    """The set as found, or the new one; *take* is where the wheel stood."""

    which: Word
    value: Line
    take: Word = ""


class RodStep(EntryForm):
    """A step of the truss rod, with the relief read after it."""

    turns: Typed
    way: Word
    relief: Typed
    felt: Word = "nothing"


class SaddlesSet(EntryForm):
    """The saddles set, with the action read after it."""

    saddle_treble: Typed
    saddle_bass: Typed
    action_treble: Typed
    action_bass: Typed


class FretRows(EntryForm):
    """Sizes of all frets under three strings, as rows of numbers from the nut on.

    Attributes
    ----------
    page
        Where they were typed, and what is shown next.
    """

    quantity: Word
    tool: Word = "calliper"
    stage: Word = "found"
    treble: Line = ""
    middle: Line = ""
    bass: Line = ""
    strings: Whole = 6
    page: Literal["setup", "setup/frets"] = "setup"

    def rows(self) -> dict[int, str]:
        """Name each row by the string that it was read under."""
        middle = (self.strings + 1) // 2
        named = {1: self.treble, middle: self.middle, self.strings: self.bass}
        return {string: row for string, row in named.items() if row.strip()}


class JackReadings(EntryForm):
    """The readings of one pickup at the output jack."""

    part: Word
    full: Typed
    sweep: Typed
    temperature: Typed
    zero: Typed = ""
    stage: Word = "found"
