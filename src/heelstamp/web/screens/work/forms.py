"""Forms of Work."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from heelstamp.web.forms import EntryForm, Ids, Line, Prose, Real, Word


class Treatment(EntryForm):
    """What was done; what was written in words goes before what was chosen."""

    act: Word
    part: Word
    reversible: bool
    reason: Line = ""
    other_reason: Line = ""
    material: Word = ""
    other_material: Word = ""
    amount: Word = ""
    other_amount: Word = ""
    minutes: Annotated[Real, Field(ge=0, le=6000)] = 0.0
    before: Ids = Field(default_factory=list)
    after: Ids = Field(default_factory=list)
    note: Prose = ""
    public: bool = False

    @property
    def told(self) -> dict[str, Any]:
        """The treatment, without its evidence."""
        own = {
            name: getattr(self, f"other_{name}").strip() or getattr(self, name)
            for name in ("reason", "material", "amount")
        }
        named = ("act", "part", "reversible", "minutes", "note")
        return own | {name: getattr(self, name) for name in named}
