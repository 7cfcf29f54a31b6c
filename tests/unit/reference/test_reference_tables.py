"""The bundled tables: verified on load, frozen, complete in their sources."""

import importlib.util
import json
import shutil
from itertools import pairwise
from pathlib import Path

import pytest

from heelstamp.errors import IntegrityError
from heelstamp.reference import tables

ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture
def copy(tmp_path):
    target = tmp_path / "tables"
    shutil.copytree(tables.FOLDER, target)
    return target


@pytest.fixture
def builder():
    spec = importlib.util.spec_from_file_location(
        "reference_tables_builder", ROOT / "builders" / "reference_tables.py"
    )
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_every_table_matches_its_descriptor():
    names = tables.verify()
    assert set(names) == {one.stem for one in tables.FOLDER.glob("*.csv")}


def test_every_column_is_described_and_every_table_has_licence_and_sources():
    for name, resource in tables.describe().items():
        assert resource["licenses"], name
        assert resource["sources"], name
        assert all(field["description"] for field in resource["schema"]["fields"]), name
        assert resource["rows"] == len(tables.load(name)), name


def test_one_changed_byte_is_found(copy):
    path = copy / "bound_marks.csv"
    path.write_bytes(path.read_bytes().replace(b"1963-07", b"1963-08", 1))
    with pytest.raises(IntegrityError, match="not what its descriptor says"):
        tables.load("bound_marks", copy)
    with pytest.raises(IntegrityError):
        tables.verify(copy)


def test_a_missing_file_and_a_broken_descriptor_are_found(copy):
    (copy / "verbal_scale.csv").unlink()
    with pytest.raises(IntegrityError, match="missing"):
        tables.load("verbal_scale", copy)
    (copy / "datapackage.json").write_text("{", encoding="utf-8")
    with pytest.raises(IntegrityError, match="descriptor"):
        tables.describe(copy)


def test_changed_columns_are_found(copy):
    path = copy / "datapackage.json"
    package = json.loads(path.read_text(encoding="utf-8"))
    package["resources"][0]["schema"]["fields"].pop()
    path.write_text(json.dumps(package), encoding="utf-8")
    with pytest.raises(IntegrityError, match="columns"):
        tables.load(package["resources"][0]["name"], copy)


def test_an_unknown_table_is_answered_with_the_known_ones():
    with pytest.raises(IntegrityError, match="bound_marks"):
        tables.load("unheard")


def test_rows_cannot_be_changed():
    row = tables.load("source_codes")[0]
    with pytest.raises(TypeError):
        row["code"] = "1"
    with pytest.raises(TypeError):
        tables.source_codes()["1"] = None


def test_rows_from_memory_are_no_evidence():
    for name in ("source_codes", "patent_first_numbers", "patent_grants", "bound_marks"):
        for row in tables.load(name):
            if row["status"].startswith("from memory"):
                assert row["evidence"] == "no", (name, row)
            if row["evidence"] == "yes":
                assert row["source"], (name, row)


def test_patent_numbers_rise_with_their_dates():
    for series in (tables.patent_table().utility, tables.patent_table().design):
        dates = [one.not_before for one in series]
        assert dates == sorted(dates)
        assert len({one.number for one in series}) == len(series)


def test_the_verbal_scale_has_no_gap():
    bands = tables.verbal_scale()
    assert (bands[0].over, bands[0].up_to) == (1.0, 2.0)
    assert all(one.up_to == two.over for one, two in pairwise(bands))
    assert bands[-1].up_to == float("inf")


def test_the_descriptor_is_up_to_date(builder):
    assert builder.main(["--check"]) == 0


def test_the_builder_renews_after_an_edit_and_refuses_a_bad_one(builder, copy, capsys):
    path = copy / "verbal_scale.csv"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("a small pointer", "a pointer"), encoding="utf-8")
    assert builder.main(["--check"], copy) == 1
    assert "not up to date" in capsys.readouterr().err
    assert builder.main([], copy) == 0
    assert builder.main(["--check"], copy) == 0
    assert tables.load("verbal_scale", copy)
    path.write_text(text.replace("enfsi_2015", "unheard_1900"), encoding="utf-8")
    assert builder.main([], copy) == 1
    assert "unheard_1900 is not in the bibliography" in capsys.readouterr().err


def test_evidence_without_a_source_is_refused(builder, copy, capsys):
    path = copy / "patent_grants.csv"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("1938-09-20,no,", "1938-09-20,yes,"), encoding="utf-8")
    assert builder.main([], copy) == 1
    assert "evidence without a source" in capsys.readouterr().err


def test_source_numbers_stand_for_kinds_of_part_and_name_no_maker():
    told = (
        "amplifier, capacitor, cartridge, cathode-ray tube, fuse, IF transformer, loudspeaker, "
        "microphone, parts of many kinds, potentiometer, resistor, switch, transformer, tube, "
        "tube parts, wire"
    )
    assert "maker" not in tables.load("source_codes")[0]
    held = {kind for row in tables.source_codes().values() for kind in row.part_kinds}
    assert ", ".join(sorted(held, key=str.casefold)) == told
