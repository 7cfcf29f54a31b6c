"""The invented guitar S10350 as its journal left it at any moment, and the plan for it then."""

from functools import cache
from typing import Any

import numpy as np

from heelstamp.casework.inspections import Money, Option, Plan, plan_inspections
from heelstamp.catalogue import DossierState, Folding, PartsTree
from heelstamp.chronology import Chronology, dating_model
from heelstamp.dating import CompiledModel
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.demonstration import demo_journal
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.reference.tables import mark_context

OUTSIDE_SEEN = "m-bridge-pickup"
LAMP_DONE = "decision-guard"
GUARD_DONE = "decision-neck"
NECK_DONE = "decision-stop"
END = ""
"""Ids of the journal's entries after which each stage of the examination is over."""

Entry = tuple[str, dict[str, Any]]


@cache
def guitar_tree() -> PartsTree:
    return load_parts_tree("guitar")


@cache
def wherry() -> Chronology:
    return load_chronology("sallowby-wherry")


@cache
def compiled_wherry() -> CompiledModel:
    return CompiledModel(dating_model(wherry()))


def hero(until: str, *more: Entry, without: tuple[str, ...] = ()) -> DossierState:
    """The state after entry *until*, without some entries, and with *more* after it."""
    folding = Folding(guitar_tree())
    for place, entry in enumerate(demo_journal()):
        if entry["body"].get("id") not in without:
            folding.add(entry["kind"], entry["body"], where=str(place))
        if entry["body"].get("id") == until:
            break
    for kind, body in more:
        folding.add(kind, body, where=str(body.get("id")))
    return folding.state


def bare(*more: Entry) -> DossierState:
    """A guitar of which nothing is known but what *more* says."""
    folding = Folding(guitar_tree())
    instrument = {
        "kind": "guitar",
        "maker": "Sallowby Instrument Works",
        "model": "Wherry",
        "chronology": "sallowby-wherry",
        "tag": "H-0009",
    }
    for kind, body in (("instrument", instrument), *more):
        folding.add(kind, body, where=kind)
    return folding.state


def sign(id_: str, part: str, name: str, outcome: str = "seen") -> Entry:
    """An observation of a sign."""
    return "observation", {
        "id": id_,
        "part": part,
        "kind": "sign",
        "status": "read",
        "sign": name,
        "outcome": outcome,
    }


def consent(act: str, granted: bool = True, condition: str = "") -> Entry:
    """The owner's word on an act."""
    body = {
        "id": "word-" + act.replace(" ", "-"),
        "act": act,
        "granted": granted,
        "by": "a consignor",
        "condition": condition,
    }
    return "consent", body


def plan(
    state: DossierState,
    chronology: Chronology | None = None,
    value: Money | None = None,
    seed: int | None = None,
    draws: int = 16,
) -> Plan:
    """The plan for a state, with few draws; with another chronology its own model is made."""
    known = chronology or wherry()
    return plan_inspections(
        state,
        guitar_tree(),
        known,
        mark_context(),
        table=load_stop_table(),
        value=value,
        generator=None if seed is None else np.random.default_rng(seed),
        compiled=compiled_wherry() if chronology is None else None,
        draws=draws,
    )


def option(of: Plan, id_: str) -> Option:
    """An option by its id."""
    return next(one for one in of.options if one.inspection == id_)


def ids(of: Plan) -> set[str]:
    """Every inspection that some option holds."""
    return {member for one in of.options for member in one.members}
