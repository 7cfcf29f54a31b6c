"""What would later stop the dossier is refused when it is entered, and nothing else is."""

from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.wherry_examinations import Body, look, observed, state_of, tables, wherry
from heelstamp.casework.at_entry import not_counted, refuse_other_kind, refuse_unfit
from heelstamp.casework.dating import date_instrument
from heelstamp.casework.feature_names import found_words
from heelstamp.casework.looking import parts_spoken_of
from heelstamp.casework.new_entry import NewEntry
from heelstamp.catalogue import Observation, body_data
from heelstamp.catalogue.bodies.observation import Reading
from heelstamp.errors import HeelstampError, InputError
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.parts_trees import load_parts_tree

STANDING = state_of(observed("outside-only"))
WHERRY = wherry()
SERIAL = next(one for one in STANDING.observations.values() if one.kind == "serial")


def enter(*bodies: Body, kind: str = "observation") -> None:
    refuse_unfit(STANDING, [NewEntry(kind, one) for one in bodies], WHERRY, tables())


@pytest.mark.parametrize(
    ("body", "said"),
    [
        (look("x", "neck", "feature", feature="f99", variant="plain"), "no such feature"),
        (look("x", "neck", "feature", feature="f12", variant="plane"), "no such variant"),
        (look("x", SERIAL.part, "serial", text="10351"), "one serial number in one place"),
        (look("x", SERIAL.part, "serial", text="QQ10"), "not a serial number"),
        (look("x", "neck", "mark", text="65/03 R", reader="written:day"), "one year field"),
        (
            look(
                "x",
                "neck",
                "mark",
                readings=[
                    {"period": ["1965-01", "1965-06"], "weight": 0.5},
                    {"period": "1965-03", "weight": 0.5},
                ],
            ),
            "name the same months",
        ),
        (
            look("x", "neck", "mark", readings=[{"period": "1812-03", "weight": 1.0}]),
            "outside the months",
        ),
    ],
)
def test_what_would_stop_the_dossier_is_refused_at_once(body: Body, said: str) -> None:
    with pytest.raises(InputError, match=said) as caught:
        enter(body)
    assert 'observation "x"' in str(caught.value)


def test_a_mark_that_no_rule_reads_is_a_fact_and_stands() -> None:
    for text in ("2/30/64", "a heart"):
        one = look("x", "neck", "mark", text=text)
        enter(one)
        assert state_of([*observed("outside-only"), one]).observations["x"].text == text


def test_a_mark_or_number_that_does_not_count_is_told_at_once() -> None:
    marks = [look(id_, "neck", "mark", text="65/03 R") for id_ in ("m1", "m2")]
    other = look("s2", "neck", "serial", text="S999")
    state = state_of([*observed("outside-only"), *marks, other])
    told = not_counted(state, ["m1", "m2", "s2"], WHERRY, tables())
    assert set(told) == {"m2", "s2"}
    assert told["m2"] == "the same mark as “m1”, counted once"
    assert "contradicts" in told["s2"]


SECOND = look("second", SERIAL.part, "serial", text="10351")


def test_a_correction_of_the_number_is_no_second_number() -> None:
    replacement = {**body_data(SERIAL), "text": "10351"}
    enter({"id": "c", "corrects": SERIAL.id, "replacement": replacement}, kind="correction")
    with pytest.raises(InputError, match="one serial number"):
        enter(SECOND)


def test_what_was_wrong_before_is_not_charged_to_the_next_entry() -> None:
    mark = look("x", "neck", "mark", text="65/03 R")
    wrong = state_of([*observed("outside-only"), SECOND])
    refuse_unfit(wrong, [NewEntry("observation", mark)], WHERRY, tables())
    with pytest.raises(InputError, match="one serial number"):
        enter(mark, SECOND)


def test_a_chronology_of_another_kind_is_refused() -> None:
    with pytest.raises(InputError, match="is of a guitar, the instrument is a bass"):
        refuse_other_kind("bass", WHERRY)
    refuse_other_kind("bass", load_chronology("sallowby-lockkeeper"))


FEATURES = [row.id for row in WHERRY.features]
PARTS = sorted({part for row in WHERRY.features for part in row.parts} | {"case", "neck_plate"})
VARIANTS = sorted({v for row in WHERRY.features for v in row.variants} | {"other", "nonsense"})
anything = st.one_of(
    st.builds(
        lambda f, v, p: look("x", p, "feature", feature=f, variant=v),
        st.sampled_from([*FEATURES, "f99"]),
        st.sampled_from(VARIANTS),
        st.sampled_from(PARTS),
    ),
    st.builds(
        lambda p, t: look("x", p, "serial", text=t),
        st.sampled_from(["neck_plate", "neck", "body"]),
        st.from_regex(r"S?[0-9?]{1,7}", fullmatch=True),
    ),
    st.builds(
        lambda p, t: look("x", p, "mark", text=t),
        st.sampled_from(PARTS),
        st.text("0123456789?- /VIXR", min_size=1, max_size=10),
    ),
)


@settings(max_examples=60, deadline=None)
@given(anything)
def test_what_is_let_in_never_stops_the_dossier(body: Body) -> None:
    try:
        enter(body)
    except HeelstampError:
        return
    state = state_of([*observed("outside-only"), body])
    assert "x" in date_instrument(state, WHERRY, tables()).observations


def seen(**told: Any) -> Observation:
    return Observation(id="o", part="neck", status="read", **told)


def test_a_row_tells_what_was_read_where_only_readings_stand() -> None:
    readings = [Reading(weight=0.6, period="1964-03"), Reading(weight=0.4, period="1965-03")]
    assert found_words(seen(kind="mark", readings=readings)) == "Mar 1964 (60 %) or Mar 1965 (40 %)"
    assert found_words(seen(kind="sign", sign="s", likelihoods={"original": 0.2})).endswith("0.2")


def test_a_part_with_a_measurement_is_spoken_of_and_so_is_what_it_belongs_to() -> None:
    tree = load_parts_tree("guitar")
    spoken = parts_spoken_of(STANDING, tree)
    assert {one.part for one in STANDING.observations.values()} <= spoken
    child = next(part for part in tree if part.parent is not None)
    state = state_of([look("x", child.key, "sign", sign="s", outcome="o")])
    assert parts_spoken_of(state, tree) >= {child.key, child.parent}
