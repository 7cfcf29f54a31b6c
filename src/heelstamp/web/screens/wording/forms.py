"""Forms of Wording."""

from __future__ import annotations

from heelstamp.web.forms import EntryForm, Line, Word


class Choice(EntryForm):
    """Another word for a sentence."""

    statement: Word
    word: Word
    reason: Line = ""
