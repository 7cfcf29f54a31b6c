"""The state that a dossier's journal leaves: what stands, when it was entered, what dangles.

Made by `heelstamp.catalogue.folding`, which has the rules.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeVar

from heelstamp.catalogue.bodies.intake import Consent, Contents, Custody, Instrument, Statement
from heelstamp.catalogue.bodies.measurement import Measurement
from heelstamp.catalogue.bodies.media import Photograph, Recording
from heelstamp.catalogue.bodies.observation import Observation
from heelstamp.catalogue.bodies.report import Decision, Unconverted
from heelstamp.catalogue.bodies.work import Screw, Treatment
from heelstamp.catalogue.consent import Leave, leave_for
from heelstamp.catalogue.corrections import Version
from heelstamp.catalogue.entries import Body, Correction, Said, body_id

B = TypeVar("B", bound=Said)
_NOTHING: Mapping[str, Any] = {}


@dataclass(frozen=True, slots=True)
class Entered:
    """When and by whom an id was first entered; time and hand are empty outside a journal."""

    seq: int
    at: str
    by: str


@dataclass(frozen=True, slots=True)
class Dangling:
    """A standing entry that names something withdrawn since."""

    id: str
    field: str
    names: str


@dataclass(frozen=True, slots=True)
class DossierState:
    """What stands in a dossier after its last entry; each mapping is in the order of entry.

    Attributes
    ----------
    others
        By type, what stands of every kind that has no mapping of its own here; ask `of`.
    unconverted
        Entries of form 1 that could not be converted.
    corrections
        All corrections ever made, also those undone.
    history
        By id, everything ever said of it, oldest first.
    custody_state
        One of `heelstamp.catalogue.custody.STATES`.
    dangling
        References to things withdrawn since.
    length, head
        Number of entries and the digest of the last; 0 and empty outside a journal.
    """

    instrument: Instrument
    observations: Mapping[str, Observation]
    measurements: Mapping[str, Measurement]
    treatments: Mapping[str, Treatment]
    photographs: Mapping[str, Photograph]
    recordings: Mapping[str, Recording]
    consents: Mapping[str, Consent]
    custody: Mapping[str, Custody]
    contents: Mapping[str, Contents]
    statements: Mapping[str, Statement]
    decisions: Mapping[str, Decision]
    screws: Mapping[str, Screw]
    others: Mapping[type, Mapping[str, Any]]
    unconverted: Mapping[str, Unconverted]
    corrections: Mapping[str, Correction]
    history: Mapping[str, tuple[Version, ...]]
    entered: Mapping[str, Entered]
    custody_state: str
    dangling: tuple[Dangling, ...]
    length: int
    head: str

    def leave(self, act: str) -> Leave:
        """Where the owner stands on *act*."""
        return leave_for(act, self.consents.values())

    def of(self, kind: type[B]) -> Mapping[str, B]:
        """Find what stands of one of the kinds in `others`, in the order of entry."""
        return self.others.get(kind, _NOTHING)

    def bodies(self) -> tuple[Body, ...]:
        """List all that stands but the instrument, corrections and what was not converted."""
        mapped = (
            self.consents,
            self.custody,
            self.photographs,
            self.recordings,
            self.contents,
            self.statements,
            self.observations,
            self.measurements,
            self.treatments,
            self.screws,
            self.decisions,
            *self.others.values(),
        )
        return tuple(body for kind in mapped for body in kind.values())

    def last(self, kind: type[B], **wanted: object) -> B | None:
        """Find what was entered last of a kind in `others`, with fields as *wanted*; or None."""
        found = [
            one
            for one in self.of(kind).values()
            if all(getattr(one, name) == value for name, value in wanted.items())
        ]
        return found[-1] if found else None

    def of_part(self, part: str) -> tuple[Observation, ...]:
        """Observations of *part*, in the order of entry."""
        return tuple(seen for seen in self.observations.values() if seen.part == part)

    def stands(self, id_: str) -> bool:
        """Whether *id_* is a correction, or an entry besides the instrument's that stands."""
        return (
            id_ in self.corrections
            or id_ in self.unconverted
            or any(body_id(body) == id_ for body in self.bodies())
        )

    def treatments_without_evidence(self) -> tuple[str, ...]:
        """Ids of treatments that lack evidence from before or from after the act."""
        return tuple(
            id_ for id_, done in self.treatments.items() if not (done.before and done.after)
        )
