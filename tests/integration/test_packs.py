"""Packs: valid bags of what one reader gets; the whole one enters another shop bit for bit."""

from __future__ import annotations

import io
import json
import shutil
import zipfile
from pathlib import Path
from typing import Any

import bagit
import pytest
from PIL import Image
from pyld import jsonld

from fakes.web_shop import TAG, add_frame, bench_of, jpeg
from heelstamp.archive import Verdict
from heelstamp.casework.dossier import attach_photograph
from heelstamp.errors import ConflictError, InputError, NotFoundError
from heelstamp.shop import create_shop, now, open_shop
from heelstamp.shop.carrying_in import import_folder
from heelstamp.shop.forms import issue_form
from heelstamp.shop.handed_out import Known, check_file
from heelstamp.shop.issuing import issue
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.pack import WHOLE, make_pack
from heelstamp.shop.shop_key import known_keys

BY = "examiner A"
CRM = "http://www.cidoc-crm.org/cidoc-crm/"
TRIED = ("buyer", "public", "shop")
"""The insurer's is made as the buyer's, and compared among the exchanges; the consignor's as the
shop's."""
OUTSIDE = [one for one in TRIED if one not in WHOLE]
SERIAL = "S10350"
ENTRIES: list[tuple[str, dict[str, Any]]] = [
    ("custody", {"id": "k1", "event": "received", "giver": "Z. Quarrelby", "receiver": BY,
                 "place": "5 Invented Street"}),
    ("observation", {"id": "m", "part": "neck", "kind": "mark", "status": "read",
                     "text": "65/03 R"}),
    ("observation", {"id": "n", "part": "neck_plate", "kind": "serial", "status": "read",
                     "text": SERIAL}),
]  # fmt: skip


def with_place() -> bytes:
    """A photograph whose file says where it was taken."""
    picture = Image.open(io.BytesIO(jpeg()))
    exif = picture.getexif()
    exif[0x010E] = "5 Invented Street"  # ImageDescription
    written = io.BytesIO()
    picture.save(written, "JPEG", exif=exif)
    return written.getvalue()


@pytest.fixture(scope="module")
def stocked(new_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop that issued a report to a buyer, and a permission sheet."""
    folder = shutil.copytree(new_shop, tmp_path_factory.mktemp("stocked") / "shop")
    with bench_of(folder) as client:
        add_frame(client, "front")
        add_frame(client, "back", shade=90, private="on")
    with OpenShop(folder) as shop:
        details = {"id": "F031", "part": "pot_tone", "slot": "", "name": "a.jpg"}
        attach_photograph(shop, TAG, with_place(), details, at=now(), by=BY)
        shop.enter(TAG, ENTRIES, by=BY)
        issue(shop, TAG, "buyer", id_="to-buyer", by=BY)
        issue_form(shop, TAG, "permission", id_="p", by=BY)
    return folder


@pytest.fixture(scope="module")
def packs(stocked: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """A pack for every reader, in a folder of its own; that of the shop in a ZIP file too."""
    place = tmp_path_factory.mktemp("packs")
    with OpenShop(stocked) as shop:
        length = shop.subject(TAG).state.length
        for one in TRIED:
            make_pack(shop, TAG, one, place / one)
        make_pack(shop, TAG, "shop", place / "shop.zip")
        assert shop.subject(TAG).state.length == length
    return {one.name: one for one in place.iterdir()}


def files_of(pack: Path) -> dict[str, bytes]:
    data = pack / "data"
    return {
        one.relative_to(data).as_posix(): one.read_bytes()
        for one in data.rglob("*")
        if one.is_file()
    }


@pytest.mark.parametrize("reader", TRIED)
def test_a_general_validator_finds_it_valid_and_a_flipped_byte_not(
    packs: dict[str, Path], reader: str, tmp_path: Path
) -> None:
    pack = shutil.copytree(packs[reader], tmp_path / "pack")
    assert bagit.Bag(str(pack)).is_valid()
    path = pack / "data" / "README.txt"
    path.write_bytes(path.read_bytes().replace(b"How", b"Hox", 1))
    assert not bagit.Bag(str(pack)).is_valid()
    (found,) = check_file(pack, Known())
    assert found.verdict is Verdict.BROKEN
    assert found.findings == ("data/README.txt is not as it was written",)


@pytest.mark.parametrize("reader", OUTSIDE)
def test_an_outsiders_pack_tells_no_more_than_was_meant(
    packs: dict[str, Path], reader: str
) -> None:
    files = files_of(packs[reader])
    assert not [one for one in files if one.endswith(("journal.jsonl", "files.json", ".csv"))]
    for path, data in files.items():
        for secret in (SERIAL, "Quarrelby", "Invented Street", "f-back-90"):
            assert secret.encode() not in data, path
    photographs = [one for one in files if one.startswith("photographs/")]
    assert len(photographs) == 2  # none that is private
    assert [one for one in photographs if one.endswith(" Tone pot.jpg")]
    for one in photographs:
        with Image.open(io.BytesIO(files[one])) as picture:
            assert picture.size == (640, 480)
            assert not picture.getexif()


def test_the_paper_in_a_pack_is_the_one_that_was_issued(
    packs: dict[str, Path], stocked: Path
) -> None:
    files = files_of(packs["buyer"])
    with OpenShop(stocked) as shop:
        from heelstamp.shop.issuing import issued

        (mine,) = [one for one in issued(shop, TAG) if one.reader == "buyer"]
        assert files["papers/report for the buyer, version 1.pdf"] == shop.files.get(mine.digest)
    assert {"findings/copy.json", "findings/examination.json", "README.txt"} <= set(files)
    assert not [one for one in files_of(packs["public"]) if one.startswith("papers/")]


@pytest.mark.parametrize("reader", TRIED)
def test_it_passes_with_the_shops_key_and_cannot_tell_without(
    packs: dict[str, Path], stocked: Path, reader: str
) -> None:
    (key,) = known_keys(stocked)
    known = check_file(packs[reader], Known(keys={key: "the shop's"}))
    own, *inside = known
    assert own.verdict is Verdict.SOUND
    assert {one.verdict for one in inside} <= {Verdict.SOUND}
    assert any("papers/" in one.name for one in inside) is (reader != "public")
    assert check_file(packs[reader], Known())[0].verdict is Verdict.CANNOT_DECIDE
    assert check_file(packs[reader], Known(keys={"0" * 64: "x"}))[0].verdict is Verdict.BROKEN


@pytest.mark.parametrize("form", ["shop", "shop.zip"])
def test_the_whole_one_enters_another_shop_bit_for_bit(
    packs: dict[str, Path], stocked: Path, form: str, tmp_path: Path
) -> None:
    create_shop(tmp_path / "other", name="Other", currency="EUR").close()
    import_folder(packs[form], tmp_path / "other")
    with open_shop(stocked) as one, open_shop(tmp_path / "other") as two:
        assert two.journals.lines(TAG) == one.journals.lines(TAG)
        assert two.journals.files() == one.journals.files()
        for record in one.journals.files():
            assert two.files.get(record.digest) == one.files.get(record.digest)
    if form == "shop":
        with OpenShop(tmp_path / "other") as again:
            make_pack(again, TAG, "shop", tmp_path / "again")
        before, after = files_of(packs[form]), files_of(tmp_path / "again")
        named = {"README.txt", f"{TAG}/linked-art.jsonld"}  # which name the shop
        assert set(before) == set(after)
        assert {one for one in before if before[one] != after[one]} <= named


def test_one_for_an_outsider_does_not_enter_a_shop(packs: dict[str, Path], tmp_path: Path) -> None:
    create_shop(tmp_path / "other", name="Other", currency="EUR").close()
    with pytest.raises(InputError, match="no list of files"):
        import_folder(packs["buyer"], tmp_path / "other")


@pytest.mark.parametrize(("reader", "place"), [("public", ""), ("buyer", ""), ("shop", f"{TAG}/")])
def test_a_general_processor_reads_the_linked_art(
    packs: dict[str, Path], reader: str, place: str
) -> None:
    """JSON-LD 1.1 by PyLD, without a network; classes and properties are those of CIDOC-CRM."""
    files = files_of(packs[reader])
    (made,) = jsonld.expand(json.loads(files[f"{place}linked-art.jsonld"]), {"base": "file:///p/"})
    assert made["@type"] == [f"{CRM}E22_Human-Made_Object"]
    spans = made[f"{CRM}P108i_was_produced_by"][0][f"{CRM}P4_has_time-span"]
    begins, ends = (
        spans[0][f"{CRM}{name}"][0]["@value"]
        for name in ("P82a_begin_of_the_begin", "P82b_end_of_the_end")
    )
    assert "1965" <= begins[:4] <= ends[:4] <= "1970"
    assert len(made[f"{CRM}P46_is_composed_of"]) > 10
    points = [
        one["https://linked.art/ns/terms/digitally_shown_by"][0][
            "https://linked.art/ns/terms/access_point"
        ][0]["@id"]
        for one in made[f"{CRM}P138i_has_representation"]
    ]
    from urllib.parse import unquote

    paths = {place + unquote(one.removeprefix("file:///p/")) for one in points}
    assert paths == {one for one in files if one.startswith(f"{place}photographs/")}
    said = [one[f"{CRM}P190_has_symbolic_content"][0]["@value"]
            for one in made[f"{CRM}P1_is_identified_by"]]  # fmt: skip
    assert (SERIAL in said) is (reader == "shop")
    flat = jsonld.flatten(made)
    assert all(":" in key or key.startswith("@") for node in flat for key in node)  # no term lost


def test_what_cannot_be_packed_is_refused(stocked: Path, shop: Path, tmp_path: Path) -> None:
    with OpenShop(shop) as empty, OpenShop(stocked) as opened:
        with pytest.raises(NotFoundError, match="no report was issued to the buyer"):
            make_pack(empty, TAG, "buyer", tmp_path / "a")
        with pytest.raises(InputError, match="no such reader"):
            make_pack(empty, TAG, "thief", tmp_path / "a")
        (tmp_path / "b.zip").write_bytes(b"")
        with pytest.raises(ConflictError, match="is there"):
            make_pack(opened, TAG, "public", tmp_path / "b.zip")
    assert [one.name for one in tmp_path.iterdir() if one.name != "shop"] == ["b.zip"]


def test_a_zip_that_is_damaged_is_told(packs: dict[str, Path], tmp_path: Path) -> None:
    whole = packs["shop.zip"].read_bytes()
    place = whole.index(b"\xff\xd8\xff", 1000) + 400  # within a photograph
    (tmp_path / "a.zip").write_bytes(whole[:place] + bytes([whole[place] ^ 1]) + whole[place + 1 :])
    (found,) = check_file(tmp_path / "a.zip", Known())
    assert found.verdict is Verdict.BROKEN
    (tmp_path / "b.zip").write_bytes(whole[: len(whole) // 2])
    with pytest.raises(InputError, match="not a ZIP file"):
        check_file(tmp_path / "b.zip", Known())
    with zipfile.ZipFile(tmp_path / "c.zip", "w") as archive:
        archive.writestr("a.txt", b"x")
    with pytest.raises(InputError, match="not one bag"):
        check_file(tmp_path / "c.zip", Known())
