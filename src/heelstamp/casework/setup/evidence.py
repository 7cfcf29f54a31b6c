"""Before and after: a setup act without its readings is not told on a sheet.

Every act on a part that sets up the instrument needs evidence from before and from after. Some need
a reading of a kind: the rod its relief, saddles their action or intonation, new strings their
relief. What is missing is named as the entry to make.
"""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.casework.setup.records import Reading, SetupRecord
from heelstamp.catalogue import DossierState
from heelstamp.mechanics.rod import MOST_TURN, RodStep

SETUP_PARTS = frozenset(
    {"strings", "rod", "neck", "nut", "frets", "saddles", "bridge", "shim", "tuners"}
)
# part, sort of act, subjects of which one reading is needed on either side, how to say it
_NEEDS: tuple[tuple[str, str, tuple[str, ...], str], ...] = (
    ("rod", "adjust", ("relief",), "the relief"),
    (
        "saddles",
        "adjust",
        ("action", "intonation", "worst intonation"),
        "the action or the intonation",
    ),
    ("strings", "fit", ("relief",), "the relief"),
)


@dataclass(frozen=True, slots=True)
class Missing:
    """What an act lacks, and the entry that would give it."""

    id: str
    act: str
    lacks: str
    record: str


def missing_evidence(state: DossierState, record: SetupRecord) -> tuple[Missing, ...]:
    """Name every setup act whose evidence from before or after is missing."""
    subjects = {one.id: one.subject for one in record.readings}
    found: list[Missing] = []
    for done in state.treatments.values():
        if done.part not in SETUP_PARTS:
            continue
        for side, ids in (("before", done.before), ("after", done.after)):
            if not ids:
                found.append(
                    Missing(
                        done.id,
                        done.act,
                        f"nothing from {side} it",
                        f"Add a frame or a reading, and correct {done.id} with {side} = its id.",
                    )
                )
                continue
            for part, sort, wanted, said in _NEEDS:
                named = {subjects.get(one) for one in ids}
                acted = part == done.part and sort == done.sort
                if acted and not named.intersection(wanted):
                    found.append(
                        Missing(
                            done.id,
                            done.act,
                            f"no reading of {said} from {side} it",
                            f"Add a measurement of {said}, and name it in {side} of {done.id}.",
                        )
                    )
    return tuple(found)


@dataclass(frozen=True, slots=True)
class RodHistory:
    """The steps of the rod that can be reckoned with, and what is wrong with the others."""

    steps: tuple[RodStep, ...]
    faults: tuple[str, ...]


def rod_history(state: DossierState, record: SetupRecord) -> RodHistory:
    """Read the rod's steps from its treatments: amount in turns, relief before and after."""
    reliefs = {one.id: one for one in record.of("relief", role="read", down=0.0)}
    steps: list[RodStep] = []
    faults: list[str] = []
    for done in state.treatments.values():
        if done.part != "rod" or done.sort != "adjust":
            continue
        turns = done.turns or None
        before = _relief(done.before, reliefs)
        after = _relief(done.after, reliefs)
        if turns is None:
            faults.append(
                f"{done.id}: how far the rod was turned, and which way, is not said. Give turns: "
                "0.125 is 1/8 turn tighter, -0.125 slacker."
            )
        elif abs(turns) > MOST_TURN:
            faults.append(
                f"{done.id}: {abs(turns):g} turn as one step; a quarter turn at most, then a rest "
                "and a reading. Enter every step by itself."
            )
        elif before is not None and after is not None:
            steps.append(RodStep(turns, before.value, after.value))
    return RodHistory(tuple(steps), tuple(faults))


def _relief(ids: list[str], reliefs: dict[str, Reading]) -> Reading | None:
    return next((reliefs[one] for one in ids if one in reliefs), None)
