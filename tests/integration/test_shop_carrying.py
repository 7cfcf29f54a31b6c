"""Dossiers leave a shop in a bag (RFC 8493), and enter another with equal digests."""

from __future__ import annotations

import hashlib
import json
import shutil
import subprocess
import zipfile
from pathlib import Path
from typing import Any

import bagit
import pytest

from fakes.kills import TAG, decision, stocked_shop
from fakes.stores import AT, BY, INSTRUMENT
from heelstamp.archive import sha256
from heelstamp.archive.signed import read_detached
from heelstamp.casework.dossier import append, attach_photograph, open_dossier
from heelstamp.casework.ports import CensusRecord
from heelstamp.errors import ConflictError, InputError, IntegrityError
from heelstamp.shop import create_shop, open_shop
from heelstamp.shop.carrying_in import import_folder
from heelstamp.shop.carrying_out import export_dossiers
from heelstamp.shop.shop_key import known_keys
from heelstamp.shop.soundness import shop_faults


def jpeg() -> bytes:
    import io

    from PIL import Image

    buffer = io.BytesIO()
    Image.new("RGB", (40, 30), "tan").save(buffer, "JPEG")
    return buffer.getvalue()


@pytest.fixture
def shop(tmp_path: Path) -> Path:
    folder = tmp_path / "shop"
    stocked_shop(folder)
    with open_shop(folder) as opened:
        details = {"id": "F031", "part": "body"}
        attach_photograph(opened, TAG, jpeg(), details, at=AT, by=BY)
        second: Any = {**INSTRUMENT, "tag": "H-0002"}
        open_dossier(opened, second, at=AT, by=BY)
        rows = [CensusRecord(f"c{n}", "read", "[]", "[]", "0" * 64) for n in range(3)]
        opened.census.add("sallowby-wherry", rows)
    return folder


@pytest.fixture
def other(tmp_path: Path) -> Path:
    create_shop(tmp_path / "other", name="Other shop", currency="EUR").close()
    return tmp_path / "other"


def journals(folder: Path) -> dict[str, tuple[bytes, ...]]:
    with open_shop(folder) as opened:
        return {tag: opened.journals.lines(tag) for tag in opened.journals.tags()}


def test_a_dossier_leaves_and_comes_back(shop: Path, other: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    done = export_dossiers(shop, [TAG], out)
    assert (done.tags, done.files, done.lacking) == ((TAG,), 1, ())
    data = out / "data"
    names = sorted(path.relative_to(data).as_posix() for path in data.rglob("*") if path.is_file())
    assert "H-0001/photographs/F031 body.jpg" in names
    assert (data / "H-0001" / "photographs" / "F031 body.jpg").read_bytes() == jpeg()
    assert {"README.txt", "check.html", "files.json", "H-0001/findings/date.json"} <= set(names)
    assert "H-0001/tables/decision.csv" in names
    assert not [name for name in names if "sales" in name or "terms" in name]
    taken = import_folder(out, other)
    assert taken.entries == {TAG: 6}
    assert journals(other) == {TAG: journals(shop)[TAG]}
    assert shop_faults(other) == ()
    assert import_folder(out, other).entries == {TAG: 0}
    export_dossiers(other, [TAG], tmp_path / "again")
    for name in names:
        if name != "README.txt":  # which names the shop
            assert (tmp_path / "again" / "data" / name).read_bytes() == (data / name).read_bytes()


@pytest.mark.parametrize("zipped", [False, True])
def test_a_general_validator_finds_a_bag_valid(
    zipped: bool, shop: Path, other: Path, tmp_path: Path
) -> None:
    """The validator of the Library of Congress, package ``bagit``, never in its fast way."""
    out = tmp_path / "out"
    if zipped:
        export_dossiers(shop, [TAG], tmp_path / "pack.zip")
        with zipfile.ZipFile(tmp_path / "pack.zip") as archive:
            assert {one.compress_type for one in archive.infolist()} == {zipfile.ZIP_STORED}
            archive.extractall(tmp_path)
        (tmp_path / "pack").rename(out)
        assert import_folder(tmp_path / "pack.zip", other).entries == {TAG: 6}
    else:
        export_dossiers(shop, [TAG], out)
    bag = bagit.Bag(str(out))
    assert bag.version_info == (1, 0)
    assert bag.is_valid()
    changed = out / "data" / "H-0001" / "photographs" / "F031 body.jpg"
    data = bytearray(changed.read_bytes())
    data[len(data) // 2] ^= 1
    changed.write_bytes(data)
    assert not bagit.Bag(str(out)).is_valid()


def test_the_list_is_one_that_sha256sum_checks_and_the_shop_signed(
    shop: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    export_dossiers(shop, [TAG], out)
    lines = (out / "manifest-sha256.txt").read_text().splitlines()
    for line in lines:
        digest, name = line[:64], line[66:]
        assert line[64:66] == "  "
        assert hashlib.sha256((out / name).read_bytes()).hexdigest() == digest
    assert len(lines) == sum(path.is_file() for path in (out / "data").rglob("*"))
    tags, signature = (
        (out / name).read_bytes()
        for name in ("tagmanifest-sha256.txt", "tagmanifest-sha256.txt.p7s")
    )
    assert read_detached(tags, signature).fingerprint in known_keys(shop)


def test_a_general_program_checks_the_signature(shop: Path, tmp_path: Path) -> None:
    """OpenSSL's ``cms -verify`` (RFC 5652) of a signature that lies beside its content."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("needs openssl")
    export_dossiers(shop, [TAG], tmp_path / "out")
    command = [openssl, "cms", "-verify", "-binary", "-inform", "DER", "-noverify"]
    command += ["-in", "tagmanifest-sha256.txt.p7s", "-content", "tagmanifest-sha256.txt"]
    for changed in (False, True):
        done = subprocess.run(command, cwd=tmp_path / "out", capture_output=True, check=False)
        assert (done.returncode == 0) is not changed, done.stderr
        with (tmp_path / "out" / "tagmanifest-sha256.txt").open("a") as file:
            file.write(" ")


def test_a_folder_of_the_form_before_bags_is_taken_in(
    shop: Path, other: Path, tmp_path: Path
) -> None:
    """One list, SHA256SUMS, beside the files, as `sha256sum` writes it."""
    export_dossiers(shop, [TAG], tmp_path / "out")
    before = tmp_path / "before"
    shutil.copytree(tmp_path / "out" / "data", before)
    paths = sorted(one for one in before.rglob("*") if one.is_file())
    lines = [f"{sha256(one.read_bytes())}  {one.relative_to(before).as_posix()}" for one in paths]
    (before / "SHA256SUMS").write_text("\n".join(lines) + "\n")
    (before / "README.txt").write_text("changed")
    refused(before, other, IntegrityError, "not as it was written")
    shutil.copy(tmp_path / "out" / "data" / "README.txt", before)
    assert import_folder(before, other).entries == {TAG: 6}
    assert journals(other) == {TAG: journals(shop)[TAG]}


def test_the_whole_shop(shop: Path, other: Path, tmp_path: Path) -> None:
    export_dossiers(shop, [], tmp_path / "out")
    (other / "terms").mkdir()
    (other / "terms" / "H-0001.toml").write_text("commission = 0.3\n")
    taken = import_folder(tmp_path / "out", other)
    assert taken.rows == 9 + 3
    assert taken.own == ("terms/H-0001.toml",)
    assert journals(other) == journals(shop)
    with open_shop(shop) as one, open_shop(other) as two:
        for market in one.comparables.markets():
            assert one.comparables.rows(market) == two.comparables.rows(market)
        kept = list(one.census.rows("sallowby-wherry"))
        assert list(two.census.rows("sallowby-wherry")) == kept
        assert two.name == "Other shop"
    assert import_folder(tmp_path / "out", other).rows == 0
    assert (other / "terms" / "H-0001.toml").read_text() == "commission = 0.3\n"


def test_the_rest_of_a_journal_is_taken_in(shop: Path, other: Path, tmp_path: Path) -> None:
    export_dossiers(shop, [TAG], tmp_path / "first")
    import_folder(tmp_path / "first", other)
    with open_shop(shop) as opened:
        append(opened, TAG, "decision", decision(9), at=AT, by=BY)
    export_dossiers(shop, [TAG], tmp_path / "second")
    assert import_folder(tmp_path / "second", other).entries == {TAG: 1}
    assert journals(other)[TAG] == journals(shop)[TAG]


def refused(folder: Path, shop: Path, error: type[Exception], told: str) -> None:
    before = journals(shop)
    with open_shop(shop) as opened:
        files = opened.journals.files()
    with pytest.raises(error, match=told):
        import_folder(folder, shop)
    assert journals(shop) == before
    with open_shop(shop) as opened:
        assert opened.journals.files() == files
        assert opened.comparables.markets() == ()


def test_another_journal_of_the_tag_is_refused_whole(
    shop: Path, other: Path, tmp_path: Path
) -> None:
    export_dossiers(shop, [], tmp_path / "out")
    with open_shop(other) as opened:
        second: Any = {**INSTRUMENT, "tag": "H-0002"}
        open_dossier(opened, second, at="2026-11-03T09:14:00Z", by=BY)
    refused(tmp_path / "out", other, ConflictError, "another journal of this tag")


def test_another_row_of_an_id_is_refused_whole(shop: Path, other: Path, tmp_path: Path) -> None:
    export_dossiers(shop, [], tmp_path / "out")
    with open_shop(other) as opened:
        opened.census.add("sallowby-wherry", [CensusRecord("c1", "read", "[1]", "[]", "0" * 64)])
    refused(tmp_path / "out", other, ConflictError, "another row of this id")


def forge(folder: Path, name: str) -> None:
    """Give a changed file its new digest in the lists, as a forger would, and unsign them."""
    for manifest, path in (
        ("manifest-sha256.txt", f"data/{name}"),
        ("tagmanifest-sha256.txt", "manifest-sha256.txt"),
    ):
        lines = (folder / manifest).read_text().splitlines()
        digest = sha256((folder / path).read_bytes())
        told = [f"{digest}  {path}" if one[66:] == path else one for one in lines]
        (folder / manifest).write_text("\n".join(told) + "\n")
    (folder / "tagmanifest-sha256.txt.p7s").unlink()


def test_a_certificate_goes_to_no_other_shop(shop: Path, other: Path, tmp_path: Path) -> None:
    """Its keys speak for one shop; who hands in a folder must not plant one of his own."""
    out = tmp_path / "out"
    (shop / "certificate").mkdir()
    (shop / "certificate" / "authority.key").write_text("a secret")
    export_dossiers(shop, [], out)
    assert not (out / "data" / "shop" / "certificate").exists()
    before = tmp_path / "before"  # of the form whose list is planted in most easily
    shutil.copytree(out / "data", before)
    out, listed = before, [one for one in before.rglob("*") if one.is_file()]
    lines = [f"{sha256(one.read_bytes())}  {one.relative_to(out).as_posix()}" for one in listed]
    (out / "SHA256SUMS").write_text("\n".join(lines) + "\n")
    for name in (
        "certificate/authority.key",
        "key/shop.key",
        ".hidden/a.toml",
        "last-backup.json",
        "files/ab/cd",
    ):
        (out / "shop" / name).parent.mkdir(parents=True, exist_ok=True)
        (out / "shop" / name).write_text("planted")
        told = f"{sha256(b'planted')}  shop/{name}\n"
        with (out / "SHA256SUMS").open("a") as sums:
            sums.write(told)
    import_folder(out, other)
    planted = [one for one in other.rglob("*") if one.is_file() and b"planted" in one.read_bytes()]
    assert planted == []


@pytest.mark.parametrize("forged", [False, True])
@pytest.mark.parametrize("name", ["H-0001/journal.jsonl", "H-0001/photographs/F031 body.jpg"])
def test_damage_is_refused(
    name: str, forged: bool, shop: Path, other: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    export_dossiers(shop, [TAG], out)
    data = bytearray((out / "data" / name).read_bytes())
    data[len(data) // 2] ^= 1
    (out / "data" / name).write_bytes(data)
    if forged:
        forge(out, name)
    refused(
        out, other, IntegrityError, "not sound|not the one" if forged else "not as it was written"
    )


@pytest.mark.parametrize("name", ["H-0001/journal.jsonl", "H-0001/photographs/F031 body.jpg"])
def test_a_missing_file_is_refused(name: str, shop: Path, other: Path, tmp_path: Path) -> None:
    export_dossiers(shop, [TAG], tmp_path / "out")
    (tmp_path / "out" / "data" / name).unlink()
    refused(tmp_path / "out", other, IntegrityError, "not as it was written")


def test_a_file_that_no_list_names_is_missed(shop: Path, other: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    export_dossiers(shop, [TAG], out)
    (out / "data" / "files.json").write_text(json.dumps([]))
    forge(out, "files.json")
    refused(out, other, IntegrityError, "lacks a file that an entry names")


def test_a_photograph_that_is_lost_hinders_neither_way(
    shop: Path, other: Path, tmp_path: Path
) -> None:
    digest = sha256(jpeg())
    (shop / "files" / digest[:2] / digest[2:]).unlink()
    done = export_dossiers(shop, [TAG], tmp_path / "out")
    assert done.lacking == ("H-0001/photographs/F031 body.jpg: a kept file is missing",)
    assert "F031 body.jpg" in (tmp_path / "out" / "data" / "README.txt").read_text()
    import_folder(tmp_path / "out", other)
    assert journals(other)[TAG] == journals(shop)[TAG]
    assert [one.code for one in shop_faults(other)] == ["missing"]


@pytest.mark.parametrize(
    "line", ["x", f"{'0' * 64}  ../shop/shop.toml", f"{'0' * 64}  /etc/passwd"]
)
def test_a_list_that_leads_outside_is_refused(
    line: str, shop: Path, other: Path, tmp_path: Path
) -> None:
    export_dossiers(shop, [TAG], tmp_path / "out")
    with (tmp_path / "out" / "manifest-sha256.txt").open("a") as file:
        file.write(f"{line}\n")
    refused(tmp_path / "out", other, InputError, "not a line of digests")


def test_lists_that_are_not_those_that_were_signed_are_refused(
    shop: Path, other: Path, tmp_path: Path
) -> None:
    out = tmp_path / "out"
    export_dossiers(shop, [TAG], out)
    signature = (out / "tagmanifest-sha256.txt.p7s").read_bytes()
    (out / "data" / "README.txt").write_text("told otherwise")
    forge(out, "README.txt")
    (out / "tagmanifest-sha256.txt.p7s").write_bytes(signature)
    refused(out, other, IntegrityError, "not as it was written")


def test_what_was_added_to_a_bag_is_refused(shop: Path, other: Path, tmp_path: Path) -> None:
    export_dossiers(shop, [TAG], tmp_path / "out")
    (tmp_path / "out" / "data" / "more.txt").write_text("added")
    refused(tmp_path / "out", other, IntegrityError, "not as it was written")


def test_places_that_are_refused(shop: Path, other: Path, tmp_path: Path) -> None:
    with pytest.raises(ConflictError, match="a folder of its own"):
        export_dossiers(shop, [TAG], other)
    with pytest.raises(InputError, match="no such dossier"):
        export_dossiers(shop, ["H-0009"], tmp_path / "out")
    assert not (tmp_path / "out").exists()
    with pytest.raises(InputError, match="not an exported folder"):
        import_folder(shop, other)
