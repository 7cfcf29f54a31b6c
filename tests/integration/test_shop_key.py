"""The shop's key: made with the shop or its first paper, protected, renewed, kept in backups."""

from __future__ import annotations

import json
import stat
from pathlib import Path

import pytest

from fakes.time_stamps import AT, time_stamp_authority
from fakes.web_shop import TAG
from heelstamp.archive.signed import SignatureFault, read_signature, signed_data
from heelstamp.errors import ConflictError, InputError, StorageError
from heelstamp.shop.backup import backup_folder, make_backup, restore_backup
from heelstamp.shop.carrying_out import export_dossiers
from heelstamp.shop.forms import issue_form
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.settings import read_settings, write_settings
from heelstamp.shop.shop_key import (
    PASSPHRASE_FILE,
    key_faults,
    known_keys,
    make_key,
    protect,
    renew,
    shop_key,
)
from heelstamp.shop.signing import sign_state, time_stamp

WORDS = "seven herons stand quietly"


def only_its_owner_reads(path: Path) -> bool:
    return stat.S_IMODE(path.stat().st_mode) == 0o600


def test_a_new_shop_has_a_key_that_only_its_owner_reads(shop: Path) -> None:
    assert only_its_owner_reads(shop / "key" / "shop.key")
    (known,) = known_keys(shop).values()
    assert not known.earlier
    assert key_faults(shop) == ()


def test_an_old_shop_gets_one_with_its_first_paper(shop: Path) -> None:
    for path in (shop / "key").iterdir():
        path.unlink()
    (shop / "key").rmdir()
    assert not known_keys(shop)
    with OpenShop(shop) as opened:
        digest = issue_form(opened, TAG, "permission", id_="a", by="examiner A")
        assert sign_state(opened, digest).said == "signed with this shop's key"
    assert only_its_owner_reads(shop / "key" / "shop.key")


def test_what_a_renewed_key_signed_stays_the_shops(shop: Path) -> None:
    with OpenShop(shop) as opened:
        first = issue_form(opened, TAG, "permission", id_="a", by="examiner A")
        before = sign_state(opened, first).fingerprint
        after = renew(shop, opened.name)
        second = issue_form(opened, TAG, "permission", id_="b", by="examiner A")
        assert sign_state(opened, first).said == "signed with an earlier key of this shop"
        assert sign_state(opened, second).said == "signed with this shop's key"
        assert sign_state(opened, second).fingerprint == after != before
        assert [one.earlier for one in known_keys(shop).values()] == [True, False]


def test_a_protected_key_signs_with_its_passphrase_alone(
    shop: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with pytest.raises(InputError, match="at least 12"):
        protect(shop, passphrase="short", now="")
    protect(shop, passphrase=WORDS, now="")
    assert b"ENCRYPTED" in (shop / "key" / "shop.key").read_bytes()
    with OpenShop(shop) as opened:
        length = opened.subject(TAG).state.length
        with pytest.raises(InputError, match="protected by a passphrase"):
            issue_form(opened, TAG, "permission", id_="a", by="examiner A")
        assert opened.subject(TAG).state.length == length
        (tmp_path / "words").write_text(f"{WORDS}\n")
        (tmp_path / "words").chmod(0o600)
        monkeypatch.setenv(PASSPHRASE_FILE, str(tmp_path / "words"))
        digest = issue_form(opened, TAG, "permission", id_="a", by="examiner A")
        assert sign_state(opened, digest).said == "signed with this shop's key"
    with pytest.raises(InputError, match="does not open"):
        shop_key(shop, "x", passphrase="another one altogether")
    protect(shop, passphrase="", now=WORDS)
    shop_key(shop, "x")


@pytest.mark.parametrize("name", ["shop.key", "shop.crt"])
def test_a_damaged_missing_or_open_key_is_named(shop: Path, name: str) -> None:
    path = shop / "key" / name
    whole = path.read_bytes()
    path.write_bytes(b"\x00\xff")
    with pytest.raises(ConflictError, match="cannot be read"):
        shop_key(shop, "x")
    path.unlink()
    with pytest.raises(InputError, match="missing"):
        shop_key(shop, "x")
    assert "missing" in key_faults(shop)[0]
    path.write_bytes(whole)
    (shop / "key" / "shop.key").chmod(0o644)
    with pytest.raises(InputError, match="others may read"):
        shop_key(shop, "x")
    assert "others may read" in key_faults(shop)[0]


def test_a_key_beside_the_certificate_of_another_is_refused(shop: Path, tmp_path: Path) -> None:
    make_key(tmp_path, "Another")
    (shop / "key" / "shop.crt").write_bytes((tmp_path / "key" / "shop.crt").read_bytes())
    with pytest.raises(ConflictError, match="cannot be read"):
        shop_key(shop, "x")


def test_backups_hold_the_key_and_exports_do_not(shop: Path, tmp_path: Path) -> None:
    (shop / "certificate").mkdir()
    (shop / "certificate" / "authority.key").write_text("secret of the bench")
    make_backup(shop, backup_folder(tmp_path / "backups", lambda: ""))
    restore_backup(backup_folder(tmp_path / "backups", lambda: ""), tmp_path / "again")
    before, after = (shop_key(one, "x").fingerprint for one in (shop, tmp_path / "again"))
    assert before == after
    assert only_its_owner_reads(tmp_path / "again" / "certificate" / "authority.key")
    export_dossiers(shop, [], tmp_path / "out")
    for path in tmp_path.joinpath("out").rglob("*"):
        assert path.suffix not in {".key", ".crt"}
        assert path.is_dir() or b"PRIVATE KEY" not in path.read_bytes()
        assert path.is_dir() or b"secret of the bench" not in path.read_bytes()


def test_settings_with_a_table_are_written_as_toml(shop: Path) -> None:
    """A shop with records of competence is restored with them."""
    import msgspec

    records = {"examiner A": 'twenty years at "the" bench', "ä": "b"}
    told = msgspec.structs.replace(read_settings(shop), records=records)
    write_settings(shop / "shop.toml", told)
    assert read_settings(shop) == told


def stamped(shop: Path, address: str) -> Path:
    with (shop / "shop.toml").open("a") as file:
        file.write(f"time_stamp_authority = {json.dumps(address)}\n")
    return shop


def test_a_time_stamp_is_taken_where_the_shop_names_an_authority(shop: Path) -> None:
    with time_stamp_authority() as address, OpenShop(stamped(shop, address)) as opened:
        digest = issue_form(opened, TAG, "permission", id_="a", by="examiner A")
        pdf = opened.files.get(digest)
        assert sign_state(opened, digest).stamped == AT.strftime("%Y-%m-%dT%H:%M:%SZ")
    found = read_signature(pdf)
    assert found.authority.startswith("A clock of the tests, certificate ")
    assert seen_by_a_general_validator(pdf) == AT
    for place in (500, len(pdf) // 2, pdf.index(b"/Contents <") + 2000):
        changed = bytearray(pdf)
        changed[place] ^= 1
        with pytest.raises(SignatureFault):
            read_signature(bytes(changed))


def seen_by_a_general_validator(pdf: bytes) -> object:
    import io

    from asn1crypto import x509
    from pyhanko.pdf_utils.reader import PdfFileReader
    from pyhanko.sign.validation import validate_pdf_signature
    from pyhanko_certvalidator import ValidationContext

    (one,) = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
    token = one.signer_info["unsigned_attrs"][0]["values"][0]["content"]
    roots = [one.signer_cert, x509.Certificate.load(token["certificates"][0].chosen.dump())]
    status = validate_pdf_signature(one, ValidationContext(trust_roots=roots))
    assert status.bottom_line
    return status.timestamp_validity.timestamp


def test_without_an_answer_there_is_no_paper_and_it_can_be_issued_again(shop: Path) -> None:
    with (
        time_stamp_authority(status=503) as address,
        OpenShop(stamped(shop, address)) as opened,
        pytest.raises(StorageError, match="no time stamp"),
    ):
        issue_form(opened, TAG, "permission", id_="a", by="examiner A")
    told = (shop / "shop.toml").read_text().rpartition("time_stamp_authority")[0]
    (shop / "shop.toml").write_text(told)
    with OpenShop(shop) as opened:
        issue_form(opened, TAG, "permission", id_="a", by="examiner A")


def test_a_stamp_that_answers_another_question_is_refused() -> None:
    with (
        time_stamp_authority(same=False) as address,
        pytest.raises(StorageError, match="another question"),
    ):
        time_stamp(address, b"a signature")


def test_a_stamp_over_another_signature_does_not_hold(shop: Path) -> None:
    key = shop_key(shop, "x")
    with time_stamp_authority() as address:
        token = time_stamp(address, b"another signature")
    from heelstamp.archive.signed import read_detached

    made = signed_data(b"a paper", key.certificate, key.sign, lambda _: token)
    with pytest.raises(SignatureFault) as fault:
        read_detached(b"a paper", made)
    assert fault.value.code == "stamp"
