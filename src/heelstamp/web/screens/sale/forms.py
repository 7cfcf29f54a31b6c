"""Forms of Sale."""

from __future__ import annotations

from heelstamp.web.forms import EntryForm, Line, Prose, Word


class Step(EntryForm):
    """The next step of a sale."""

    event: Word
    day: Word = ""
    party: Line = ""
    amount: Word = ""
    of: Word = ""
    means: Word = ""
    until: Word = ""
    names: Word = ""
    lets: Word = ""
    note: Prose = ""


class Owner(EntryForm):
    """An owner: who they are to it, how that was seen, and when they signed."""

    role: Line
    identity: Line = ""
    ending: Word = ""
    acquired: Prose = ""
    liens: Prose = ""
    signed: Word = ""
