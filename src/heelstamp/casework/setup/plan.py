"""The plan of a setup: what new strings will do before anything is turned, and what is left to do.

Taken in this order, each step from the one before: tension of the set as found and of the new one;
stiffness of the neck from the relief as found and tuned down; relief to expect under the new set;
action to expect; whether the rod is turned; saddle moves from the action read under the new
strings, or expected while none was read. What cannot be computed is withheld, with the entry that
would give it. The tuned-down reading is worth more than any rule: without it the neck's stiffness
is that of a beam of usual size, and the plan says so.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from heelstamp.casework.setup.evidence import rod_history
from heelstamp.casework.setup.practice import Bench, tuning_for
from heelstamp.casework.setup.records import Reading, SetupRecord
from heelstamp.casework.setup.set_text import StringSet, read_set
from heelstamp.catalogue import DossierState
from heelstamp.errors import HeelstampError
from heelstamp.mechanics import (
    Estimate,
    NeckShape,
    NeckSpring,
    ReliefReading,
    TunedSet,
    action_change,
    exact,
    neck_spring,
    tuned,
)
from heelstamp.mechanics.neck import beam_compliance
from heelstamp.mechanics.rod import RodAdvice, RodStep, ToolFit, blade_fit, key_fit, rod_advice
from heelstamp.mechanics.saddles import saddle_rise
from heelstamp.mechanics.shim import ShimEffect, shim_effect
from heelstamp.mechanics.tension import TensionChange, change, tension_ratio

SIDES = ("treble", "bass")
USUAL_NECK = {"width_mm": 48.0, "thickness_mm": 21.0, "modulus_pa": 11.5e9, "spread": 0.5}
"""A bolted neck about its middle; modulus between maple (12.6 GPa) and mahogany (10.3 GPa), Wood
Handbook, from memory; spread is judgement."""
OFF = "take strings off"
FIT = "fit strings"


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a person adds to the record: sets, tuning, targets, and the neck's frets.

    Anything given here goes before what the record says.
    """

    found: str | None = None
    new: str | None = None
    tuning: tuple[str, ...] | None = None
    relief_mm: float | None = None
    action_mm: tuple[float, float] | None = None
    joint_fret: int | None = None
    frets: int | None = None
    pluck_mm: float | None = None


@dataclass(frozen=True, slots=True)
class SetupPlan:
    """Everything planned; None where it could not be computed, see *withheld*.

    Attributes
    ----------
    found, new, change
        The sets at pitch, and what the change does.
    shape, spring
        Geometry and stiffness of the neck.
    relief_predicted, action_predicted
        Under the new set, rod and saddles untouched.
    relief_target, action_target
        As intended.
    rod
        Advice before any turn, on the relief read under the new strings, or expected.
    rod_now
        Advice after the steps recorded; None without steps.
    tool
        How the tool fills the rod's drive; None where one of both was not measured.
    saddles_mm
        Rise of the saddles by side; negative is down.
    assumed, withheld
        Sentences.
    """

    found_set: StringSet | None = None
    new_set: StringSet | None = None
    found: TunedSet | None = None
    new: TunedSet | None = None
    change: TensionChange | None = None
    shape: NeckShape | None = None
    spring: NeckSpring | None = None
    relief_predicted: Estimate | None = None
    relief_target: Estimate | None = None
    action_predicted: Mapping[str, Estimate] = field(default_factory=dict)
    action_target: Mapping[str, Estimate] = field(default_factory=dict)
    rod: RodAdvice | None = None
    rod_now: RodAdvice | None = None
    rod_steps: tuple[RodStep, ...] = ()
    tool: ToolFit | None = None
    saddles_mm: Mapping[str, Estimate] = field(default_factory=dict)
    shim: ShimEffect | None = None
    assumed: tuple[str, ...] = ()
    withheld: tuple[str, ...] = ()


class Planning:
    """Makes a plan, collecting on the way what was assumed and what had to be withheld."""

    def __init__(
        self, state: DossierState, record: SetupRecord, bench: Bench, wishes: Wishes
    ) -> None:
        self.state, self.record, self.bench, self.wishes = state, record, bench, wishes
        self.assumed: list[str] = []
        self.withheld: list[str] = []

    def plan(self) -> SetupPlan:
        """Compute all that the record allows."""
        scale = self._scale()
        found_set = self._set(self.wishes.found, OFF, "the set as found")
        new_set = self._set(self.wishes.new, FIT, "the new set")
        found, new = self._tuned(found_set, scale), self._tuned(new_set, scale)
        moved = change(found, new) if found is not None and new is not None else None
        shape = self._shape(scale)
        spring = self._spring(found, shape)
        predicted = spring.relief_at(new.tension_n) if spring and new else None
        target = self._target("relief", self.wishes.relief_mm)
        actions = self._action_predicted(shape, predicted)
        targets = {
            side: goal
            for i, side in enumerate(SIDES)
            if (goal := self._target("action", self._wished_action(i), side=side)) is not None
        }
        now = self._relief_now(predicted)
        history = rod_history(self.state, self.record)
        tool = self._tool_fit()
        fit = tool is not None
        signs = (tool.sign,) if tool is not None and tool.sign is not None else ()
        rod = rod_now = None
        if now is not None and target is not None:
            rod = rod_advice(now, target, signs=signs, tool_fit_recorded=fit)
        if history.steps and target is not None:
            last = history.steps[-1].after_mm
            rod_now = rod_advice(
                last, target, steps=history.steps, signs=signs, tool_fit_recorded=fit
            )
        saddles = self._saddles(shape, now, rod, target, actions, targets)
        return SetupPlan(
            found_set=found_set,
            new_set=new_set,
            found=found,
            new=new,
            change=moved,
            shape=shape,
            spring=spring,
            relief_predicted=predicted,
            relief_target=target,
            action_predicted=actions,
            action_target=targets,
            rod=rod,
            rod_now=rod_now,
            rod_steps=history.steps,
            tool=tool,
            saddles_mm=saddles,
            shim=self._shim(scale, shape),
            assumed=tuple(dict.fromkeys(self.assumed)),
            withheld=tuple(self.withheld),
        )

    def _scale(self) -> Estimate | None:
        read = self.record.last("scale")
        if read is None:
            self.withheld.append(
                "Tensions, action and saddles need the scale length: add a measurement of it "
                "(twice the nut to the 12th fret)."
            )
        return read.value if read else None

    def _set(self, wished: str | None, act: str, name: str) -> StringSet | None:
        if wished is not None:
            return self._noted(read_set(wished, self.bench.materials, name=name))
        done = [one for one in self.state.treatments.values() if one.act == act and one.material]
        if not done:
            self.withheld.append(
                f"Not known: {name}. Name it with --{'found' if act == OFF else 'new'}, or write "
                f'it in the material of the treatment "{act}".'
            )
            return None
        try:
            return self._noted(read_set(done[-1].material, self.bench.materials, name=name))
        except HeelstampError as error:
            self.withheld.append(f"The material of {done[-1].id} is not a set: {error}")
            return None

    def _noted(self, read: StringSet) -> StringSet:
        self.assumed += read.assumed
        return read

    def _tuned(self, strings: StringSet | None, scale: Estimate | None) -> TunedSet | None:
        if strings is None or scale is None:
            return None
        kind = self.state.instrument.kind
        notes = self.wishes.tuning or tuning_for(kind, len(strings.strings))
        if self.wishes.tuning is None:
            self.assumed.append(f"Tuned {' '.join(notes)}.")
        return tuned(strings.masses, notes, scale)

    def _tool_fit(self) -> ToolFit | None:
        """Compare the tool measured last with the drive it is for."""
        slot, blade = self.record.last("rod slot"), self.record.last("rod blade")
        if slot is not None and blade is not None:
            return blade_fit(slot.value, blade.value)
        drive, key = self.record.last("rod drive"), self.record.last("rod key")
        if drive is not None and key is not None:
            return key_fit(drive.value, key.value)
        return None

    def _shape(self, scale: Estimate | None) -> NeckShape | None:
        joint = self._count("joint", self.wishes.joint_fret)
        frets = self._count("frets", self.wishes.frets)
        read = self.record.last("relief", stage="found", role="read", down=0.0)
        if scale is None or joint is None or frets is None:
            self.withheld.append(
                "Action needs the number of frets and the fret at the joint: give --frets and "
                "--joint, or add measurements of both."
            )
            return None
        capo = read.capo if read and read.capo is not None else 1
        place = read.fret if read and read.fret is not None else 8
        return NeckShape(scale.value, joint, frets, capo, place, read.held if read else None)

    def _count(self, subject: str, wished: int | None) -> int | None:
        read = self.record.last(subject)
        return wished if wished is not None else round(read.value.value) if read else None

    def _spring(self, found: TunedSet | None, shape: NeckShape | None) -> NeckSpring | None:
        reads = self.record.of("relief", stage="found", role="read", new_strings=False)
        if found is None or not reads:
            if not reads:
                self.withheld.append("Relief needs a reading as found: add a measurement of it.")
            return None
        readings = tuple(ReliefReading(_pull(found, one), one.value) for one in reads)
        pulls = {round(one.tension_n.value, 6) for one in readings}
        beam = None
        if len(pulls) < 2:
            if shape is None:
                return None
            beam = beam_compliance(shape, **USUAL_NECK)
            self.assumed.append(
                "No reading tuned down: the neck's stiffness is that of a beam of usual size, "
                "good to half of itself. Tune down a tone and read the relief again."
            )
        return neck_spring(readings, beam=beam)

    def _target(self, subject: str, wished: float | None, **wanted: object) -> Estimate | None:
        if wished is not None:
            return exact(wished)
        read = self.record.last(subject, role="intended", **wanted)
        if read is None:
            side = f", {wanted['side']}" if wanted else ""
            self.withheld.append(
                f"No {subject}{side} is intended: give --{subject}, or add a plan measurement "
                f'"{subject} …{side}, intended".'
            )
        return read.value if read else None

    def _wished_action(self, index: int) -> float | None:
        return None if self.wishes.action_mm is None else self.wishes.action_mm[index]

    def _relief_now(self, predicted: Estimate | None) -> Estimate | None:
        """The relief before any turn: read under the new strings, expected, or as found."""
        read = self.record.last("relief", role="read", new_strings=True)
        if read is not None:
            return read.value
        if predicted is not None:
            return predicted
        found = self.record.last("relief", stage="found", role="read", down=0.0)
        return found.value if found else None

    def _action_predicted(
        self, shape: NeckShape | None, predicted: Estimate | None
    ) -> dict[str, Estimate]:
        start = self.record.last("relief", stage="found", role="read", down=0.0)
        if shape is None or predicted is None or start is None:
            return {}
        lifted = action_change(shape, predicted - start.value)
        return {
            side: read.value + lifted
            for side in SIDES
            if (read := self.record.last("action", stage="found", role="read", side=side))
        }

    def _saddles(  # noqa: PLR0917
        self,
        shape: NeckShape | None,
        now: Estimate | None,
        rod: RodAdvice | None,
        target: Estimate | None,
        predicted: Mapping[str, Estimate],
        targets: Mapping[str, Estimate],
    ) -> dict[str, Estimate]:
        if shape is None or now is None:
            return {}
        turned = rod is not None and rod.act == "turn" and target is not None
        by_rod = (
            action_change(shape, exact(target.value) - now) if turned and target else exact(0.0)
        )
        moves = {}
        for side, goal in targets.items():
            read = self.record.last("action", role="read", new_strings=True, side=side)
            start = read.value if read else predicted.get(side)
            if start is not None:
                moves[side] = saddle_rise(exact(goal.value) - (start + by_rod))
        return moves

    def _shim(self, scale: Estimate | None, shape: NeckShape | None) -> ShimEffect | None:
        shim, pocket = self.record.last("shim"), self.record.last("pocket")
        if shim is None or pocket is None or scale is None or shape is None:
            return None
        return shim_effect(
            shim.value, pocket.value, scale, last_fret=shape.last_fret, joint_fret=shape.joint_fret
        )


def _pull(found: TunedSet, read: Reading) -> Estimate:
    return exact(0.0) if read.down is None else found.tension_n * tension_ratio(-read.down)
