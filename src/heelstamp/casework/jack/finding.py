"""What the readings at a jack came to: plain values for programs, statements for people.

The cautions are common practice of the bench, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from heelstamp.casework.jack.request import JackRequest, SeenRow, Sets
from heelstamp.electrics import AgainstMark, AtTwenty, Circuit, JackResult, Range, Resonance
from heelstamp.electrics.capacitor import AGEING
from heelstamp.electrics.jack import CONDITIONS, Found, Hypothesis
from heelstamp.electrics.seen import Place
from heelstamp.wording import Grounds, Statement, about_electrics
from heelstamp.wording.about_electrics import Ohms, WiringAccount

HANDS_OFF = (
    "Read at the jack with nothing de-soldered: heat destroys a joint's evidence, old solder and "
    "its dust hold lead (wash hands, no food at the bench), and old sleeving breaks when bent."
)
AMPLIFIER = (
    "Never plug an untested old amplifier in: two-wire mains leads, capacitors from mains to "
    "chassis and charged filter capacitors kill; use an earthed, tested one behind a "
    "residual-current device."
)
CAUTIONS = (HANDS_OFF, AMPLIFIER)
POTS_APART = 3.0
"""Pots of two sets that differ by more standard uncertainties are said to differ."""


@dataclass(frozen=True, slots=True)
class PickupFinding:
    """One set of readings, worked out."""

    readings: Sets
    result: JackResult
    twenty: AtTwenty | None = None
    seen: SeenRow | None = None
    place: Place | None = None
    turns: Range | None = None
    circuit: Circuit | None = None
    resonance: Resonance | None = None

    @property
    def name(self) -> str:
        """Pickup as sentences call it, with the stage when it is not the first."""
        stage = self.readings.stage
        return self.readings.selection + ("" if stage == "found" else f" ({stage})")


@dataclass(frozen=True, slots=True)
class JackFinding:
    """All sets, the capacitor against its mark, and the digest of everything asked."""

    request: JackRequest
    pickups: tuple[PickupFinding, ...]
    capacitor: AgainstMark | None
    digest: str

    @property
    def undecided(self) -> bool:
        """Whether some wiring cannot be told."""
        return any(one.result.wiring is None for one in self.pickups)

    @property
    def against(self) -> bool:
        """Whether something lies outside: a range seen, a tolerance, or two pots for one."""
        outside = any(one.place == "outside" for one in self.pickups)
        beyond = self.capacitor is not None and self.capacitor.standing == "outside"
        return outside or beyond or self.pots_apart() is not None

    def pots_apart(self) -> tuple[PickupFinding, PickupFinding] | None:
        """Two sets of one stage whose pots differ."""
        for number, one in enumerate(self.pickups):
            for other in self.pickups[number + 1 :]:
                first, second = one.result.chosen, other.result.chosen
                if first is None or second is None or one.readings.stage != other.readings.stage:
                    continue
                spread = float((first.pot.standard**2 + second.pot.standard**2) ** 0.5)
                if abs(first.pot.ohm - second.pot.ohm) > POTS_APART * spread:
                    return one, other
        return None

    def data(self) -> dict[str, Any]:
        """The finding as plain values: ohms, farads, hertz, decibels."""
        mark = self.capacitor
        return {
            "pickups": [_pickup_data(one) for one in self.pickups],
            "capacitor": None
            if mark is None
            else {
                "read_farad": mark.read_farad,
                "mark_farad": mark.mark_farad,
                "share": round(mark.share, 5),
                "tolerance": mark.tolerance,
                "standing": mark.standing,
            },
            "undecided": self.undecided,
            "against": self.against,
            "conditions": list(CONDITIONS),
            "assumed": list(self.request.assumed),
            "statements": [one.text for one in self.statements()],
            "digest": self.digest,
        }

    def statements(self) -> tuple[Statement, ...]:
        """The sentences, in the order of reading."""
        told: list[Statement] = []
        for one in self.pickups:
            told += self._describe(one)
        apart = self.pots_apart()
        if apart is not None:
            first, second = (one.result.chosen for one in apart)
            assert first is not None
            assert second is not None
            told.append(
                about_electrics.pots_differ(
                    "jack:pots",
                    Grounds(apart[0].readings.rests_on + apart[1].readings.rests_on),
                    first=_ohms(first.pot),
                    first_selection=apart[0].name,
                    second=_ohms(second.pot),
                    second_selection=apart[1].name,
                )
            )
        if self.capacitor is not None and self.request.capacitor is not None:
            told.append(_describe_capacitor(self.capacitor, self.request))
        if self.pickups:
            grounds = Grounds(self.pickups[0].readings.rests_on, (), ("the solder joints",))
            told.append(about_electrics.conditions("jack:conditions", grounds, told=CONDITIONS))
        for number, caution in enumerate(CAUTIONS, 1):
            told.append(about_electrics.caution(f"jack:caution {number}", text=caution))
        return tuple(told)

    def _describe(self, one: PickupFinding) -> list[Statement]:
        grounds = Grounds(one.readings.rests_on)
        id_ = f"jack:{one.name}"
        chosen = one.result.chosen
        if chosen is None:
            return [_describe_open(one, id_, grounds)]
        other = next(h for h in one.result.hypotheses if h.wiring != chosen.wiring)
        twenty = one.twenty
        told = [
            about_electrics.pot(f"{id_}:pot", grounds, selection=one.name, found=_ohms(chosen.pot)),
            about_electrics.pickup(
                id_,
                grounds,
                selection=one.name,
                found=_ohms(chosen.pickup),
                temperature_c=one.readings.temperature_c,
                at_twenty=None if twenty is None else (twenty.ohm, twenty.standard),
            ),
            about_electrics.wiring_told(
                f"{id_}:wiring",
                grounds,
                wiring=chosen.wiring,
                told_by=one.result.told_by,
                other=_account(other),
            ),
        ]
        if one.seen is not None and one.place is not None:
            row = one.seen.seen
            told.append(
                about_electrics.range_seen(
                    f"{id_}:seen",
                    grounds,
                    selection=one.name,
                    place=one.place,
                    low=row.low,
                    high=row.high,
                    count=row.count,
                    chance=row.chance_outside,
                )
            )
        if one.turns is not None and self.request.wire is not None:
            turn = self.request.turn_mm
            assert turn is not None
            told.append(
                about_electrics.turns(
                    f"{id_}:turns",
                    grounds,
                    selection=one.name,
                    wire=self.request.wire[0],
                    turn_mm=(turn.low, turn.high),
                    low=one.turns.low,
                    high=one.turns.high,
                )
            )
        if one.circuit is not None:
            told.append(self._describe_resonance(one, id_, grounds))
        return told

    def _describe_resonance(self, one: PickupFinding, id_: str, grounds: Grounds) -> Statement:
        peak = one.resonance
        if peak is None:
            return about_electrics.no_resonance(f"{id_}:resonance", grounds, selection=one.name)
        return about_electrics.resonance(
            f"{id_}:resonance",
            grounds,
            selection=one.name,
            frequency_hz=(peak.frequency_hz, peak.frequency_standard),
            peak_db=(peak.peak_db, peak.peak_standard),
            assumed=self.request.assumed,
        )


def _describe_open(one: PickupFinding, id_: str, grounds: Grounds) -> Statement:
    fits = bool(one.result.fitting)
    say = about_electrics.wiring_open if fits else about_electrics.wiring_none
    accounts = [_account(each) for each in one.result.hypotheses]
    return say(f"{id_}:wiring", grounds, accounts=accounts)


def _account(one: Hypothesis) -> WiringAccount:
    return WiringAccount(one.wiring, one.pot.ohm, one.pickup.ohm)


def _describe_capacitor(mark: AgainstMark, request: JackRequest) -> Statement:
    asked = request.capacitor
    assert asked is not None
    return about_electrics.capacitor(
        "jack:capacitor",
        Grounds(asked.rests_on),
        read_farad=mark.read_farad,
        mark_farad=mark.mark_farad,
        share=mark.share,
        standing=mark.standing,
        tolerance=mark.tolerance,
        ageing=next((f"{kind} {told}" for kind, told in AGEING.items() if kind in asked.kind), ""),
    )


def _ohms(found: Found) -> Ohms:
    return Ohms(found.ohm, found.standard, found.least, found.most)


def _found(found: Found) -> dict[str, float]:
    return {
        "ohm": round(found.ohm, 2),
        "standard": round(found.standard, 2),
        "least": round(found.least, 2),
        "most": round(found.most, 2),
    }


def _hypothesis(one: Hypothesis, result: JackResult) -> dict[str, Any]:
    return {
        "wiring": one.wiring,
        "pot": _found(one.pot),
        "pickup": _found(one.pickup),
        "fits": one.wiring in result.fitting,
    }


def _pickup_data(one: PickupFinding) -> dict[str, Any]:
    chosen, twenty, peak = one.result.chosen, one.twenty, one.resonance
    return {
        "selection": one.readings.selection,
        "stage": one.readings.stage,
        "pot": None if chosen is None else _found(chosen.pot),
        "pickup": None if chosen is None else _found(chosen.pickup),
        "temperature": one.readings.temperature_c,
        "pickup_20": None
        if twenty is None
        else {"ohm": round(twenty.ohm, 2), "standard": round(twenty.standard, 2)},
        "wiring": one.result.wiring,
        "told_by": one.result.told_by,
        "hypotheses": [_hypothesis(h, one.result) for h in one.result.hypotheses],
        "seen": None
        if one.seen is None
        else {
            "low": one.seen.seen.low,
            "high": one.seen.seen.high,
            "count": one.seen.seen.count,
            "source": one.seen.source,
            "place": one.place,
        },
        "turns": None if one.turns is None else [round(one.turns.low), round(one.turns.high)],
        "resonance": None
        if peak is None
        else {
            "frequency_hz": round(peak.frequency_hz, 1),
            "frequency_standard": round(peak.frequency_standard, 1),
            "peak_db": round(peak.peak_db, 2),
            "peak_standard": round(peak.peak_standard, 2),
        },
        "rests_on": list(one.readings.rests_on),
    }
