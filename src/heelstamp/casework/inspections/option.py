"""One thing that could be done next, with what it would tell and what it costs; and the plan.

The JSON form of a plan is the list of its options; every further key is welcome to readers.
"""

from __future__ import annotations

from typing import Any, Literal

import msgspec

Consent = Literal["not needed", "granted", "refused", "not asked"]
Advice = Literal["do", "optional", "stop"]


class GainFound(msgspec.Struct, frozen=True, kw_only=True):
    """Expected gains.

    Attributes
    ----------
    date_bits
        On the completion month.
    parts
        On the state of each part, the coating among them as ``finish``, in bits.
    money
        Expected fall of the money figure; None when no figure was asked for.
    regret
        Expected fall of what a seller is to expect to lose by a price that is not right; likewise.
    months
        Width of the 90 % range now and as expected, both ends counted.
    standard_error
        Of ``date_bits`` where outcomes were drawn; None where they were enumerated.
    alone
        ``date_bits`` of each member of a bundle taken by itself.
    """

    date_bits: float
    parts: dict[str, float]
    money: float | None
    regret: float | None
    months: tuple[float, float]
    standard_error: float | None
    alone: dict[str, float]


class ChanceFound(msgspec.Struct, frozen=True, kw_only=True):
    """Chance that what a report says becomes another.

    Attributes
    ----------
    range
        P(an end of the printed 90 % range moves).
    words
        P(what is said of some part examined so far changes).
    parts
        The same for each part the inspection tells of, were it examined now and then.
    """

    range: float
    words: float
    parts: dict[str, float]


class Option(msgspec.Struct, frozen=True, kw_only=True):
    """One inspection, or all that one act of access allows.

    Attributes
    ----------
    inspection, name
        Id of the inspection, or ``open:<opening>`` for a bundle; what to call it.
    members
        Inspections it holds.
    acts
        Acts to be done on the way, in their order.
    invasiveness, minutes
        The highest level on the way, 0 to 3; minutes with access.
    consent, condition
        Where the owner stands, and on what condition consent was granted.
    tells_of, first_looks
        Parts it tells of; those of which nothing was looked at before.
    outcomes
        Cases computed.
    front
        Nothing else is as good in every gain and every cost and better in one.
    reasons, cautions
        Sentences for the advice, and cautions at the point of use.
    """

    inspection: str
    name: str
    members: list[str]
    opening: str
    acts: list[str]
    invasiveness: int
    minutes: float
    consent: Consent
    condition: str
    tells_of: list[str]
    first_looks: list[str]
    gain: GainFound
    chance: ChanceFound
    outcomes: int
    front: bool
    advice: Advice
    reason: str
    reasons: list[str]
    cautions: list[str]


class Plan(msgspec.Struct, frozen=True, kw_only=True):
    """What to look at next, or to stop.

    Attributes
    ----------
    options
        The best first: those to be done, then optional ones, then those not to do.
    best
        Id of the option to do next, or None to stop.
    sentences
        What to do next and why, or *stop* and why.
    refused
        Acts refused by a recorded sign, one sentence each.
    digest
        SHA-256 of everything the plan rests on.
    """

    options: list[Option]
    best: str | None
    sentences: list[str]
    refused: list[str]
    chronology: str
    chronology_edition: str
    program: str
    digest: str

    def data(self) -> list[dict[str, Any]]:
        """The options as plain values, with what the plan says as a whole on each."""
        whole: dict[str, Any] = {
            "best": self.best,
            "sentences": self.sentences,
            "refused": self.refused,
            "digest": self.digest,
        }
        return [msgspec.to_builtins(one) | {"plan": whole} for one in self.options]
