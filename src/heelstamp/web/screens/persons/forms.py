"""Forms of the names that are kept."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from heelstamp.web.forms import Id, Line, Sent, Word


class Erased(Sent):
    """Whose name is erased."""

    person: Id


class Longer(Erased):
    """Until when a name is kept, and why."""

    until: Word
    reason: Line


class KeptFor(Sent):
    """How long names are kept and why: one value of each list a purpose; both blank as usual."""

    purpose: Annotated[list[Word], Field(max_length=10, default_factory=list)]
    days: Annotated[list[Word], Field(max_length=10, default_factory=list)]
    why: Annotated[list[Line], Field(max_length=10, default_factory=list)]

    @property
    def rows(self) -> dict[str, tuple[str, str]]:
        """Days and why by purpose."""
        told = zip(self.purpose, self.days, self.why, strict=False)
        return {purpose: (days, why) for purpose, days, why in told}
