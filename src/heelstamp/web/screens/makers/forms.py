"""Forms of Makers: each writes a new edition of a chronology."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import Field

from heelstamp.chronology.blank import KnownOfMaker
from heelstamp.chronology.editing import pairs_of
from heelstamp.web.forms import Digest, Line, Number, Prose, Real, Sent, Whole, Word


class Begun(Sent):
    """A chronology of another maker, begun as a copy of one *like* it."""

    name: Word
    like: Word
    maker: Word
    model: Word


class Blank(Sent):
    """A blank chronology of a maker of one's own: what is known of it in five minutes."""

    name: Word
    kind: Word
    maker: Word
    model: Word
    first: Word
    last: Word
    points: Prose = ""
    serial_part: Word = ""
    changes: Prose = ""
    lots: Word = "sometimes"
    note: Line = ""

    @property
    def known(self) -> KnownOfMaker:
        """What is known of the maker."""
        return KnownOfMaker(**self.fields("name", "kind"))


class Edit(Sent):
    """A change of a chronology: the text it was shown from, and the new edition's name."""

    base: Digest = ""
    edition: Word = ""


class WholeText(Edit):
    """The whole text of a chronology."""

    text: Annotated[str, Field(max_length=900_000)]


class Change(Edit):
    """What was seen of one change-over of a feature, or of one that came and went."""

    feature: Word
    place: Annotated[int, Field(ge=0, le=1000)] = 0
    first: Word = ""
    last: Word = ""
    width: Number = None
    share: Number = None
    source: Line = ""
    unlearn: bool = False

    def told(self, *, batch: bool) -> dict[str, Any]:
        """Return the row as the document names it; *batch* for one that came and went."""
        told: dict[str, Any] = {
            "first" if batch else "first_new": self.first.strip(),
            "last" if batch else "last_old": self.last.strip(),
            "edge" if batch else "width": self.width,
            "source": self.source.strip() or None,
        }
        if batch:
            told["share"] = self.share
        if self.unlearn:
            told["learned"] = None
        return told


class Feature(Edit):
    """One feature more."""

    feature: Word
    called: Line
    part: Word
    old: Line
    fresh: Line
    first: Word
    last: Word
    seen_from: Word
    retrofit: Word = "easy"
    source: Line = ""

    @property
    def row(self) -> dict[str, Any]:
        """The row as the document names it."""
        return {
            "id": self.feature.strip(),
            "name": self.called.strip(),
            "parts": [self.part.strip()],
            "variants": [self.old.strip(), self.fresh.strip()],
            "change": [{"first_new": self.first.strip(), "last_old": self.last.strip()}],
            "retrofit": self.retrofit,
            "seen_from": self.seen_from.strip(),
            "source": self.source.strip() or None,
        }


class RowEdit(Edit):
    """A row that is set at its *place*, added without one, or taken *out*."""

    place: Whole | None = None
    out: bool = False


class CurvePoint(RowEdit):
    """A point of the serial curve."""

    prefix: Word = ""
    number: Annotated[int, Field(ge=0, le=10**12)] = 0
    month: Word = ""

    @property
    def row(self) -> dict[str, Any]:
        """The row as the document names it."""
        return {"prefix": self.prefix.strip(), "number": self.number, "month": self.month.strip()}


class Lot(RowEdit):
    """Parts of one lot, by comma."""

    parts: Line = ""
    share: Number = None

    @property
    def row(self) -> dict[str, Any]:
        """The row as the document names it."""
        parts = [one.strip() for one in self.parts.split(",") if one.strip()]
        return {"parts": parts, "share": self.share}


class Exceptional(RowEdit):
    """Where a feature does not hold."""

    feature: Word = ""
    said: Line = ""

    @property
    def row(self) -> dict[str, Any]:
        """The row as the document names it."""
        return {"text": self.said.strip(), "feature": self.feature.strip()}


class Serials(Edit):
    """Scatter of the serial curve in months, and the numbers stamped twice."""

    spread: Real
    duplicated: Prose = ""
    source: Line = ""

    @property
    def row(self) -> dict[str, Any]:
        """The table as the document names it."""
        return {
            "spread_months": self.spread,
            "duplicated": pairs_of(self.duplicated),
            "source": self.source.strip(),
        }


class Production(Edit):
    """First and last month in which instruments were completed."""

    first: Word
    last: Word

    @property
    def row(self) -> dict[str, Any]:
        """The table as the document names it."""
        return {"first": self.first.strip(), "last": self.last.strip()}


class Delay(Edit):
    """From the making of a part to completion, months; without a *part*, of those without theirs.

    *shared* takes away what the part has of its own.
    """

    part: Word = ""
    shared: bool = False

    mean: Real
    sd: Real
    tail_weight: Real
    tail_max: Annotated[int, Field(ge=0, le=10_000)]

    @property
    def row(self) -> dict[str, Any]:
        """The table as the document names it."""
        return {"lag": self.fields("base", "edition", "part", "shared")}
