"""What a chronology holds once it was read: its rows, in the order of the document."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from heelstamp.chronology.records import (
    AccessRow,
    AssemblyRow,
    BatchRow,
    ExceptionRow,
    FeatureRow,
    Grid,
    HistoryClass,
    InspectionRow,
    OpeningRow,
    PartRow,
    PlacesTable,
    Prior,
    ScrewsTable,
    SerialTable,
    SetRow,
    SignRow,
    SourceCodeRow,
    Span,
    TimingTable,
    Writing,
)
from heelstamp.units import MonthGrid


@dataclass(frozen=True)
class Chronology:
    """A chronology that was read.

    Attributes
    ----------
    document
        Name of the file, for errors.
    words
        What to call features, signs, variants and outcomes on paper, by id.
    digest
        SHA-256 of the document's canonical JSON: the edition a finding rests on.
    """

    document: str = field(compare=False)
    id: str
    edition: str
    kind: str
    maker: str
    model: str
    invented: bool
    note: str
    production: Span
    grid: Grid
    prior: Prior
    timing: TimingTable
    serial: SerialTable | None
    history: tuple[HistoryClass, ...]
    assemblies: tuple[AssemblyRow, ...]
    openings: tuple[OpeningRow, ...]
    sets: tuple[SetRow, ...]
    careful: Mapping[str, float]
    screws: ScrewsTable
    places: PlacesTable | None
    parts: tuple[PartRow, ...]
    batches: tuple[BatchRow, ...]
    features: tuple[FeatureRow, ...]
    exceptions: tuple[ExceptionRow, ...]
    writings: tuple[Writing, ...]
    source_codes: tuple[SourceCodeRow, ...]
    signs: tuple[SignRow, ...]
    accesses: tuple[AccessRow, ...]
    inspections: tuple[InspectionRow, ...]
    group_failure: Mapping[str, float]
    words: Mapping[str, str]
    digest: str

    @property
    def completion(self) -> MonthGrid:
        """Months on which completion is dated."""
        return MonthGrid.parse(*self.grid.completion)

    @property
    def marks(self) -> MonthGrid:
        """Months in which a part may have been made."""
        return MonthGrid.parse(*self.grid.marks)

    def feature(self, id_: str) -> FeatureRow | None:
        """Find a feature by its id or one of its other ids."""
        for row in self.features:
            if id_ == row.id or id_ in row.also:
                return row
        return None

    def sign(self, id_: str) -> SignRow | None:
        """Find a sign by its id."""
        return next((row for row in self.signs if row.id == id_), None)
