"""Tables exchanged between shops by file: given, taken, refused, joined, taken out again."""

import json
import tomllib
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fakes.commands import Run
from fakes.wherry_shops import WHERRY, shop_of
from heelstamp.shop.federation import take
from heelstamp.shop.joined_tables import contributions, join
from heelstamp.shop.known_shops import forget, know
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.toml_revision import toml_of

DONE, FINDINGS, MISUSE = range(3)
GATHERED = ("--gathered", "all that came in")


@pytest.fixture(scope="module")
def shops(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    root = tmp_path_factory.mktemp("shops")
    return {
        "here": shop_of(root / "here", "Here"),
        "lock": shop_of(root / "lock", "Lock"),
        "weir": shop_of(root / "weir", "Weir", 2),
    }


def told(run: Run, *words: object, code: int = DONE) -> dict[str, Any]:
    done = run(*words, "--json")
    assert done.code == code, done.err + done.out
    value: dict[str, Any] = json.loads(done.out)
    return value


def key_of(run: Run, shop: Path) -> str:
    keys = told(run, "key", "show", "--shop", shop)["keys"]
    return str(keys[0]["fingerprint"])


@pytest.fixture(scope="module")
def files(shops: dict[str, Path], tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """What two shops handed out."""
    from heelstamp.shop.federation import give

    folder, found = tmp_path_factory.mktemp("files"), {}
    for name in ("lock", "weir"):
        with OpenShop(shops[name]) as opened:
            found[name] = folder / f"{name}.json"
            found[name].write_bytes(give(opened, WHERRY, gathered="all that came in").data)
    return found


@pytest.fixture
def here(shops: dict[str, Path], tmp_path: Path) -> Path:
    """A copy of the shop that takes."""
    import shutil

    return shutil.copytree(shops["here"], tmp_path / "shop")


def known(run: Run, here: Path, shops: dict[str, Path], *names: str) -> None:
    for name in names:
        told(run, "federation", "know", key_of(run, shops[name]), "--name", name, "--shop", here)


def test_two_shops_tables_become_an_edition(
    run: Run, here: Path, shops: dict[str, Path], files: dict[str, Path], tmp_path: Path
) -> None:
    known(run, here, shops, "lock", "weir")
    took = told(run, "federation", "take", *files.values(), "--shop", here)
    assert [one["shop"] for one in took["taken"]] == ["lock", "weir"]
    assert took["refused"] == []
    listed = told(run, "federation", "shops", "--shop", here)
    assert {one["name"]: one["tables"][0]["joins"] for one in listed} == {
        "lock": True,
        "weir": True,
    }
    out = tmp_path / "joined.toml"
    joined = told(run, "federation", "join", WHERRY, "--out", out, "--shop", here)
    assert joined["way"] == "contaminated"
    assert [one["name"] for one in joined["shops"]].count("this shop") == 1
    assert not any(one["asked_about"] for one in joined["shops"])
    with OpenShop(here) as opened:
        fewer = join(opened, WHERRY, without=["weir"]).new.changes
    sds = {one["feature"]: one["new"]["centre_sd"] for one in joined["changes"]}
    assert all(sds[one.feature] < one.centre_sd for one in fewer)
    document = tomllib.loads(out.read_text("utf-8"))
    f12 = next(row for row in document["feature"] if row["id"] == "f12")
    assert f12["change"][0]["source"].endswith("census tables of 3 shops")
    assert run("chronology", "check", out).code == DONE
    said = run("federation", "join", WHERRY, "--out", out, "--shop", here)
    assert "Learned from this shop's census and the tables of 2 others" in said.out
    assert said.out.count("\n") > 15


def test_a_shop_that_is_taken_out_leaves_nothing(
    run: Run, here: Path, shops: dict[str, Path], files: dict[str, Path]
) -> None:
    known(run, here, shops, "weir", "lock")
    with OpenShop(here) as opened:

        def joined(*without: str) -> bytes:
            return toml_of(join(opened, WHERRY, "joined", without=without).new.document).encode()

        take(opened, files["weir"].read_bytes(), "weir.json")
        first = joined()
        take(opened, files["lock"].read_bytes(), "lock.json")
        both, without = joined(), joined("lock")
        forget(opened, "lock")
        assert first == without == joined() != both


def test_own_instruments_enter_as_they_are(here: Path, shops: dict[str, Path]) -> None:
    with OpenShop(here) as opened:
        (own,) = contributions(opened, WHERRY)
    assert own.name == "this shop"
    assert own.looks["g4"] == 28
    assert any(np.ptp(table * 100 % 1) > 0.1 for table in own.tables.values())  # not in steps


def refusal(run: Run, here: Path, path: Path) -> str:
    (said,) = told(run, "federation", "take", path, "--shop", here, code=MISUSE)["refused"]
    assert isinstance(said, str)
    assert "\n" not in said
    return said


def test_what_is_refused_says_why_and_leaves_nothing(
    run: Run, here: Path, shops: dict[str, Path], files: dict[str, Path], tmp_path: Path
) -> None:
    key = key_of(run, shops["lock"])
    said = refusal(run, here, files["lock"])
    assert "signed by nobody who is known here" in said
    assert key in said
    known(run, here, shops, "lock")
    changed = json.loads(files["lock"].read_bytes())
    changed["content"]["tables"][0]["steps"][9] += "0"
    other = tmp_path / "changed.json"
    other.write_text(json.dumps(changed), "utf-8")
    assert "changed after it was signed" in refusal(run, here, other)
    for name, text, why in (
        ("cut.json", files["lock"].read_text()[:5000], "not a signed file of another shop"),
        ("other.json", "{}", "not a signed file of another shop"),
        ("signature.json", json.dumps(changed | {"signature": "AAAA"}), "signature"),
    ):
        (tmp_path / name).write_text(text, "utf-8")
        assert why in refusal(run, here, tmp_path / name)
    assert not (here / "federation" / "taken").exists()
    told(run, "federation", "take", files["lock"], "--shop", here)
    assert "here already" in refusal(run, here, files["lock"])
    assert "no such" in run("federation", "join", "nobody", "--shop", here).err
    assert run("doctor", "--shop", here).code == DONE


def signed_by(shop: Path, change: dict[str, Any], path: Path, source: Path) -> Path:
    """The same tables with something changed, signed by the shop itself."""
    from heelstamp.casework.federation.summary import sealed
    from heelstamp.shop.signing import key_of as shop_key_of

    with OpenShop(shop) as opened:
        key = shop_key_of(opened)
        content = json.loads(source.read_bytes())["content"] | change
        path.write_bytes(sealed(content, key.certificate, key.sign))
    return path


def test_tables_follow_each_other(
    run: Run, here: Path, shops: dict[str, Path], files: dict[str, Path], tmp_path: Path
) -> None:
    known(run, here, shops, "lock")
    told(run, "federation", "take", files["lock"], "--shop", here)
    other = signed_by(shops["lock"], {"day": "2026-01-01"}, tmp_path / "o.json", files["lock"])
    assert "one number with two contents" in refusal(run, here, other)
    second = {"number": 2, "before": "0" * 64}
    astray = signed_by(shops["lock"], second, tmp_path / "a.json", files["lock"])
    assert "do not follow the tables before them" in refusal(run, here, astray)
    third = signed_by(shops["lock"], {"number": 3}, tmp_path / "t.json", files["lock"])
    told(run, "federation", "take", third, "--shop", here)
    late = signed_by(shops["lock"], {"number": 2}, tmp_path / "l.json", files["lock"])
    assert "later tables of this shop are here" in refusal(run, here, late)
    (one,) = told(run, "federation", "shops", "--shop", here)  # type: ignore[misc]
    assert [held["joins"] for held in one["tables"]] == [False, True]


def test_tables_on_another_edition_and_of_another_maker(
    run: Run, here: Path, shops: dict[str, Path], files: dict[str, Path], tmp_path: Path
) -> None:
    known(run, here, shops, "lock")
    for change, why in (
        ({"ground": "1" * 64}, "made on another edition"),
        ({"chronology": "sallowby-lockkeeper"}, "made on another edition"),
        ({"chronology": "nobody"}, "a maker that is not known here"),
    ):
        path = signed_by(shops["lock"], change, tmp_path / "c.json", files["lock"])
        assert why in refusal(run, here, path)


def test_too_few_are_not_handed_out_and_nothing_is_written(run: Run, tmp_path: Path) -> None:
    small = shop_of(tmp_path / "small", "Small", 0)
    done = run("federation", "give", WHERRY, *GATHERED, "--shop", small)
    assert done.code == MISUSE
    assert "20 instruments" in done.err
    assert not (small / "federation").exists()
    wrong = run("federation", "give", WHERRY, "--gathered", "the best", "--shop", small)
    assert "no such way of gathering" in wrong.err


def test_tables_are_told_with_what_can_be_guessed(run: Run, here: Path, tmp_path: Path) -> None:
    done = run("federation", "give", WHERRY, *GATHERED, "-o", tmp_path / "t.json", "--shop", here)
    assert done.code == DONE, done.err
    assert "Months of single instruments can be guessed" in " ".join(done.out.split())
    assert (tmp_path / "t.json").stat().st_size < 400_000
    again = told(run, "federation", "give", WHERRY, *GATHERED, "--shop", here)
    assert again["number"] == 2


def test_keys_are_entered_by_hand(run: Run, here: Path, shops: dict[str, Path]) -> None:
    key = key_of(run, shops["lock"])
    spaced = " ".join(key[n : n + 4] for n in range(0, 64, 4)).upper()
    with OpenShop(here) as opened:
        assert know(opened, spaced, "  the  lock ") == key
    for words, why in (
        (("know", "1234", "--name", "x"), "no fingerprint of a key"),
        (("know", "0" * 64, "--name", "the lock"), "another key is called that"),
        (("know", "0" * 64, "--name", " "), "a shop is called something"),
        (("forget", "nobody"), "no shop that is known here"),
        (("join", WHERRY), "no other shop's tables"),
    ):
        done = run("federation", *words, "--shop", here)
        assert done.code == MISUSE
        assert why in done.err
    own = key_of(run, here)
    assert "a key of this shop" in run("federation", "know", own, "--name", "x", "--shop", here).err


def test_a_shop_does_not_take_its_own(shops: dict[str, Path], files: dict[str, Path]) -> None:
    from heelstamp.errors import ConflictError

    with (
        OpenShop(shops["lock"]) as opened,
        pytest.raises(ConflictError, match="this shop's own tables"),
    ):
        take(opened, files["lock"].read_bytes(), "lock.json")
