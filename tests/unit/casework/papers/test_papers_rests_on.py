"""What a sentence about a part rests on: entries whose absence moves it, and no others."""

from functools import cache

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


def _moves(part: str) -> dict[str, float]:
    """Return how far each ground, and each joint or mark, moves *part* when left out by hand."""
    said, whole = sentences()[part], finding()
    states, moved = whole.parts[part], {}
    for id_, found in whole.observations.items():
        if not found.used or (id_ not in said.rests_on and not id_.startswith(("joints", "mark"))):
            continue
        without = dated(hero(without=(id_,))).parts[part]
        moved[id_] = sum(abs(states[name] - without[name]) for name in states) / 2
    return moved


def test_an_entry_is_a_ground_where_leaving_it_out_moves_the_part() -> None:
    moved, grounds = _moves("socket"), sentences()["socket"].rests_on
    assert grounds
    assert all(moved[id_] >= BEARS for id_ in grounds)
    assert all(one < BEARS for id_, one in moved.items() if id_ not in grounds)


def test_where_none_alone_moves_the_part_all_that_was_seen_of_it_stands_together() -> None:
    """A pot whose two marks and joint each say the same: any one of them could be missed."""
    moved, grounds = _moves("pot_volume"), sentences()["pot_volume"].rests_on
    assert max(moved.values()) < BEARS
    seen = {one.id for one in state_of(hero()).observations.values() if one.part == "pot_volume"}
    assert set(grounds) == {id_ for id_ in seen if finding().observations[id_].used}


def test_the_strongest_ground_comes_first() -> None:
    for part, said in sentences().items():
        moved = []
        for id_ in said.rests_on:
            out = finding().observations[id_].leave_one_out
            moved.append(0.0 if out is None else out.parts.get(part, 0.0))
        assert moved == sorted(moved, reverse=True)
    assert sentences()["pot_volume"].rests_on[0] in ("mark-pot-volume", "joints-pot-volume")
