"""What can hurt stands beside each act, and contradicts none. Common practice, no source."""

from __future__ import annotations

import pytest

from heelstamp.casework.cautions import BY_ACT, BY_KIND, FIRST, cautions_of
from heelstamp.casework.treatment import KINDS, doings
from heelstamp.catalogue.bodies.work import ACTS
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.parts_trees import load_parts_tree

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


def test_every_act_that_is_offered_and_every_kind_has_cautions() -> None:
    tree = load_parts_tree("guitar")
    offered = {one.act for one in doings(tree, load_chronology("sallowby-wherry"))}
    assert offered <= set(BY_ACT)
    assert set(KINDS) == set(BY_KIND)
    assert all(cautions_of("an act of a maker's own", kind) for kind in KINDS)
    assert cautions_of("an act nobody described")
    assert "Local codes and licensed practice come first" in FIRST
