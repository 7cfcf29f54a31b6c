"""Screws, joints, odd parts, lamp places of a dossier as evidence; the shop's own acts as none."""

from typing import Any

import pytest

from fakes.hero_stages import bare
from fakes.wherry_examinations import Body, look, tables, translated, wherry
from heelstamp.casework.dating.own_acts import late_looks, own_acts
from heelstamp.casework.dating.parts_seen import parts_seen
from heelstamp.casework.dating.translation import translate_dossier
from heelstamp.catalogue import DossierState
from heelstamp.dating import FeatureSeen, MixedSet, ScrewsSeen, SignSeen, StateLikelihood
from heelstamp.errors import InputError

JOINTS = "solder_joints"


def heads(id_: str, part: str, turned: int | None, judged: int | None, outcome: str) -> Body:
    counted: Body = {} if judged is None else {"turned": turned, "judged": judged}
    return look(id_, part, "sign", sign="screw_heads", outcome=outcome, **counted)


def evidence(*bodies: Body) -> list[object]:
    return [item for one in translated(list(bodies)).values() for item in one.evidence]


def dossier(*entries: tuple[str, dict[str, Any]]) -> DossierState:
    return bare(*entries)


def consent(act: str, *, granted: bool = True) -> tuple[str, dict[str, Any]]:
    return "consent", {"id": f"c-{act[:4]}", "act": act, "granted": granted, "by": "a consignor"}


def done(id_: str, act: str, part: str, **more: Any) -> tuple[str, dict[str, Any]]:
    body = {"id": id_, "act": act, "part": part, "reason": "to look", "reversible": True, **more}
    return "treatment", body


@pytest.mark.parametrize("outcome", ["turned", "undisturbed"])
def test_screws_go_by_their_number_whatever_the_word(outcome: str) -> None:
    assert evidence(heads("o", "plate_screws", 2, 4, outcome)) == [ScrewsSeen("neck_off", 4, 2)]


def test_screws_that_nobody_counted_go_by_the_table() -> None:
    found = evidence(heads("o", "guard", None, None, "turned"))
    assert found == [SignSeen("screw_heads@guard_off", "turned")]


def test_no_screw_could_be_judged() -> None:
    (found,) = translated([heads("o", "guard", 0, 0, "turned")]).values()
    assert (found.evidence, found.why_not) == ([], "no screw could be judged")


def test_one_opening_is_judged_once_as_what_speaks_most_for_it() -> None:
    plate = heads("a", "neck_plate", 0, 4, "undisturbed")
    found = translated([plate, heads("b", "plate_screws", 4, 4, "turned")])
    assert found["b"].evidence == [ScrewsSeen("neck_off", 4, 4)]
    assert found["a"].why_not == "of the same opening as “b”, counted once"
    ends = [
        look("a", "leads", "sign", sign=JOINTS, outcome="untouched"),
        look("b", "pickup_neck", "sign", sign=JOINTS, outcome="reworked"),
    ]
    assert evidence(*ends) == [SignSeen("solder_joints@joint_leads", "reworked")]


def test_the_same_look_twice_counts_once_and_a_contradiction_is_refused() -> None:
    twice = translated([heads("a", "guard", 0, 11, "turned"), heads("b", "guard", 0, 11, "turned")])
    assert [len(one.evidence) for one in twice.values()] == [1, 0]
    assert twice["b"].why_not == "the same fact as “a”, counted once"
    with pytest.raises(InputError, match="disagree"):
        translated([heads("a", "guard", 0, 11, "turned"), heads("b", "guard", 3, 11, "turned")])


def test_an_unknown_outcome_is_refused_even_with_a_count() -> None:
    with pytest.raises(InputError, match="no such outcome"):
        translated([heads("a", "guard", 0, 11, "wobbly")])


def test_an_odd_tuner_shows_that_no_set_was_swapped_whole() -> None:
    covers = {"tuner_1": "plain cover", "tuner_2": "plain cover", "tuner_4": "ribbed cover"}
    found = translated(
        [look(part, part, "feature", feature="g6", variant=one) for part, one in covers.items()]
    )
    assert found["tuner_4"].evidence == [
        MixedSet("neck with its tuners"),
        MixedSet("neck with tuners and plate"),
        MixedSet("tuners"),
        FeatureSeen("g6@tuner_4", "ribbed cover"),
    ]


def place(id_: str, outcome: str, frame: str = "F1", **more: Any) -> Body:
    return look(id_, "finish", "sign", sign="uv_patch", outcome=outcome, **more)


def test_lamp_places_speak_together_and_the_word_for_the_whole_no_more() -> None:
    patches = look("uv", "finish", "sign", sign="uv_colour", outcome="local_patches")
    found = translated([patches, place("p1", "darker_hard_rim"), place("p2", "darker_no_rim")])
    (weighed,) = found["p1"].evidence
    assert isinstance(weighed, StateLikelihood)
    ratio = weighed.likelihoods["touched_up"] / weighed.likelihoods["original"]
    none = 0.75**2
    assert ratio == pytest.approx(((0.75 + 25 / 4) * (0.75 + 0.3 / 4) - none) / (1 - none))
    assert found["p2"].why_not == "weighed together with “p1”"
    assert found["uv"].why_not == "the places, from “p1” on, say the same"
    even = look("uv", "finish", "sign", sign="uv_colour", outcome="aged_even")
    assert translated([even, place("p1", "darker_no_rim")])["uv"].evidence


def test_a_place_of_a_look_without_weight_is_recorded_only() -> None:
    (found,) = translated([place("p1", "spotted")]).values()
    assert found.why_not == "recorded as seen; the chronology gives this look no weight"


GUARD = ("observation", heads("before", "guard", 0, 11, "undisturbed"))
AFTER = ("observation", heads("after", "guard", 11, 11, "turned"))
SCREW = {"id": "s1", "part": "guard", "opening": "guard", "number": 1, "x": 0.5, "y": 0.5}


@pytest.mark.parametrize(
    ("act", "words"),
    [
        (done("t", "lift guard", "guard"), "lift guard"),
        (done("t", "guard away", "guard", kind="open"), "guard away"),
        (done("t", "fit part", "guard"), "fit part"),
        (("screw", SCREW), "screws taken out"),
    ],
)
def test_a_look_after_the_shops_own_act_is_no_evidence_and_says_so(
    act: tuple[str, dict[str, Any]], words: str
) -> None:
    state = dossier(consent("lift guard"), act, AFTER)
    assert late_looks(state, wherry()) == {"after": words}
    (found,) = translate_dossier(state, wherry(), tables())
    assert found.evidence == []
    assert words in (found.why_not or "")


def test_a_look_from_before_counts_and_the_later_one_does_not_contradict_it() -> None:
    state = dossier(GUARD, consent("lift guard"), done("t", "lift guard", "guard"), AFTER)
    found = {one.seen.id: one for one in translate_dossier(state, wherry(), tables())}
    assert found["before"].evidence == [ScrewsSeen("guard_off", 11, 0)]
    assert found["after"].evidence == []


def test_lifting_the_guard_leaves_joints_evidence_and_soldering_does_not() -> None:
    joints = look("j", "pot_volume", "sign", sign=JOINTS, outcome="untouched")
    lifted = (consent("lift guard"), done("t", "lift guard", "guard"))
    assert late_looks(dossier(*lifted, ("observation", joints)), wherry()) == {}
    soldered = (consent("open a solder joint"), done("u", "open a solder joint", "pot_volume"))
    state = dossier(*lifted, *soldered, ("observation", joints))
    assert late_looks(state, wherry()) == {"j": "open a solder joint"}
    other = look("k", "pot_tone", "sign", sign=JOINTS, outcome="untouched")
    assert late_looks(dossier(*lifted, *soldered, ("observation", other)), wherry()) == {}


def seen(
    *entries: tuple[str, dict[str, Any]], part: str = "neck"
) -> tuple[str, list[str], list[str]]:
    state = dossier(*entries)
    found = translate_dossier(state, wherry(), tables())
    one = parts_seen(found, wherry(), own_acts(state, wherry()))[part]
    return one.looks, one.ways, one.acts


BOARD = ("observation", look("f05", "neck", "feature", feature="f05", variant="rosewood-like"))
ROD = (
    "observation",
    look("f13", "rod", "feature", feature="f13", variant="head, 5.5 mm square key"),
)
HEEL = ("observation", look("m", "neck", "mark", text="65/03 R"))
PLATE = ("observation", heads("h", "plate_screws", 2, 4, "turned"))
OFF = (consent("take neck off"), done("n", "take neck off", "neck"))


def test_what_was_seen_of_a_part() -> None:
    acts = ["take neck off"]
    assert seen() == ("none", [], acts)
    assert seen(("observation", look("m", "neck", "mark", "not looked"))) == ("none", [], acts)
    assert seen(PLATE) == ("none", ["h"], acts)
    assert seen(BOARD, PLATE) == ("type", ["h"], acts)
    assert seen(ROD) == ("type", [], acts)
    assert seen(BOARD, HEEL)[0] == "own"
    assert seen(("observation", look("m", "neck", "mark", "absent")))[0] == "own"
    assert seen(*OFF) == ("none", [], [])
    assert seen(*OFF, BOARD) == ("own", [], [])


def test_a_joint_is_a_look_at_its_part_and_a_screw_head_is_not() -> None:
    joint = ("observation", look("j", "socket", "sign", sign=JOINTS, outcome="reworked"))
    assert seen(joint, part="socket")[0] == "own"
    plate = ("observation", heads("h", "socket_plate", 2, 2, "turned"))
    assert seen(plate, part="socket_plate") == ("none", ["h"], [])
    paper = ("observation", look("d", "socket", "document", not_after="1988-12"))
    assert seen(paper, part="socket")[0] == "none"
