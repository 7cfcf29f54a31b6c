"""What stands before a listing: blocked, not settled, or clear."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from heelstamp.casework.appraisal.clearance import Clearance, ListedNumber, clearance
from heelstamp.catalogue.form1 import convert_form1
from heelstamp.catalogue.state import DossierState, Entered
from heelstamp.errors import InputError
from heelstamp.reference.market import protected_materials
from heelstamp.shop.opened import load_subject

ROOT = Path(__file__).parents[4]


@cache
def examined() -> DossierState:
    return load_subject(str(ROOT / "examples" / "wherry-s10350.toml"), ROOT).state


def state(*said: tuple[str, str]) -> DossierState:
    others: dict[type, dict[str, Any]] = {}
    entered: dict[str, Entered] = {}
    for place, (about, decided) in enumerate(said):
        id_ = f"d{place}"
        body = {"id": id_, "about": about, "decided": decided, "reason": "told"}
        read = convert_form1("decision", body)
        others.setdefault(type(read), {})[id_] = read
        entered[id_] = Entered(place, "2026-11-02T09:14:00Z", "examiner A")
    return replace(examined(), others=others, entered={**examined().entered, **entered})


def found(*said: tuple[str, str], listed: Any = (), routes: Any = ("EU",)) -> Clearance:
    return clearance(state(*said), listed, protected_materials(), routes)


def answers() -> list[tuple[str, str]]:
    told = [(f"material: {one.id}", "asked and answered") for one in found().materials]
    return [*told, ("material: looked", "board only")]


SEARCHED = ("title search: county list", "no hit on that day")


def test_nothing_asked_is_not_settled() -> None:
    one = found()
    assert one.standing == "not settled"
    assert any("No list of stolen goods was searched" in text for text in one.sentences)
    assert {"dalbergia_nigra", "dalbergia_finished", "eu_worked"} <= {m.id for m in one.materials}


def test_searched_and_answered_is_clear_and_promises_nothing() -> None:
    one = found(SEARCHED, *answers())
    assert one.standing == "clear"
    assert "That shows only that none was found in that list on that day." in one.sentences[1]
    assert "not legal advice" in one.sentences[0]


def test_materials_are_asked_with_the_day_of_their_rule_and_a_species_only_appears() -> None:
    one = next(m for m in found().materials if m.id == "dalbergia_finished")
    assert one.in_force == "2019-11-26"
    assert one.because == "rosewood-like"
    told = next(t for t in found().sentences if "annotation 15 revised" in t)
    assert "species not determined" in told
    assert "from 2019-11-26" in told


def test_an_unrecorded_look_for_materials_is_not_taken_for_none_there() -> None:
    one = found(SEARCHED, *answers()[:-1])
    assert one.standing == "not settled"
    assert one.sentences[-1].startswith("No look for protected materials is recorded")
    assert found(SEARCHED, *answers()).materials_looked == "board only"


def test_rules_of_other_routes_are_not_asked() -> None:
    assert "eu_worked" not in {m.id for m in found(routes=()).materials}
    assert "eu_worked" in {m.id for m in found(routes=("eu",)).materials}


def test_an_open_title_note_blocks_until_it_is_closed() -> None:
    note = ("title note: co-owner abroad", "open")
    blocked = found(SEARCHED, *answers(), note)
    assert blocked.standing == "blocked"
    assert blocked.open_notes == ["co-owner abroad"]
    assert found(SEARCHED, *answers(), note, (note[0], "closed")).standing == "clear"


def test_a_hit_blocks_and_a_later_search_of_the_same_list_counts() -> None:
    hit = (SEARCHED[0], "listed 2019, owner named")
    assert found(*answers(), hit).standing == "blocked"
    assert found(*answers(), hit, SEARCHED).standing == "clear"
    assert len(found(*answers(), hit, SEARCHED).searches) == 2


def test_a_number_one_digit_away_blocks_until_it_is_settled() -> None:
    listed = [ListedNumber("S18350", "the list county"), ListedNumber("S10359", "dossier H-0002")]
    blocked = found(SEARCHED, *answers(), listed=listed)
    assert blocked.standing == "blocked"
    assert [(one.number, one.misread) for one in blocked.near] == [("S18350", 1)]
    assert any("if 1 of its characters was misread" in text for text in blocked.sentences)
    settled = ("near number: s18350", "other instrument: seen side by side")
    assert found(SEARCHED, *answers(), settled, listed=listed).standing == "clear"


def test_the_same_number_in_another_dossier_is_told_as_that() -> None:
    one = found(listed=[ListedNumber("s-10350", "dossier H-0009")])
    assert "The number s-10350 stands in dossier H-0009." in one.sentences


def test_a_note_is_shown_whatever_words_it_uses() -> None:
    note = ("title note: a fraud was reported", "open")
    one = found(SEARCHED, *answers(), note, ("title search: other list", "stolen, guaranteed"))
    assert one.standing == "blocked"
    assert any("a […] was reported" in text for text in one.sentences)
    assert any("stolen, […]" in text for text in one.sentences)


def test_a_route_that_is_not_known_asks_its_authority_until_that_is_answered() -> None:
    one = found(SEARCHED, *answers(), routes=("EU", "JP"))
    assert one.standing == "not settled"
    assert [text for text in one.sentences if "not known here: ask its authority" in text]
    told = found(SEARCHED, *answers(), ("material: route:JP", "asked, none needed"), routes=("jp",))
    assert told.standing == "clear"
    with pytest.raises(InputError, match="not a route"):
        found(routes=("over the hills",))


def test_a_hit_names_the_police_and_advice_first() -> None:
    one = found(("title search: county list", "stolen in 1999"))
    assert one.standing == "blocked"
    assert any("tell the police and take legal advice" in text for text in one.sentences)
