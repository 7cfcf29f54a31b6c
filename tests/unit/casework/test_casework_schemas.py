"""The published schemas: valid themselves, as strict as the program, and not stale."""

import json
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from fakes.examinations import EXAMINATION
from fakes.stores import AT, BY, INSTRUMENT, memory_shop
from heelstamp.archive import read_json
from heelstamp.casework.dossier import correct, open_dossier
from heelstamp.casework.examination import parse_examination
from heelstamp.casework.journal_file import export_journal
from heelstamp.casework.schemas import examination_schema, journal_schema
from heelstamp.documents import parse_document
from heelstamp.errors import InputError
from heelstamp.reference.parts_trees import tree_loader

FOLDER = Path(__file__).parents[3] / "docs" / "schema"
TREES = tree_loader()
DATA = parse_document(EXAMINATION, "f.toml", "toml")


@pytest.mark.parametrize(
    ("name", "schema"),
    [("examination-2.json", examination_schema()), ("journal-2.json", journal_schema())],
)
def test_the_published_file_is_made_from_the_types(name: str, schema: Any) -> None:
    Draft202012Validator.check_schema(schema)
    assert json.loads((FOLDER / name).read_text("utf-8")) == schema


def test_the_sample_examination_fits_its_schema() -> None:
    Draft202012Validator(examination_schema()).validate(DATA)


@pytest.mark.parametrize(
    "change",
    [
        lambda d: d.pop("schema"),
        lambda d: d.pop("instrument"),
        lambda d: d.update(extra=[]),
        lambda d: d["observation"][0].update(status="seen"),
        lambda d: d["observation"][0].update(status="illegible"),
        lambda d: d["observation"][0].update(variant="x"),
        lambda d: d["observation"][1].update(status="read"),
        lambda d: d["observation"][2].pop("feature"),
        lambda d: d["observation"][0]["readings"][0].update(period="1965-13"),
        lambda d: d["observation"][0]["readings"][0].update(weight=0),
        lambda d: d["measurement"][0].update(uncertainty=-1),
        lambda d: d["photograph"][0].update(file="x"),
        lambda d: d["custody"][0].update(event="sold"),
        lambda d: d["contents"][0].pop("link"),
    ],
)
def test_what_the_schema_refuses_the_program_refuses(change: Any) -> None:
    data = deepcopy(DATA)
    change(data)
    assert not Draft202012Validator(examination_schema()).is_valid(data)
    with pytest.raises(InputError):
        parse_examination(data, TREES)


def test_journal_lines_fit_their_schema() -> None:
    shop = memory_shop()
    open_dossier(shop, INSTRUMENT, at=AT, by=BY)
    correct(
        shop,
        "H-0001",
        "instrument",
        {**INSTRUMENT, "claimed": None},
        correction="x1",
        reason="asked",
        at=AT,
        by=BY,
    )
    validator = Draft202012Validator(journal_schema())
    lines = [read_json(line) for line in export_journal(shop, "H-0001").splitlines()]
    for line in lines:
        validator.validate(line)
    assert not validator.is_valid({**lines[0], "body": {"kind": "guitar"}})
    assert not validator.is_valid({**lines[0], "digest": "x"})
