"""Forms of Enquiries."""

from __future__ import annotations

from pydantic import Field

from heelstamp.web.forms import EntryForm, Ids, Line, Prose, Word


class Said(EntryForm):
    """One thing of a talk; name and address are kept apart from the journal."""

    party: Line
    event: Word
    day: Word = ""
    text: Prose = ""
    amount: Word = ""
    said_by: Word = ""
    on: Word = ""
    before: Ids = Field(default_factory=list)
    after: Ids = Field(default_factory=list)
    note: Prose = ""
    name: Line = ""
    contact: Line = ""


class Answered(EntryForm):
    """Whose oldest open question is answered from the findings."""

    party: Line
