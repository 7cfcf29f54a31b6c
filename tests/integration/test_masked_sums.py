"""Sums under masks between shops of few instruments: what is added, hidden, refused, joined."""

import json
import shutil
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from fakes.commands import Run
from fakes.wherry_census import edition, wherry_rows
from heelstamp.casework.federation.making import Teachers
from heelstamp.casework.federation.summary import steps_read, unsealed
from heelstamp.casework.ports import CensusRecord
from heelstamp.dating.federation.tables import in_steps
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop import create_shop
from heelstamp.shop.federation import census_rows, ground_of
from heelstamp.shop.joined_tables import contributions
from heelstamp.shop.known_shops import forget, know, known_shops
from heelstamp.shop.masked_sums import add_sum, enter_sum, mask_sum
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.signing import key_of

WHERRY = "sallowby-wherry"
NAMES = ("alder", "birch", "elm", "hazel", "oak")
Files = dict[str, bytes]


def shop_of(folder: Path, name: str, rows: slice) -> Path:
    create_shop(folder, name=name, currency="USD").close()
    records = [
        CensusRecord(
            f"{name}-{row.id}",
            row.how_dated,
            json.dumps(row.observations),
            row.evidence,
            row.read_as,
            None,
        )
        for row in wherry_rows()[rows]
    ]
    with OpenShop(folder) as made:
        made.census.add(edition().id, records)
    return folder


@pytest.fixture(scope="module")
def shops(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Five shops of eight instruments that know each other, and that have entered one sum."""
    root = tmp_path_factory.mktemp("shops")
    made = {
        name: shop_of(root / name, name, slice(4 * place, 4 * place + 8))
        for place, name in enumerate(NAMES)
    }
    keys = {}
    for name, folder in made.items():
        with OpenShop(folder) as shop:
            keys[name] = key_of(shop).fingerprint
    for name, folder in made.items():
        with OpenShop(folder) as shop:
            for other in NAMES:
                if other != name:
                    know(shop, keys[other], other)
    return made


@pytest.fixture(scope="module")
def entries(shops: dict[str, Path]) -> Files:
    found = {}
    for name, folder in shops.items():
        with OpenShop(folder) as shop:
            found[name] = enter_sum(shop, WHERRY, "spring")
            assert enter_sum(shop, WHERRY, "spring") == found[name]
    return found


@pytest.fixture(scope="module")
def parts(shops: dict[str, Path], entries: Files) -> Files:
    found = {}
    for name, folder in shops.items():
        with OpenShop(folder) as shop:
            others = {other: data for other, data in entries.items() if other != name}
            found[name] = mask_sum(shop, WHERRY, "spring", others, shops=5)
            assert mask_sum(shop, WHERRY, "spring", others, shops=5) == found[name]
            assert not list((folder / "key").glob("sum-*"))  # of no use any more
    return found


def others_of(files: Files, name: str) -> Files:
    return {other: data for other, data in files.items() if other != name}


def test_a_sum_is_what_the_others_tables_add_up_to(
    shops: dict[str, Path], parts: Files, tmp_path: Path
) -> None:
    oak = shutil.copytree(shops["oak"], tmp_path / "oak")
    with OpenShop(oak) as shop:
        done = add_sum(shop, WHERRY, "spring", others_of(parts, "oak"))
        assert done.shops == 5
        assert "f12" in done.features
        own, sum_ = contributions(shop, WHERRY)
        assert own.looks["f12"] == 8
        assert sum_.looks["f12"] == 20
        assert not sum_.single
    wanted = np.zeros(0)
    for name in NAMES[:-1]:
        with OpenShop(shops[name]) as shop:
            ground = ground_of(shop, WHERRY)
            some = Teachers.of(census_rows(shop, WHERRY), ground)
            steps = in_steps(some.tables(ground, {"f12": 6.0})["f12"].log)
            wanted = wanted + steps if wanted.size else steps
    total = json.loads((oak / "federation/sums" / WHERRY / "spring/total.json").read_text())
    assert (steps_read(total["steps"]["f12"]) == wanted).all()


def test_a_part_alone_tells_nothing(parts: Files) -> None:
    import base64

    (table, *_) = json.loads(parts["elm"])["content"]["tables"]
    words = np.frombuffer(base64.b64decode(table["words"]), "<u8")
    assert len(words) == 1840
    bits = np.unpackbits(words.view(np.uint8))
    assert abs(bits.mean() - 0.5) < 0.01  # 117,760 bits: seven standard deviations


def test_a_sum_is_not_joined_without_one_of_its_shops(
    shops: dict[str, Path], parts: Files, tmp_path: Path
) -> None:
    oak = shutil.copytree(shops["oak"], tmp_path / "oak")
    with OpenShop(oak) as shop:
        add_sum(shop, WHERRY, "spring", others_of(parts, "oak"))
        elm = next(key for key, name in known_shops(shop).items() if name == "elm")
        assert len(contributions(shop, WHERRY, [elm])) == 1
        forget(shop, "elm")
        assert len(contributions(shop, WHERRY)) == 1


def test_what_is_missing_or_masked_otherwise_is_refused(
    shops: dict[str, Path], entries: Files, parts: Files, tmp_path: Path
) -> None:
    oak = shutil.copytree(shops["oak"], tmp_path / "oak")
    with OpenShop(oak) as shop:
        some = others_of(parts, "oak")
        missing = {name: some[name] for name in ("alder", "birch", "elm")}
        with pytest.raises(ConflictError, match="the part of every shop"):
            add_sum(shop, WHERRY, "spring", missing)
        with pytest.raises(InputError, match="another kind of file"):
            add_sum(shop, WHERRY, "spring", some | {"hazel": entries["hazel"]})
        value = json.loads(some["elm"])
        value["content"]["tables"].pop()
        with pytest.raises(InputError, match="changed after it was signed"):
            add_sum(shop, WHERRY, "spring", some | {"elm": json.dumps(value).encode()})
        with pytest.raises(ConflictError, match="masked nothing"):
            add_sum(shop, WHERRY, "autumn", some)
        with pytest.raises(ConflictError, match="did not enter"):
            mask_sum(shop, WHERRY, "autumn", entries, shops=5)
        with pytest.raises(ConflictError, match="in no sum before"):
            enter_sum(shop, WHERRY, "autumn")
        with pytest.raises(InputError, match="not a name of a sum"):
            enter_sum(shop, WHERRY, "../autumn")
        assert not (oak / "federation/sums" / WHERRY / "spring/total.json").exists()


def test_too_few_shops_and_strangers_are_refused(run: Run, entries: Files, tmp_path: Path) -> None:
    few = shop_of(tmp_path / "few", "few", slice(0, 8))
    files = []
    for name, data in entries.items():
        files.append(tmp_path / f"{name}.json")
        files[-1].write_bytes(data)
    where = (WHERRY, "spring")
    told: dict[str, Any] = {"--shop": few}
    shop = [word for pair in told.items() for word in pair]
    done = run("federation", "enter", *where, "-o", tmp_path / "e.json", *shop)
    assert done.code == 0, done.err
    masked = ("federation", "mask", *where, "--of", "6")
    done = run(*masked, *files, "-o", tmp_path / "p.json", *shop)
    assert "signed by nobody who is known here" in done.err
    with OpenShop(few) as opened:
        for name in ("alder", "birch"):
            _, key = unsealed(entries[name], name)
            know(opened, key, name)
    done = run(*masked, *files[:2], "-o", tmp_path / "p.json", *shop)
    assert "2 of 5 entries of other shops are here" in done.err
    masked = ("federation", "mask", *where, "--of", "3")
    done = run(*masked, *files[:2], "-o", tmp_path / "p.json", *shop)
    assert "fewer than 5 shops" in done.err
    assert not (tmp_path / "p.json").exists()
    small = shop_of(tmp_path / "small", "small", slice(0, 4))
    done = run("federation", "enter", *where, "-o", tmp_path / "e2.json", "--shop", small)
    assert "5 instruments" in done.err
    assert not (small / "federation").exists()


def test_the_commands_go_through(
    run: Run, shops: dict[str, Path], entries: Files, parts: Files, tmp_path: Path
) -> None:
    oak = shutil.copytree(shops["oak"], tmp_path / "oak")
    files: dict[str, list[Path]] = {"entries": [], "parts": []}
    for kind, some in (("entries", entries), ("parts", parts)):
        for name, data in others_of(some, "oak").items():
            files[kind].append(tmp_path / f"{kind}-{name}.json")
            files[kind][-1].write_bytes(data)
    where, shop = (WHERRY, "spring"), ("--shop", oak)
    out = tmp_path / "part.json"
    done = run("federation", "mask", *where, *files["entries"], "--of", 5, "-o", out, *shop)
    assert "all the others together could find it" in " ".join(done.out.split())
    assert out.read_bytes() == parts["oak"]
    done = run("federation", "sum", *where, *files["parts"], *shop)
    assert done.code == 0, done.err
    joined = run("federation", "join", WHERRY, "-o", tmp_path / "j.toml", "--json", *shop)
    assert joined.code == 0, joined.err
    told = json.loads(joined.out)["shops"]
    assert [one["name"] for one in told if one["log_bayes_factors"] is None] == [
        "sum spring of 4 other shops"
    ]
