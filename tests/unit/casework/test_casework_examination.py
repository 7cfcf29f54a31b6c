"""Examination files: what they mean, and errors that name file, line, entry and field."""

import json
from copy import deepcopy
from typing import Any

import pytest

from fakes.examinations import EXAMINATION
from heelstamp.casework.examination import (
    ORDER,
    examination_data,
    parse_examination,
    read_examination,
)
from heelstamp.documents import parse_document
from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.reference.parts_trees import tree_loader

TREES = tree_loader()


def read(text: str) -> Any:
    return read_examination(text, "toml", TREES, name="wherry.toml")


def test_order_in_the_file_is_free() -> None:
    examination = read(EXAMINATION)
    kinds = [kind for kind, _ in examination.entries]
    assert kinds[0] == "instrument"
    assert kinds[1:] == sorted(kinds[1:], key=ORDER.index)
    assert examination.state.treatments["t1"].after == ["m1"]
    assert examination.state.custody_state == "in the shop"


def test_every_kind_arrives() -> None:
    state = read(EXAMINATION).state
    for mapping in (
        state.observations,
        state.measurements,
        state.treatments,
        state.photographs,
        state.recordings,
        state.consents,
        state.custody,
        state.contents,
        state.statements,
        state.decisions,
    ):
        assert mapping


def test_json_means_the_same() -> None:
    data = parse_document(EXAMINATION, "f.toml", "toml")
    text = json.dumps(data)
    assert read_examination(text, "json", TREES, name="f.json").state == read(EXAMINATION).state


def test_a_state_written_as_an_examination_reads_as_the_same_state() -> None:
    state = read(EXAMINATION).state
    again = parse_examination(examination_data(state), TREES).state
    assert again.observations == state.observations
    assert again.measurements == state.measurements
    assert again.custody_state == state.custody_state


def line_of(piece: str, occurrence: int = 1) -> int:
    at = -1
    for _ in range(occurrence):
        at = EXAMINATION.index(piece, at + 1)
    return EXAMINATION.count("\n", 0, at) + 1


@pytest.mark.parametrize(
    ("old", "new", "place", "message"),
    [
        (
            'status = "absent"',
            'status = "not seen"',
            'observation 2 (id "o2"), field status',
            "not one of the values allowed here",
        ),
        (
            'variant = "three-layer laminate"',
            'varaint = "three-layer laminate"',
            'observation 3 (id "o3"), field varaint',
            "unknown field",
        ),
        (
            'part = "guard"\nkind',
            'part = "gaurd"\nkind',
            'observation 3 (id "o3"), field part',
            "a guitar has no such part",
        ),
        (
            'period = "1965-08"',
            'period = "1965-18"',
            'observation 1 (id "o1"), field readings[1].period',
            "a year has no such month",
        ),
        (
            'status = "read"\ntext',
            'status = "illegible"\ntext',
            'observation 1 (id "o1"), field status',
            'status "illegible" contradicts',
        ),
        (
            'frames = ["F1"]',
            'frames = ["F9"]',
            'observation 1 (id "o1"), field frames[0]',
            "unknown or withdrawn",
        ),
        ('unit = "kΩ"', 'unit = "kO"', 'measurement 1 (id "m1"), field unit', "unknown unit"),
        (
            'event = "received"',
            'event = "recieved"',
            'custody 1 (id "k1"), field event',
            "no such custody event",
        ),
        ('id = "i1"', 'id = "s1"', 'statement 1 (id "s1"), field id', "this id is taken"),
        ('model = "Wherry"', 'modle = "Wherry"', "field modle", "unknown field"),
        ('kind = "guitar"', 'kind = "guitarre"', "", "no parts tree for this kind"),
    ],
)
def test_an_error_of_meaning_names_file_line_entry_and_field(
    old: str, new: str, place: str, message: str
) -> None:
    assert old in EXAMINATION
    broken = EXAMINATION.replace(old, new, 1)
    with pytest.raises(InputError) as caught:
        read(broken)
    assert message in caught.value.what
    assert caught.value.where.startswith("wherry.toml, line ")
    assert place in caught.value.where
    assert caught.value.remedy
    line = int(caught.value.where.split("line ")[1].split(",")[0])
    field = place.rpartition("field ")[2].split("[")[0]
    assert field in broken.splitlines()[line - 1]


def test_the_wrong_status_is_pointed_at_on_its_very_line() -> None:
    with pytest.raises(InputError, match=f"wherry.toml, line {line_of('status', 2)}, observation"):
        read(EXAMINATION.replace('status = "absent"', 'status = "gone"'))


def test_an_act_without_leave_is_a_conflict() -> None:
    with pytest.raises(ConflictError, match=r'line 10, treatment 1 \(id "t1"\): .*refused'):
        read(EXAMINATION.replace("granted = true", "granted = false"))


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda d: d.pop("schema"), "no schema named"),
        (lambda d: d.update(schema="heelstamp/examination/7"), "does not read .*examination/7"),
        (lambda d: d.pop("instrument"), "no instrument"),
        (lambda d: d.update(observations=[]), 'unknown table.*Did you mean "observation"'),
        (lambda d: d.update(observation={"id": "o1"}), "observation is not a list"),
        (lambda d: d["observation"].append("o9"), "observation 4: not a table"),
    ],
)
def test_a_document_of_another_shape_is_refused(change: Any, message: str) -> None:
    data = deepcopy(parse_document(EXAMINATION, "f.toml", "toml"))
    change(data)
    with pytest.raises(HeelstampError, match=message):
        parse_examination(data, TREES, name="f.toml")
