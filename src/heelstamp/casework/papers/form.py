"""A paper of the shop other than the report: a title, facts, sections, signatures.

Plain frozen content, as the report is; one template sets all of them in one design.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.catalogue import DossierState
from heelstamp.catalogue.clock import unsure_times


@dataclass(frozen=True, slots=True)
class FormTable:
    """A table: heads, rows of as many cells, and which columns hold sums or counts."""

    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class FormSection:
    """A section: sentences, then a table, photographs by frame, lines to sign."""

    title: str
    lines: tuple[str, ...] = ()
    table: FormTable | None = None
    frames: tuple[str, ...] = ()
    signatures: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FormLabel:
    """One label: what its code holds, and up to three lines."""

    code: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FormPaper:
    """A paper.

    Attributes
    ----------
    paper, title, reader_line
        Which one, its name, and for whom.
    subtitle, tag
        Maker, model and kind; the shop's tag.
    facts
        Name and value.
    labels
        Labels of a sheet; a paper with labels has no sections.
    """

    paper: str
    title: str
    reader_line: str
    subtitle: str
    tag: str
    facts: tuple[tuple[str, str], ...]
    sections: tuple[FormSection, ...] = ()
    labels: tuple[FormLabel, ...] = ()


def serial_as_read(state: DossierState) -> str:
    """The serial number as it was read, with what in it was not; *not read* without one."""
    found = [
        one.text or " or ".join(reading.text for reading in one.readings if reading.text)
        for one in state.observations.values()
        if one.kind == "serial" and one.is_read
    ]
    return ", ".join(one for one in found if one) or "not read"


def day_of(state: DossierState, id_: str) -> str:
    """The day of an entry, empty where its clock was unsure."""
    entered = list(state.entered.values())
    unsure = unsure_times([one.at for one in entered])
    place = list(state.entered).index(id_)
    body = next((one for one in state.bodies() if getattr(one, "id", "") == id_), None)
    made = getattr(body, "made", None)
    return (made or "")[:10] or ("" if place in unsure else entered[place].at[:10])
