"""The next step of an instrument: one act, the most pressing first, and what is due beside it.

The order is that of the work (common practice, no source): what could do harm or was promised comes
first, then what is lost when something is opened, then looking from the outside in, then setup,
price and paper. A pure function of the folded dossier.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from heelstamp.casework.appraisal.entering import said_last
from heelstamp.casework.buyer_questions import open_tasks
from heelstamp.casework.dose_clock import lamp_on
from heelstamp.casework.feature_names import reader_words
from heelstamp.casework.intake import acts_asked
from heelstamp.casework.mark_reading import waiting
from heelstamp.casework.photo_plan import PhotoPlan, missing_slots
from heelstamp.casework.sale.blocks import standing_of
from heelstamp.catalogue import DossierState, PartsTree, Price

GONE = frozenset({"with the buyer", "back with the owner"})
"""States of custody in which the shop has nothing left to look at."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do.

    Attributes
    ----------
    words
        What to do, as a button says it.
    why
        Why it comes now.
    screen, asked
        Key of the screen where it is done, and what is asked of that screen.
    """

    words: str
    why: str
    screen: str
    asked: str = ""


def steps(state: DossierState, tree: PartsTree, plan: PhotoPlan) -> tuple[Step, ...]:
    """All that is to be done, the most pressing first; the last is always there.

    Parameters
    ----------
    plan
        Photographs that a dossier of this kind wants.
    """
    return tuple(_steps(state, tree, plan))


def due(state: DossierState) -> tuple[Step, ...]:
    """What is owed already: a promise, a danger, or a hole in the record."""
    return tuple(_due(state))


def _steps(state: DossierState, tree: PartsTree, plan: PhotoPlan) -> Iterator[Step]:
    yield from _due(state)
    if state.custody_state == "not received":
        return
    if state.custody_state in GONE:
        yield Step("Check it when it comes back", "It left the shop.", "return-check")
    elif standing_of(state).state == "agreed":
        yield Step("Take the payment", "A price is agreed, and it is not paid yet.", "sale")
    elif "sold" in said_last(state):
        yield Step("Hand it over", "It was sold and is still here.", "intake")
    else:
        yield from _examining(state, tree, plan)
        yield from _selling(state)
    yield Step("See what it all says", "Nothing is due.", "findings")


def _due(state: DossierState) -> Iterator[Step]:
    if state.custody_state == "missing":
        yield Step("Find it, or report it", "It was found missing.", "intake")
    if state.custody_state == "not received":
        yield Step("Take it in", "It was not received yet.", "intake")
    if lamp_on(state) is not None:
        words = "Switch the UV lamp off, or enter that it is off"
        yield Step(words, "The lamp is on, or was not entered as off.", "uv-lamp")
    for one in open_tasks(state):
        yield Step("Answer a buyer", f"A buyer asks: {one.text}", "questions")
    bare = state.treatments_without_evidence()
    if bare:
        acts = ", ".join(dict.fromkeys(reader_words(state.treatments[one].act) for one in bare))
        yield Step("Add the evidence of an act", f"Before or after is wanting: {acts}.", "work")
    if state.dangling:
        names = ", ".join(dict.fromkeys(one.id for one in state.dangling))
        yield Step("Mend a reference", f"{names} names something withdrawn.", "findings")


def _examining(state: DossierState, tree: PartsTree, plan: PhotoPlan) -> Iterator[Step]:
    now = [one for one in missing_slots(state, plan, tree) if one.when == "now"]
    if now:
        count = f"{len(now)} photograph{'' if len(now) == 1 else 's'}"
        label = now[0].slot.label
        yield Step(f"Take {count}", f"First: {label}. It can be taken now.", "photographs")
    asked = [act for act in acts_asked(state, tree) if state.leave(act).standing == "not asked"]
    if asked:
        yield Step("Ask the owner", f"Nobody asked yet about: {', '.join(asked)}.", "intake")
    outside = tree.openings[0].key
    looked = {one.part for one in state.observations.values() if one.status != "not looked"}
    bare = [one for one in tree if one.seen_from == outside and one.key not in looked]
    if bare:
        names = ", ".join(one.label for one in bare[:3])
        more = f" and {len(bare) - 3} more" if len(bare) > 3 else ""
        why = f"Not looked at: {names}{more}."
        yield Step("Look at it, nothing touched", why, "first-look", f"part={bare[0].key}")
    unread = waiting(state, tree, plan)
    if unread:
        words = f"Read {len(unread)} mark{'' if len(unread) == 1 else 's'}"
        yield Step(words, f"Photographed and not read: {unread[0].label}.", "marks")
    yield Step("Choose the next look", "What would tell most, and what it costs.", "next-look")


def _selling(state: DossierState) -> Iterator[Step]:
    if not any(one.stage == "final" for one in state.measurements.values()):
        yield Step("Set it up", "No final reading of the setup stands.", "setup")
    if state.last(Price) is None:
        yield Step("Price it", "No value was entered.", "money")
