"""Tune's acts: sets of strings named, the rod turned, the saddles set, each with its readings.

One press enters the readings from after an act and the act itself, with the last readings from
before it as evidence; an act without them is refused. A rod is turned by a quarter at most in one
step; what was felt is noted, and a sign that ends the turning is told back at once. Sets that are
named but not yet fitted have entries of their own, which a treatment's own material goes before.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from heelstamp.casework.inspections.stop_rules import StopTable, stopped_acts
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.setup.measures import (
    TOOLS,
    Measure,
    entered_value,
    measure_named,
    measures_of,
)
from heelstamp.casework.setup.plan import FIT, OFF, Wishes
from heelstamp.casework.setup.practice import Bench
from heelstamp.casework.setup.reading import read_plain, read_value
from heelstamp.casework.setup.records import read_record
from heelstamp.casework.setup.set_text import read_set
from heelstamp.catalogue import DossierState, PartsTree, StringSet, Treatment, amount_words
from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.mechanics.rod import FIRST_TURN, MOST_TURN, STOPS, RodSign
from heelstamp.units import LengthUnit

SETS: Mapping[str, tuple[str, str]] = {"found": ("set as found", OFF), "new": ("new set", FIT)}
"""Which set: what it is called, and the act whose material goes before it."""
TURN = "turn rod"
WAYS = ("tighter", "slacker")
FELT = ("nothing", *(sign.value for sign in RodSign))


@dataclass(frozen=True, slots=True)
class NamedSet:
    """A set of strings as it is known, and from where: an act, its own entry, or not at all."""

    which: str
    text: str
    source: str


@dataclass(frozen=True, slots=True)
class RodTurn:
    """A step of the rod that was entered, and what ends the turning after it, if anything."""

    id: str
    amount: str
    stop: str


def named_sets(state: DossierState, bench: Bench) -> tuple[NamedSet, ...]:
    """The set as found and the new one."""
    found = []
    for which, (_, act) in SETS.items():
        done = [one for one in state.treatments.values() if one.act == act and one.material]
        readable = [one for one in done if _is_set(one.material, bench)]
        chosen = state.last(StringSet, which=which)
        if readable:
            found.append(NamedSet(which, readable[-1].material, readable[-1].id))
        elif chosen is not None:
            found.append(NamedSet(which, chosen.strings, chosen.id))
        else:
            found.append(NamedSet(which, "", ""))
    return tuple(found)


def wishes_of(state: DossierState, bench: Bench) -> Wishes:
    """What the bench adds to the record for the plan: sets that no treatment names."""
    named = {one.which: one for one in named_sets(state, bench)}
    sets = state.of(StringSet)
    told = {which: one.text if one.source in sets else None for which, one in named.items()}
    return Wishes(found=told["found"], new=told["new"])


def set_entries(
    state: DossierState, stamp: EntryStamp, bench: Bench, *, which: str, text: str
) -> list[NewEntry]:
    """The entry that names a set.

    Raises
    ------
    InputError
        Neither of the two sets, or a text that is none.
    """
    if which not in SETS:
        raise InputError("no such set", received=which, remedy="The set as found, or the new one.")
    read_set(text, bench.materials, name=SETS[which][0])
    if stamp.id in state.entered:
        return []
    body = {
        "id": stamp.id,
        "which": which,
        "strings": text.strip(),
        "reason": "named at the bench for the plan",
        **stamp.late,
    }
    return [NewEntry("string_set", body)]


def rod_turns(state: DossierState) -> tuple[RodTurn, ...]:
    """The steps of the rod that stand."""
    done = [one for one in state.treatments.values() if one.act == TURN]
    return tuple(RodTurn(one.id, amount_words(one) or "not said", _stop(one)) for one in done)


def _stop(done: Treatment) -> str:
    return next((STOPS[sign] for sign in RodSign if done.felt == sign.value), "")


def rod_entries(
    state: DossierState,
    tree: PartsTree,
    stamp: EntryStamp,
    table: StopTable,
    *,
    turns: str,
    way: str,
    relief: str,
    felt: str,
    lengths: LengthUnit,
) -> list[NewEntry]:
    """A step of the rod: the relief read after it, and the act between two readings.

    Parameters
    ----------
    turns
        ``1/8`` or ``0.125``.
    relief
        As read after the rest, in the unit of the device.

    Raises
    ------
    InputError
        No relief was read before, more than a quarter turn, or a number that cannot be.
    ConflictError
        The owner refused the act, or a recorded sign stops it.
    """
    if stamp.id in state.entered:
        return []
    refuse_rod(state, table)
    size = _turns(turns)
    if way not in WAYS:
        raise InputError("which way", received=way, remedy="Tighter or slacker.")
    if felt not in FELT:
        raise InputError("no such sign", received=felt, remedy=f"One of {', '.join(FELT)}.")
    before = _latest(state, tree, ("relief",))
    reads, after = _read_after(state, tree, stamp, {"relief": (relief, "feelers")}, lengths)
    body = {
        "id": stamp.id,
        "act": TURN,
        "kind": "adjust",
        "part": "rod",
        "turns": float(size) if way == WAYS[0] else -float(size),
        "reason": "relief",
        "minutes": 5,
        "reversible": True,
        "before": before,
        "after": after,
        "felt": "" if felt == "nothing" else felt,
        **stamp.late,
    }
    return [*reads, NewEntry("treatment", body)]


def refuse_rod(state: DossierState, table: StopTable) -> None:
    """Refuse to turn the rod where the owner or a recorded sign says no.

    Raises
    ------
    ConflictError
        Says which.
    """
    if state.leave(TURN).standing == "refused":
        raise ConflictError(
            "the owner refused this act", where=TURN, remedy="Ask again, at the door, or leave it."
        )
    if (sign := stopped_acts(state, table).get(TURN)) is not None:
        raise ConflictError(
            f"not done, because {sign.rule.why}",
            where=f"{TURN}, {sign.observation}",
            remedy=f"To be said instead: “{sign.rule.instead}”",
        )


def saddle_entries(
    state: DossierState,
    tree: PartsTree,
    stamp: EntryStamp,
    *,
    told: Mapping[str, str],
    lengths: LengthUnit,
) -> list[NewEntry]:
    """The saddles set: how far on each side, the action read after it, and the act.

    Parameters
    ----------
    told
        ``saddle-treble``, ``saddle-bass``, ``action-treble``, ``action-bass`` as text.

    Raises
    ------
    InputError
        No action was read before, or a number that cannot be.
    """
    if stamp.id in state.entered:
        return []
    tools = {
        "saddle-treble": "thread",
        "saddle-bass": "thread",
        "action-treble": "gauge",
        "action-bass": "gauge",
    }
    before = _latest(state, tree, ("action-treble", "action-bass"))
    reads, after = _read_after(
        state, tree, stamp, {key: (told[key], tool) for key, tool in tools.items()}, lengths
    )
    down = {body["at"]["side"]: body["value"] for _, body in reads[:2]}
    amount = ", ".join(
        f"{abs(mm):g} mm {'down' if mm >= 0 else 'up'} at the {side}" for side, mm in down.items()
    )
    body = {
        "id": stamp.id,
        "act": "set saddles",
        "kind": "adjust",
        "part": "saddles",
        "amount": amount,
        "reason": "action",
        "minutes": 15,
        "reversible": True,
        "before": before,
        "after": after,
        **stamp.late,
    }
    return [*reads, NewEntry("treatment", body)]


def _read_after(
    state: DossierState,
    tree: PartsTree,
    stamp: EntryStamp,
    readings: Mapping[str, tuple[str, str]],
    lengths: LengthUnit,
) -> tuple[list[NewEntry], list[str]]:
    measures = measures_of(tree, read_record(state))
    entries, ids = [], []
    for key, (text, tool) in readings.items():
        measure: Measure = measure_named(measures, key)
        value, typed = read_value(text, measure, lengths)
        name = stamp.second(key)
        body = {
            "id": name,
            **measure.fields("final"),
            "value": value,
            "uncertainty": round(TOOLS[tool].uncertainty, 4),
            "tool": TOOLS[tool].name,
            "typed": typed,
            **stamp.late,
        }
        entries.append(NewEntry("measurement", body))
        ids.append(name)
    return entries, ids


def _latest(state: DossierState, tree: PartsTree, keys: tuple[str, ...]) -> list[str]:
    """The entries of the last readings before an act: after an earlier step, else before."""
    record = read_record(state)
    measures = measures_of(tree, record)
    ids = []
    for key in keys:
        measure = measure_named(measures, key)
        found = [
            entered
            for column in ("final", "new", "found")
            if (entered := entered_value(state, record, measure, column)) is not None
        ]
        if not found:
            raise InputError(
                "no reading from before the act",
                where=measure.label,
                remedy=f"Read {measure.label.lower()} first: an act needs its before.",
            )
        ids.append(found[0][1])
    return ids


def _turns(text: str) -> Fraction:
    """Read the size of a rod's step, in turns."""
    top, slash, under = text.strip().partition("/")
    if slash and top.strip().isdecimal() and under.strip().isdecimal() and int(under):
        size = Fraction(int(top), int(under))
    else:
        size = Fraction(read_plain(text, where="turns of the rod")).limit_denominator(64)
    if not 0 < size <= Fraction(MOST_TURN):
        raise InputError(
            "no step of a rod",
            where="turns of the rod",
            received=text,
            remedy=f"At most {Fraction(MOST_TURN)} turn in one step, the first "
            f"{Fraction(FIRST_TURN)}; rest, read, then the next.",
        )
    return size


def _is_set(text: str, bench: Bench) -> bool:
    try:
        read_set(text, bench.materials)
    except HeelstampError:
        return False
    return True
