"""What a sentence about a part rests on: entries whose absence moves it, and no others."""

from functools import cache

import pytest

from fakes.doubted import hero, state_of, tree
from fakes.wherry_examinations import dated, wherry
from heelstamp.casework.dating import DateFinding
from heelstamp.casework.papers.part_section import part_section
from heelstamp.shop.subjects import names_of
from heelstamp.wording import Statement
from heelstamp.wording.strength import BEARS


@cache
def finding() -> DateFinding:
    return dated(hero())


@cache
def sentences() -> dict[str, Statement]:
    _, told = part_section(state_of(hero()), tree(), names_of(wherry()), finding().data())
    return {one.id.removeprefix("part:"): one for one in told}


def test_an_entry_without_bearing_is_no_ground() -> None:
    """The docket in the case names no serial: it stands beside the output jack and is not used."""
    assert not finding().observations["docket"].used
    for part, said in sentences().items():
        unused = [i for i in said.rests_on if not finding().observations[i].used]
        assert unused == [], part
    assert sentences()["socket"].rests_on


@pytest.mark.parametrize("part", ["socket", "pot_volume"])
def test_an_entry_is_a_ground_where_leaving_it_out_moves_the_part(part: str) -> None:
    """Each is left out by hand, and the states of the part are compared."""
    said, whole = sentences()[part], finding()
    states = whole.parts[part]
    for id_, found in whole.observations.items():
        if not found.used or (id_ not in said.rests_on and not id_.startswith(("joints", "mark"))):
            continue
        without = dated(hero(without=(id_,))).parts[part]
        moved = sum(abs(states[name] - without[name]) for name in states) / 2
        if id_ in said.rests_on:
            assert moved >= BEARS
        else:
            assert moved < BEARS or found.leave_one_out is None


def test_the_strongest_ground_comes_first() -> None:
    for part, said in sentences().items():
        moved = []
        for id_ in said.rests_on:
            out = finding().observations[id_].leave_one_out
            moved.append(0.0 if out is None else out.parts.get(part, 0.0))
        assert moved == sorted(moved, reverse=True)
    assert sentences()["pot_volume"].rests_on[0] in ("mark-pot-volume", "joints-pot-volume")
