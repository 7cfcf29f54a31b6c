"""Form of New dossier."""

from __future__ import annotations

from heelstamp.web.forms import EntryForm, Line, Word


class Opening(EntryForm):
    """What is known of an instrument before anything is looked at."""

    chronology: Word
    tag: Word
    kind: Word = ""
    maker: Word = ""
    model: Word = ""
    claimed: Line = ""
