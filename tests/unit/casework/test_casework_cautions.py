"""What can hurt stands beside each act, and contradicts none. Common practice, no source."""

from __future__ import annotations

import re

import pytest

from heelstamp.casework.cautions import BY_ACT, BY_KIND, CAUTIONS, FIRST, cautions_of
from heelstamp.casework.treatment import KINDS, doings
from heelstamp.catalogue.bodies.work import ACTS
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.reference.photo_plan import load_photo_plan
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.reference.work_acts import load_work_acts

NAMED = {
    "take strings off": ("goggles", "tension"),
    "fit strings": ("goggles", "residual-current"),
    "take neck off": ("slacken", "by hand", "both hands"),
    "refit neck": ("slacken", "by hand", "power driver"),
    "lift bridge": ("slacken",),
    "refit bridge": ("slacken",),
    "set saddles": ("tension", "slacken"),
    "turn rod": ("slacken", "first hard", "goggles"),
    "dress frets": ("metal dust", "goggles"),
    "open a solder joint": ("lead", "extraction", "burns", "goggles", "unplugged"),
    "clean control": ("ventilate", "no flame", "gloves", "never on lacquer", "battery"),
    "clean finish": ("never a solvent", "mould"),
    "clean hardware": ("gloves", "mask"),
    "lift guard": ("celluloid", "lead"),
    "glue": ("ventilation",),
}
AGAINST = {
    "turn rod": ("look only", "turn nothing", "turns nothing"),
    "open a solder joint": ("do not heat", "touch nothing", "open no joint"),
    "clean control": ("never a solvent",),
    "dress frets": ("never file",),
}
"""Words that would forbid the very act."""


@pytest.mark.parametrize("act", sorted(ACTS))
def test_every_usual_act_has_its_cautions(act: str) -> None:
    told = " ".join(cautions_of(act)).lower()
    assert told
    for word in NAMED.get(act, ()):
        assert word in told, (act, word)
    for word in AGAINST.get(act, ()):
        assert word not in told, (act, word)


def acts_named_anywhere() -> set[str]:
    """Acts of the photo plan, the plan of work, the stop table and the bundled makers."""
    known = [load_chronology(one) for one in ("sallowby-wherry", "sallowby-lockkeeper")]
    return {
        *ACTS,
        *load_photo_plan().acts,
        *(one.act for act in load_work_acts().acts for one in act.does),
        *(act for rule in load_stop_table().rules for act in rule.acts),
        *(act for one in known for row in one.openings for act in row.acts),
        *(act for one in known for row in one.accesses for act in row.closed_by),
    }


@pytest.mark.parametrize("act", sorted(acts_named_anywhere()))
def test_every_act_that_is_named_anywhere_has_cautions_of_its_own(act: str) -> None:
    assert act in BY_ACT, act
    assert "Local codes and licensed practice come first" in FIRST


@pytest.mark.parametrize("act", sorted(BY_ACT))
def test_no_caution_forbids_the_act_it_stands_beside(act: str) -> None:
    """Neither the act's own verb nor what it is done to is forbidden outright."""
    verb, *rest = act.split()
    stem = verb.rstrip("e")
    for text in cautions_of(act):
        for clause in re.split(r"[.;:]", text.lower()):
            told = re.search(rf"\b(?:never|do not|no) ((?:\w+ )?{stem}\w*)\b(.*)", clause)
            if told is None:
                continue
            # a manner may be forbidden ("cut nothing under tension"), the act itself may not
            assert rest[-1] not in told[2].split(), (act, clause)
            assert told[2].strip(), (act, clause)


@pytest.mark.parametrize(
    ("act", "words"),
    [
        ("open case", ("cold", "mould", "latch")),
        ("empty case", ("mould", "battery", "photograph")),
        ("lift out", ("both hands", "neck")),
        ("take tuners off", ("slacken", "by hand")),
        ("pack", ("lacquer", "slacken")),
        ("hand over", ("heavy", "both hands")),
    ],
)
def test_acts_of_coming_and_going_have_theirs(act: str, words: tuple[str, ...]) -> None:
    told = " ".join(cautions_of(act)).lower()
    assert all(word in told for word in words), told


def test_whoever_works_beside_the_lamp_is_told_of_eyes_skin_and_bystanders() -> None:
    told = next(one.text.lower() for one in CAUTIONS if one.subject == "UV-A lamp")
    assert all(word in told for word in ("eyes", "skin", "goggles", "anyone else in the room"))


def test_every_act_that_is_offered_and_every_kind_has_cautions() -> None:
    tree = load_parts_tree("guitar")
    offered = {one.act for one in doings(tree, load_chronology("sallowby-wherry"))}
    assert offered <= set(BY_ACT)
    assert set(KINDS) == set(BY_KIND)
    assert all(cautions_of("an act of a maker's own", kind) for kind in KINDS)
    assert cautions_of("an act nobody described")
    assert "Local codes and licensed practice come first" in FIRST
