"""What was looked at and what was seen: one record for all five kinds of observation.

*Not looked*, *absent*, *illegible* and *not applicable* are four facts besides *read*; only a
*read* observation carries content, and it must carry some. Which content belongs to which kind
stands in one table, `CONTENT`, from which the published schema is generated too.

A mark or serial may carry both its text as seen and the readings made of it; the readings then
are the person's own, and no program reads the text again. Weights are P(this reading | the true
month), not normalised over the set.
"""

from __future__ import annotations

from typing import Annotated, Literal, get_args

import msgspec

from heelstamp.catalogue.bodies.base import Count, EntryBody, FileDigest, Id, Share, Text
from heelstamp.catalogue.conversion import join_place
from heelstamp.errors import InputError
from heelstamp.units import Period, parse_month

Weight = Annotated[float, msgspec.Meta(gt=0.0, le=1.0)]

Status = Literal["read", "not looked", "absent", "illegible", "not applicable"]
ObservationKind = Literal["mark", "feature", "serial", "sign", "document"]
Link = Literal["names serial", "same period", "unrelated"]

STATUSES: tuple[str, ...] = get_args(Status)
LINKS: tuple[str, ...] = get_args(Link)

# kind: (field that says what was looked for, fields of which a read one needs one, all content)
CONTENT: dict[str, tuple[str | None, tuple[str, ...], tuple[str, ...]]] = {
    "mark": (None, ("text", "readings"), ("text", "reader", "readings", "lot")),
    "feature": ("feature", ("variant",), ("variant",)),
    "serial": (None, ("text", "readings"), ("text", "readings")),
    "sign": (
        "sign",
        ("outcome", "likelihoods"),
        ("outcome", "likelihoods", "turned", "judged", "places"),
    ),
    "document": (
        None,
        ("not_before", "not_after"),
        ("not_before", "not_after", "reliability", "link"),
    ),
}


class Reading(msgspec.Struct, frozen=True, forbid_unknown_fields=True, omit_defaults=True):
    """One way to read a mark (``period``) or a serial number (``text``), and its weight."""

    weight: Weight
    period: str | list[str] | None = None
    text: Text | None = None

    @property
    def months(self) -> Period:
        """The months this reading of a mark names."""
        return Period.parse(self.period if self.period is not None else "")


class Observation(EntryBody, frozen=True):
    """One look at one part.

    Attributes
    ----------
    part
        Key in the parts tree.
    status
        ``read`` when it says something; else which of the four other facts it is.
    frames
        Ids of the photographs that show it.
    text, reader, readings, lot
        Mark: the text as seen (``?`` for an unreadable character), which kind of mark it is read
        as, the months it can mean, and the carton or batch shared with other marks.
    feature, variant
        Feature: its id in the chronology and the variant seen.
    sign, outcome, likelihoods
        Sign: its id in the chronology with the outcome seen, or P(this look | state) by state.
    turned, judged
        Sign of screw heads: how many of those that could be judged look turned, a replaced one
        among them; together, or not at all.
    places
        Sign of the glow: in how many places it differs.
    not_before, not_after, reliability, link
        Document: months between which it puts the instrument, the chance that it is right, and
        what ties it to this instrument.
    file
        SHA-256 of a kept file that the look left behind: a finding with its pictures.
    """

    id: Id
    part: Text
    kind: ObservationKind
    status: Status
    frames: list[Id] = msgspec.field(default_factory=list)
    note: str = ""
    text: Text | None = None
    reader: Text | None = None
    readings: list[Reading] = msgspec.field(default_factory=list)
    lot: Text | None = None
    feature: Text | None = None
    variant: Text | None = None
    sign: Text | None = None
    outcome: Text | None = None
    likelihoods: dict[str, Share] = msgspec.field(default_factory=dict)
    turned: Count | None = None
    judged: Count | None = None
    places: Count | None = None
    not_before: str | None = None
    not_after: str | None = None
    reliability: Share | None = None
    link: Link | None = None
    file: FileDigest | None = None

    @property
    def is_read(self) -> bool:
        """Whether something was read, seen or found."""
        return self.status == "read"

    @property
    def subject(self) -> str:
        """What was looked for: the feature or sign, else the kind."""
        return self.feature or self.sign or self.kind


def check_observation(seen: Observation, where: str) -> None:
    """Refuse content of another kind, contradiction of status and content, impossible months.

    Raises
    ------
    InputError
        Names the field.
    """
    subject, needed, content = CONTENT[seen.kind]
    given = {name for kind in CONTENT.values() for name in kind[2] if _given(seen, name)}
    given |= {name for name in ("feature", "sign") if _given(seen, name)}
    if subject is not None and subject not in given:
        raise InputError(
            f"a {seen.kind} observation does not say which {subject}",
            where=join_place(where, f"field {subject}"),
            remedy=f"Give the {subject}'s id in the chronology.",
        )
    for name in sorted(given - set(content) - {subject}):
        raise InputError(
            f"a {seen.kind} observation has no such field",
            where=join_place(where, f"field {name}"),
            received=getattr(seen, name),
            remedy=f"Fields of a {seen.kind}: {', '.join(filter(None, (subject, *content)))}.",
        )
    if not seen.is_read and (told := sorted(given & (set(content) - {"lot"}))):
        raise InputError(
            f'status "{seen.status}" contradicts what field {told[0]} says',
            where=join_place(where, "field status"),
            received=seen.status,
            remedy='Set status "read" (write ? for an unreadable character), or take it out.',
        )
    if seen.is_read and not given & set(needed):
        raise InputError(
            'status "read" without anything read',
            where=join_place(where, "field status"),
            received=seen.status,
            remedy=f"Give {' or '.join(needed)}, or set the status to what is the case.",
        )
    _check_readings(seen, where)
    _check_sign(seen, where)
    _check_counts(seen, where)
    _check_document(seen, where)


def _given(seen: Observation, name: str) -> bool:
    value = getattr(seen, name)
    return value is not None and value not in ([], {})


def _check_readings(seen: Observation, where: str) -> None:
    if seen.reader is not None and seen.text is None:
        raise InputError(
            "a reader needs a text",
            where=join_place(where, "field reader"),
            received=seen.reader,
            remedy="Give text, or take reader out.",
        )
    wanted, other = ("period", "text") if seen.kind == "mark" else ("text", "period")
    for number, reading in enumerate(seen.readings):
        place = join_place(where, f"field readings[{number}]")
        if getattr(reading, wanted) is None or getattr(reading, other) is not None:
            raise InputError(
                f"a reading of a {seen.kind} is a {wanted}",
                where=place,
                remedy=f"Give {wanted} and weight, and no {other}.",
            )
        if seen.kind == "mark":
            Period.parse(reading.period or "", where=f"{place}.period")


def _check_sign(seen: Observation, where: str) -> None:
    if seen.outcome is not None and seen.likelihoods:
        raise InputError(
            "both an outcome and likelihoods",
            where=join_place(where, "field likelihoods"),
            received=seen.likelihoods,
            remedy="Give the outcome for the chronology's table, or your own likelihoods.",
        )
    if seen.likelihoods and not any(seen.likelihoods.values()):
        raise InputError(
            "likelihoods that are all nought say that nothing can be true",
            where=join_place(where, "field likelihoods"),
            received=seen.likelihoods,
            remedy="Give the chance of this look under each state.",
        )


def _check_counts(seen: Observation, where: str) -> None:
    if seen.turned is None and seen.judged is None:
        return
    if seen.turned is None or seen.judged is None or seen.turned > seen.judged:
        raise InputError(
            "screws that look turned are counted of those that could be judged",
            where=join_place(where, "field turned"),
            received=f"{seen.turned} of {seen.judged}",
            remedy="Give turned and judged, as 2 of 4.",
        )


def _check_document(seen: Observation, where: str) -> None:
    ends = {
        name: parse_month(value, where=join_place(where, f"field {name}"))
        for name in ("not_before", "not_after")
        if (value := getattr(seen, name)) is not None
    }
    if len(ends) == 2 and ends["not_after"] < ends["not_before"]:
        raise InputError(
            "not_after lies before not_before",
            where=join_place(where, "field not_after"),
            received=f"{seen.not_before} to {seen.not_after}",
            remedy="Give the earlier month as not_before.",
        )
