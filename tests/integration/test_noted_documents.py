"""Terms and makers' documents are under the ledger: a digit that changed is found and named."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fakes.commands import type_command
from fakes.web_shop import TAG
from heelstamp.reference.chronology_files import bundled_text
from heelstamp.reference.demonstration import demo_terms
from heelstamp.shop import CHRONOLOGIES_FOLDER, open_shop
from heelstamp.shop.makers import begin
from heelstamp.shop.noted_documents import document_faults
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.soundness import shop_faults
from heelstamp.shop.terms import keep_terms, terms_here

MAKER = f"{CHRONOLOGIES_FOLDER}/another-works.toml"
TERMS = "consignment.toml"


@pytest.fixture
def written(shop: Path) -> Path:
    """A shop whose terms and whose maker's document were written by the program."""
    with OpenShop(shop) as opened:
        base = terms_here(opened, TAG).digest
        keep_terms(opened, TAG, demo_terms(), base=base, whole_shop=True, id_="t1", by="examiner A")
        begin(opened, "another-works", "sallowby-wherry", maker="Works", model="One", by="A")
    return shop


def digits_of(path: Path) -> list[int]:
    return [place for place, one in enumerate(path.read_bytes()) if chr(one).isdigit()]


@pytest.mark.parametrize("name", [TERMS, MAKER])
def test_five_changed_digits_are_each_found(written: Path, name: str) -> None:
    assert shop_faults(written) == ()
    path, whole = written / name, (written / name).read_bytes()
    places = digits_of(path)
    for place in places[:: max(1, len(places) // 5)][:5]:
        changed = bytearray(whole)
        changed[place] = ord("0") + (changed[place] - ord("0") + 1) % 10
        path.write_bytes(changed)
        assert [(one.where, one.code) for one in shop_faults(written)] == [
            (f"document {name}", "changed")
        ]
    path.write_bytes(whole)
    assert shop_faults(written) == ()
    path.unlink()
    assert [one.code for one in shop_faults(written)] == ["missing"]


def test_verify_and_doctor_name_it_until_it_is_said_to_be_meant(
    written: Path, tmp_path: Path
) -> None:
    type_command("backup", tmp_path / "kept", "--shop", written, cwd=tmp_path)
    path = written / TERMS
    before = path.read_text("utf-8")
    path.write_text(before.replace("8,200", "8,300", 1), "utf-8")
    assert path.read_text("utf-8") != before
    found = type_command("verify", "--shop", written, "--json", cwd=tmp_path)
    assert found.code == 1
    told = json.loads(found.out)["terms and makers' documents"]
    assert told["verdict"] == "failed"
    assert TERMS in told["findings"][0]
    doctor = type_command("doctor", "--shop", written, cwd=tmp_path)
    assert doctor.code == 1
    assert f"document {TERMS}" in doctor.out
    assert "whole in" in " ".join(doctor.out.split())
    unknown = type_command("doctor", "--accept", "none.toml", "--shop", written, cwd=tmp_path)
    assert unknown.code == 2
    meant = type_command("doctor", "--accept", TERMS, "--shop", written, cwd=tmp_path)
    assert (meant.code, TERMS in meant.out) == (0, False)


def test_what_a_person_laid_there_is_noted_when_the_shop_is_opened(shop: Path) -> None:
    folder = shop / CHRONOLOGIES_FOLDER
    folder.mkdir()
    text = bundled_text("sallowby-wherry", folder)
    (folder / "sallowby-wherry.toml").write_text(text, "utf-8")
    (shop / "read-me.txt").write_text("no number comes from this", "utf-8")
    with open_shop(shop) as opened:
        assert list(opened.documents.noted()) == [f"{CHRONOLOGIES_FOLDER}/sallowby-wherry.toml"]
        (folder / "sallowby-wherry.toml").write_text(text.replace("1", "2", 1), "utf-8")
    with open_shop(shop) as opened:  # opening again does not take what changed for meant
        assert [one.code for one in document_faults(opened, shop)] == ["changed"]
