"""Forms of Questions."""

from __future__ import annotations

from heelstamp.web.forms import EntryForm, Line


class Asked(EntryForm):
    """A question, by its id or in the buyer's words."""

    ask: Line


class Task(Asked):
    """A question that becomes a task, or is *done*."""

    done: bool = False
