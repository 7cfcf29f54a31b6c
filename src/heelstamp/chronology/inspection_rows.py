"""What the access and inspection rows of a chronology may name, checked against its other rows.

An opening has one access row; openings that come first hang together without a circle; an
inspection shows marks on dated parts, features and signs that the chronology knows. Whether the
parts tree has such openings is checked where a tree is at hand (``casework.inspections``).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from heelstamp.chronology.records import (
    AccessRow,
    AssemblyRow,
    FeatureRow,
    InspectionRow,
    PartRow,
    Reveal,
    SerialTable,
    SignRow,
)
from heelstamp.errors import InputError


class Known(Protocol):
    """What a chronology knows, as far as inspections may name it."""

    @property
    def accesses(self) -> tuple[AccessRow, ...]:
        """What each opening costs."""
        ...

    @property
    def inspections(self) -> tuple[InspectionRow, ...]:
        """What can be looked at."""
        ...

    @property
    def parts(self) -> tuple[PartRow, ...]:
        """Dated parts."""
        ...

    @property
    def assemblies(self) -> tuple[AssemblyRow, ...]:
        """Parts opened together."""
        ...

    @property
    def serial(self) -> SerialTable | None:
        """The serial curve, if there is one."""
        ...

    def feature(self, id_: str) -> FeatureRow | None:
        """Find a feature by an id."""
        ...

    def sign(self, id_: str) -> SignRow | None:
        """Find a sign by its id."""
        ...


class Refusal(Protocol):
    """Makes an error that names file, line, row and field."""

    def __call__(
        self, what: str, table: str, index: int | None, key: str | None, received: object = None, /
    ) -> InputError:
        """Return the error, to be raised by the caller."""
        ...


def check_inspections(chronology: Known, refused: Refusal) -> None:
    """Check the access and inspection rows.

    Raises
    ------
    InputError
        An opening is given twice, comes after itself or has no access row; an id is given twice;
        a reveal names a part, feature or sign that is not there, or leaves out which.
    """
    openings = [row.opening for row in chronology.accesses]
    for index, access in enumerate(chronology.accesses):
        if access.opening in openings[:index]:
            raise refused(
                "this opening has an access row already", "access", index, "opening", access.opening
            )
        for before in access.after:
            if before not in openings:
                raise refused("no such opening", "access", index, "after", before)
        if access.opening in _all_before(chronology, access.opening):
            raise refused("an opening comes after itself", "access", index, "after", access.after)
    ids: set[str] = set()
    for index, row in enumerate(chronology.inspections):
        if row.id in ids:
            raise refused("this id is taken", "inspection", index, "id", row.id)
        ids.add(row.id)
        if row.opening not in openings:
            raise refused(
                "no access row for this opening", "inspection", index, "opening", row.opening
            )
        for reveal in row.reveals:
            _check_reveal(chronology, reveal, row, index, refused)


def _all_before(chronology: Known, opening: str) -> set[str]:
    after = {row.opening: row.after for row in chronology.accesses}
    found: set[str] = set()
    waiting = list(after[opening])
    while waiting:
        one = waiting.pop()
        if one not in found:
            found.add(one)
            waiting += after.get(one, [])
    return found


def _check_reveal(
    chronology: Known, reveal: Reveal, row: InspectionRow, index: int, refused: Refusal
) -> None:
    def wrong(what: str, received: object) -> InputError:
        return refused(f"{row.id} {what}", "inspection", index, "reveals", received)

    named = {"feature": reveal.feature, "sign": reveal.sign}
    for kind, name in named.items():
        if (name is not None) != (reveal.kind == kind):
            raise wrong(f"shows a {reveal.kind}: give {kind} for a {kind}, and only then", name)
    if reveal.error is not None and reveal.kind != "mark":
        raise wrong("gives an error, which belongs to a mark only", reveal.error)
    if reveal.kind == "serial":
        if chronology.serial is None:
            raise wrong("shows a serial number, and the chronology has no serial table", None)
        return
    allowed, free = _parts_for(chronology, reveal, wrong)
    if reveal.part is None and not free:
        raise wrong("leaves open which part it shows; parts: " + ", ".join(allowed), None)
    if reveal.part is not None and reveal.part not in allowed:
        raise wrong("shows it on a part where it is not known", reveal.part)


def _parts_for(
    chronology: Known, reveal: Reveal, wrong: Callable[[str, object], InputError]
) -> tuple[list[str], bool]:
    """List the parts on which a reveal may show something, and whether the part may be left out."""
    if reveal.kind == "mark":
        return [part.key for part in chronology.parts], False
    if reveal.kind == "feature":
        feature = chronology.feature(reveal.feature or "")
        if feature is None:
            raise wrong("shows a feature that is not there", reveal.feature)
        return list(feature.parts), len(feature.parts) == 1
    sign = chronology.sign(reveal.sign or "")
    if sign is None:
        raise wrong("shows a sign that is not there", reveal.sign)
    if sign.assembly is None:
        return list(sign.seen_on), len(sign.seen_on) == 1
    homes = [one.parts for one in chronology.assemblies if one.name == sign.assembly]
    return (homes[0] if homes else []), True
