"""Forms of the names that are kept."""

from __future__ import annotations

from heelstamp.web.forms import Id, Line, Sent, Word


class Erased(Sent):
    """Whose name is erased."""

    person: Id


class Longer(Erased):
    """Until when a name is kept, and why."""

    until: Word
    reason: Line
