"""Shop folders: made, opened, and refused with one clear message and nothing left behind."""

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from fakes.machines import small_disk, without_permission
from fakes.stores import AT, BY, INSTRUMENT
from heelstamp.casework.dossier import attach_photograph, open_dossier, state_of
from heelstamp.casework.journal_file import verify
from heelstamp.catalogue import parse_time
from heelstamp.errors import ConflictError, InputError, IntegrityError, StorageError
from heelstamp.shop import create_shop, is_shop, now, open_shop, read_settings

PLAIN: Any = {"name": 'Bench & Söhne "quoted" \\ 😀', "currency": "USD"}


def jpeg() -> bytes:
    import io

    from PIL import Image

    buffer = io.BytesIO()
    Image.new("RGB", (40, 30), "tan").save(buffer, "JPEG")
    return buffer.getvalue()


def test_a_shop_is_made_and_opened_again(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "shop"
    with create_shop(folder, examiners=["examiner A", "examiner B"], **PLAIN) as shop:
        open_dossier(shop, INSTRUMENT, at=AT, by=BY)
        attach_photograph(shop, "H-0001", jpeg(), {"id": "F1", "part": "body"}, at=AT, by=BY)
        made = state_of(shop, "H-0001")
    with open_shop(folder) as shop:
        assert (shop.name, shop.currency) == (PLAIN["name"], "USD")
        assert shop.examiners == ("examiner A", "examiner B")
        assert state_of(shop, "H-0001") == made
        assert made.photographs["F1"].width == 40
        assert verify(shop, "H-0001").verdict.value == "sound"
        assert shop.photographs.outgoing(jpeg(), "a", 20)[:2] == b"\xff\xd8"
    names = sorted(path.name for path in folder.iterdir())
    assert names == ["files", "heelstamp.db", "key", "shop.toml"]


@pytest.mark.postgres
def test_a_shop_on_postgresql(tmp_path: Path, postgres_address: str) -> None:
    folder = tmp_path / "shop"
    create_shop(folder, database=postgres_address, **PLAIN).close()
    with open_shop(folder) as shop:
        open_dossier(shop, INSTRUMENT, at=AT, by=BY)
        assert shop.journals.tags() == ("H-0001",)
    assert not (folder / "heelstamp.db").exists()


def test_a_shop_adds_kinds_of_instrument_as_files(tmp_path: Path) -> None:
    with create_shop(tmp_path / "shop", **PLAIN) as shop:
        parts = tmp_path / "shop" / "parts"
        parts.mkdir()
        (parts / "lap_steel.toml").write_text(
            'schema = "heelstamp/parts/1"\nkind = "lap_steel"\nlabel = "lap steel"\n'
            '[[opening]]\nkey = "outside"\nlabel = "nothing moved"\n'
            '[[part]]\nkey = "body"\nlabel = "body"\nassembly = "body"\nseen_from = "outside"\n'
        )
        state = open_dossier(shop, {**INSTRUMENT, "kind": "lap_steel"}, at=AT, by=BY)
        assert state.instrument.kind == "lap_steel"
        with pytest.raises(InputError, match=r"no parts tree for this kind .*zither"):
            open_dossier(shop, {**INSTRUMENT, "kind": "zither", "tag": "H-2"}, at=AT, by=BY)


@pytest.mark.parametrize("exists", [True, False])
def test_a_folder_that_is_not_a_shop(tmp_path: Path, exists: bool) -> None:
    folder = tmp_path / "shop"
    if exists:
        folder.mkdir()
    with pytest.raises(InputError, match="this folder is not a shop") as caught:
        open_shop(folder)
    assert caught.value.where == str(folder)
    assert caught.value.received == ("no shop.toml in it" if exists else "no such folder")
    assert "heelstamp new" in caught.value.remedy
    assert folder.exists() is exists
    assert not exists or list(folder.iterdir()) == []


def test_a_shop_is_not_made_over_another(tmp_path: Path) -> None:
    create_shop(tmp_path / "shop", **PLAIN).close()
    before = (tmp_path / "shop" / "shop.toml").read_bytes()
    with pytest.raises(ConflictError, match="this folder is a shop already"):
        create_shop(tmp_path / "shop", name="other", currency="EUR")
    assert (tmp_path / "shop" / "shop.toml").read_bytes() == before


def test_a_folder_with_other_things_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(ConflictError, match="a shop needs a folder of its own"):
        create_shop(tmp_path, **PLAIN)
    with pytest.raises(ConflictError, match=r"received: a file\)"):
        create_shop(tmp_path / "letter.txt", **PLAIN)
    assert [path.name for path in tmp_path.iterdir()] == ["letter.txt"]


@pytest.mark.parametrize(
    ("settings", "message"),
    [({"name": " "}, "shop, field name"), ({"currency": "dollars"}, "shop, field currency")],
)
def test_settings_that_cannot_be_are_refused_before_anything_is_made(
    tmp_path: Path, settings: Any, message: str
) -> None:
    with pytest.raises(InputError, match=message):
        create_shop(tmp_path / "shop", **{**PLAIN, **settings})
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ('schema = "heelstamp/shop/1"\nname = \n', "shop.toml, line 2"),
        ('schema = "heelstamp/shop/1"\nname = "x"\ncurrency = "usd"\n', "shop.toml, line 3, field"),
        ('schema = "heelstamp/shop/9"\nname = "x"\ncurrency = "USD"\n', "shop.toml, line 1"),
        ('schema = "heelstamp/shop/1"\nname = "x"\ncurrancy = "USD"\n', "line 3, field currancy"),
    ],
)
def test_a_broken_shop_file_names_its_line(tmp_path: Path, text: str, place: str) -> None:
    (tmp_path / "shop.toml").write_text(text)
    with pytest.raises(InputError) as caught:
        read_settings(tmp_path)
    assert place in caught.value.where
    assert caught.value.remedy


def test_a_missing_database_is_not_replaced_by_an_empty_one(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    create_shop(folder, **PLAIN).close()
    (folder / "heelstamp.db").unlink()
    with pytest.raises(IntegrityError, match="the shop's database is missing"):
        open_shop(folder)
    assert not (folder / "heelstamp.db").exists()


def test_no_permission_to_make_a_shop(tmp_path: Path) -> None:
    locked = tmp_path / "locked"
    locked.mkdir()

    def make() -> None:
        create_shop(locked / "shop", **PLAIN)

    kind, message = without_permission(make, locked)
    assert kind == "StorageError"
    assert "no permission" in message
    assert str(locked / "shop") in message
    assert list(locked.iterdir()) == []


def test_no_permission_to_open_a_shop(tmp_path: Path) -> None:
    folder = tmp_path / "shop"
    create_shop(folder, **PLAIN).close()

    def use() -> None:
        with open_shop(folder) as shop:
            open_dossier(shop, INSTRUMENT, at=AT, by=BY)

    kind, message = without_permission(use, folder)
    assert kind == "StorageError"
    assert "heelstamp.db" in message


@pytest.mark.parametrize("kibibytes", [8, 24, 40])
def test_a_disk_that_fills_up_while_a_shop_is_made_leaves_nothing(
    tmp_path: Path, kibibytes: int
) -> None:
    with small_disk(tmp_path / "small", kibibytes) as mounted:
        if not mounted:
            pytest.skip("only the superuser can mount a small disk")
        folder = tmp_path / "small" / "shop"
        with pytest.raises(StorageError, match="the disk is full"):
            create_shop(folder, **PLAIN)
        assert list((tmp_path / "small").iterdir()) == []
        assert not is_shop(folder)


def test_the_clock_is_written_as_entries_write_it() -> None:
    assert now().endswith("Z")
    assert parse_time(now()).utcoffset() is not None


def test_nothing_heavy_is_imported_before_a_shop_is_opened() -> None:
    program = (
        "import sys, heelstamp.shop\n"
        "import heelstamp.casework.dossier, heelstamp.casework.examination\n"
        "heavy = {'sqlalchemy', 'alembic', 'PIL', 'typst'} & set(sys.modules)\n"
        "sys.exit(', '.join(sorted(heavy)) or 0)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, check=False)
    assert done.returncode == 0, done.stderr
