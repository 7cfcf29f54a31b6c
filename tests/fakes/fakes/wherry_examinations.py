"""The example examinations of the invented guitar S10350, taken apart and dated again."""

import tomllib
from functools import cache
from pathlib import Path
from typing import Any

from heelstamp.casework.dating import DateFinding, date_instrument
from heelstamp.casework.dating.translation import Translated, translate
from heelstamp.casework.examination import parse_examination
from heelstamp.catalogue import DossierState
from heelstamp.chronology import Chronology
from heelstamp.marks import MarkContext
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.reference.tables import mark_context

EXAMPLES = Path(__file__).resolve().parents[2] / "examples"

Body = dict[str, Any]


@cache
def wherry() -> Chronology:
    return load_chronology("sallowby-wherry")


@cache
def tables() -> MarkContext:
    return mark_context()


@cache
def example(name: str) -> dict[str, Any]:
    data: dict[str, Any] = tomllib.loads((EXAMPLES / f"{name}.toml").read_text("utf-8"))
    return data


def observed(name: str) -> list[Body]:
    """The observations of an example, in its order."""
    return [dict(one) for one in example(name)["observation"]]


def look(id_: str, part: str, kind: str, status: str = "read", **content: Any) -> Body:
    """One observation."""
    return {"id": id_, "part": part, "kind": kind, "status": status, **content}


def state_of(observations: list[Body]) -> DossierState:
    """A dossier that holds these observations."""
    data = {
        "schema": "heelstamp/examination/1",
        "instrument": example("wherry-s10350")["instrument"],
        "observation": observations,
    }
    return parse_examination(data, load_parts_tree).state


def translated(observations: list[Body]) -> dict[str, Translated]:
    """What the dating makes of each observation, by id."""
    seen = list(state_of(observations).observations.values())
    return {one.seen.id: one for one in translate(seen, wherry(), tables())}


def dated(observations: list[Body]) -> DateFinding:
    """The finding of a dossier that holds these observations."""
    return date_instrument(state_of(observations), wherry(), tables())
