"""The parts tree: the two bundled kinds, other kinds by data, and what is refused."""

from copy import deepcopy
from typing import Any

import pytest

from heelstamp.catalogue import PartsTree, parse_parts_tree
from heelstamp.errors import InputError
from heelstamp.reference.parts_trees import kinds_of_instrument, load_parts_tree

SMALL: dict[str, Any] = {
    "schema": "heelstamp/parts/1",
    "kind": "lap_steel",
    "label": "lap steel",
    "opening": [{"key": "outside", "label": "nothing moved"}],
    "part": [
        {"key": "body", "label": "body", "assembly": "body", "seen_from": "outside"},
        {
            "key": "nut",
            "label": "nut",
            "parent": "body",
            "assembly": "body",
            "seen_from": "outside",
        },
    ],
}


def test_a_guitar_has_six_tuners_two_pickups_and_a_switch(guitar: PartsTree) -> None:
    assert [part.key for part in guitar.children("tuners")] == [f"tuner_{n}" for n in range(1, 7)]
    assert {"pickup_neck", "pickup_bridge", "switch"} <= set(guitar.keys)
    assert guitar["tuner_1"].label == "1st-string tuner"


def test_a_bass_has_four_tuners_one_pickup_and_no_switch() -> None:
    bass = load_parts_tree("bass")
    assert len(bass.children("tuners")) == 4
    assert "pickup" in bass
    assert "switch" not in bass
    assert "pickup_neck" not in bass


def test_frets_nut_and_rod_belong_to_the_neck(guitar: PartsTree) -> None:
    assert {"frets", "nut", "rod"} <= {part.key for part in guitar.children("neck")}


def test_openings_go_from_outside_inwards_and_ask_for_leave(guitar: PartsTree) -> None:
    keys = [opening.key for opening in guitar.openings]
    assert keys == ["outside", "case", "strings", "guard", "bridge", "neck"]
    assert "take neck off" in guitar.acts_needing_consent()
    assert guitar[guitar["shim"].key].seen_from == "neck"


def test_another_kind_comes_by_data_alone(tmp_path: Any) -> None:
    folder = tmp_path / "parts"
    folder.mkdir()
    (folder / "lap_steel.toml").write_text(
        'schema = "heelstamp/parts/1"\nkind = "lap_steel"\nlabel = "lap steel"\n'
        '[[opening]]\nkey = "outside"\nlabel = "nothing moved"\n'
        '[[part]]\nkey = "body"\nlabel = "body"\nassembly = "body"\nseen_from = "outside"\n'
    )
    assert load_parts_tree("lap_steel", folder).keys == ("body",)
    assert kinds_of_instrument(folder) == ("bass", "guitar", "lap_steel")


def test_an_unknown_kind_names_those_there_are() -> None:
    with pytest.raises(InputError, match=r"received: gitar\)\. Did you mean \"guitar\"\?"):
        load_parts_tree("gitar")


def test_an_unknown_part_offers_the_nearest(guitar: PartsTree) -> None:
    with pytest.raises(InputError, match=r"a guitar has no such part .*socket_plat.*socket_plate"):
        guitar.part("socket_plat")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda d: d.update(schema="heelstamp/parts/9"), "not a parts tree this program reads"),
        (lambda d: d["part"].append(d["part"][0]), r'part 3 \(key "body"\): this key is taken'),
        (lambda d: d["part"][1].update(parent="hull"), r'part "nut", field parent: .*no such part'),
        (lambda d: d["part"][0].update(parent="nut"), "a part cannot belong to itself"),
        (lambda d: d["part"][0].update(seen_from="below"), "opening that the tree does not name"),
        (lambda d: d["part"][0].update(colour="red"), "field colour: unknown field"),
        (lambda d: d["part"][0].pop("label"), "field label: missing field"),
        (lambda d: d["opening"][0].update(consent=True), "needs consent names no act"),
        (lambda d: d.update(part=[]), "needs parts and openings"),
        (lambda d: d["part"][0].update(key="Body"), "value of the wrong kind"),
    ],
)
def test_a_tree_that_does_not_hang_together_is_refused(change: Any, message: str) -> None:
    data = deepcopy(SMALL)
    change(data)
    with pytest.raises(InputError, match=message):
        parse_parts_tree(data, where="lap_steel.toml")


def test_the_small_tree_itself_is_sound() -> None:
    assert len(parse_parts_tree(SMALL)) == 2
