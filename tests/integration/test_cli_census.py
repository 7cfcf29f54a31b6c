"""Census, learning and redating as a person and as a program use them, against a real shop."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest

from fakes.commands import Run
from fakes.wherry_census import COLUMNS, TABLE, document
from heelstamp.casework.census.redating import Redated
from heelstamp.casework.census.rows import Conclusion
from heelstamp.chronology import parse_chronology
from heelstamp.errors import ConflictError, InputError
from heelstamp.reference.chronology_files import bundled_text
from heelstamp.shop import open_shop, redating
from heelstamp.shop.census import add_table
from heelstamp.shop.comparables import columns_in, table_in
from heelstamp.shop.learning import learn
from heelstamp.shop.makers import earlier_edition, write_edition
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.toml_revision import toml_of

WHERRY = "sallowby-wherry"
HERO = TABLE.parent / "wherry-s10350.toml"
DONE, FINDINGS, MISUSE, UNDECIDED = range(4)


@pytest.fixture
def census_shop(empty_shop: Path) -> Path:
    """A shop with the census of thirty."""
    with OpenShop(empty_shop) as census_shop:
        add_table(census_shop, WHERRY, table_in(TABLE), columns_in(COLUMNS))
    return empty_shop


def moved_edition(width: float = 8.0) -> dict[str, Any]:
    new = document()
    new["edition"] = "moved"
    for row in new["feature"]:
        for change in row.get("change", []):
            change["width"] = width
    return new


def opened(run: Run, census_shop: Path) -> None:
    """Open a dossier with everything seen on the invented guitar."""
    where = ("--shop", str(census_shop))
    made = run(
        "new",
        "H-0001",
        "--maker",
        "Sallowby Instrument Works",
        "--model",
        "Wherry",
        "--chronology",
        WHERRY,
        *where,
    )
    assert made.code == DONE, made.err
    added = run("add", "H-0001", "--from", str(HERO), *where)
    assert added.code == DONE, added.err


def redate(census_shop: Path, **named: Any) -> Redated:
    with OpenShop(census_shop) as opened:
        return redating.redate(opened, WHERRY, **named)


def kept(census_shop: Path) -> dict[str, str | None]:
    with open_shop(census_shop) as opened:
        return {one.id: one.conclusion for one in opened.census.rows(WHERRY)}


def test_a_table_is_imported_and_told(run: Run, empty_shop: Path) -> None:
    words = ("chronology", "import", str(TABLE), "--as", WHERRY, "--columns", str(COLUMNS))
    done = run(*words, "--shop", str(empty_shop), "--json")
    assert done.code == DONE, done.err
    told = json.loads(done.out)
    assert (len(told["added"]), told["teaching"], told["total"]) == (30, 28, 30)
    again = run(*words, "--shop", str(empty_shop))
    assert again.code == MISUSE
    assert "in the census already" in again.err
    assert len(kept(empty_shop)) == 30


def test_bad_cells_are_all_told_and_nothing_is_taken(
    run: Run, empty_shop: Path, tmp_path: Path
) -> None:
    text = TABLE.read_text("utf-8").replace("62/10 T", "62/19 T").replace("X 56", "XV 56")
    broken = tmp_path / "broken.csv"
    broken.write_text(text, "utf-8")
    words = ("chronology", "import", str(broken), "--as", WHERRY, "--columns", str(COLUMNS))
    done = run(*words, "--shop", str(empty_shop))
    assert done.code == MISUSE
    lines = done.err.strip().splitlines()
    assert "2 cells cannot be used; nothing was taken" in lines[0]
    assert "row 5, column body" in lines[1]
    assert "row 19, column neck" in lines[2]
    as_json = run(*words, "--shop", str(empty_shop), "--json")
    assert len(json.loads(as_json.out)["cells"]) == 2
    assert kept(empty_shop) == {}


def test_misuse_is_told(run: Run, empty_shop: Path) -> None:
    where = ("--shop", str(empty_shop))
    told = {
        ("chronology", "import", "x.csv"): "--as",
        ("chronology", "import", "x.csv", "--as", WHERRY): "cannot be read",
        ("chronology", "import", "H-0009"): "no such dossier",
        ("chronology", "learn", WHERRY): "nothing to learn from",
        ("chronology", "learn", "nobody"): "no such chronology",
    }
    for words, said in told.items():
        done = run(*words, *where)
        assert done.code == MISUSE, words
        assert said in done.err
        assert "Traceback" not in done.err


def test_learn_writes_an_edition_keeps_the_one_before_and_redate_tells_what_moves(
    run: Run, census_shop: Path
) -> None:
    where = ("--shop", str(census_shop))
    done = run("chronology", "learn", WHERRY, "--edition", "2026-12", *where, "--json")
    assert done.code == DONE, done.err
    told = json.loads(done.out)
    assert (told["taught"], told["never_teach"], told["edition"]) == (28, 2, "2026-12")
    assert {one["feature"] for one in told["changes"]} >= {f"f{n:02d}" for n in range(1, 15)}
    folder = census_shop / "chronologies"
    new = tomllib.loads((folder / f"{WHERRY}.toml").read_text("utf-8"))
    assert new["edition"] == "2026-12"
    before = folder / "earlier" / f"{WHERRY}-{document()['edition']}.toml"
    assert tomllib.loads(before.read_text("utf-8")) == document()
    checked = run("chronology", "check", WHERRY, *where)
    assert "2026-12" in checked.out

    first = run("redate", *where, "--json")
    assert first.code == FINDINGS
    told = json.loads(first.out)
    result = told["chronologies"][WHERRY]
    assert (result["instruments"], told["kept"]) == (30, False)
    assert 0 < result["moved"] == len(result["worst"]) <= 20
    assert {"id", "median", "ends_90", "turned"} <= result["worst"][0].keys()
    assert first.err == ""
    assert run("redate", *where, "--json").out == first.out  # nothing was written
    text = run("redate", "--chronology", WHERRY, "--keep", *where)
    assert f"{result['moved']} moved" in text.out
    assert "are kept" in text.out
    again = run("redate", *where)
    assert again.code == DONE
    assert "0 moved" in again.out


def test_learning_without_the_shop_being_touched(
    run: Run, census_shop: Path, tmp_path: Path
) -> None:
    out, picture = tmp_path / "learned.toml", tmp_path / "held.svg"
    done = run(
        "chronology",
        "learn",
        WHERRY,
        "--edition",
        "x",
        "--out",
        str(out),
        "--shop",
        str(census_shop),
        "--calibration",
        str(picture),
        "--least",
        "26",
    )
    assert done.code == DONE, done.err
    assert not (census_shop / "chronologies").exists()
    assert tomllib.loads(out.read_text("utf-8"))["edition"] == "x"
    assert picture.read_text("utf-8").startswith("<svg")
    text = " ".join(done.out.split())
    assert "Of 28 instruments dated without their marks" in text
    assert "the 50 % ranges held" in text
    other = run("redate", "--chronology", str(out), "--shop", str(census_shop), "--json")
    assert json.loads(other.out)["chronologies"][WHERRY]["instruments"] == 30


def test_a_dossier_joins_the_census_when_its_instrument_has_left(
    run: Run, empty_shop: Path
) -> None:
    where = ("--shop", str(empty_shop))
    opened(run, empty_shop)
    run(
        "add",
        "H-0001",
        "custody",
        "event=received",
        "giver=a consignor",
        "receiver=examiner A",
        *where,
    )
    refused = run("chronology", "import", "H-0001", *where)
    assert refused.code == MISUSE
    assert "not closed" in refused.err
    run(
        "add",
        "H-0001",
        "custody",
        "event=to owner",
        "giver=examiner A",
        "receiver=a consignor",
        *where,
    )
    added = run("chronology", "import", "H-0001", *where, "--json")
    assert added.code == DONE, added.err
    assert json.loads(added.out)["added"] == ["H-0001"]
    conclusion = json.loads(kept(empty_shop)["H-0001"] or "{}")
    assert conclusion["median"].startswith("1965")


def test_dossiers_outside_the_census_are_dated_again_too(run: Run, empty_shop: Path) -> None:
    opened(run, empty_shop)
    alone = redate(empty_shop)
    assert (alone.count, alone.first) == (0, 1)  # nothing is known of an edition before
    slower = moved_edition()
    for row in slower["part"]:
        if "lag" in row:
            row["lag"]["mean"] += 6
            row["lag"]["tail_max"] = 40
    new = parse_chronology(slower, name="moved.toml")
    result = redate(empty_shop, new=new)
    assert (result.count, result.moved) == (1, 1)
    assert result.worst[0].id == "H-0001"


def test_processes_come_to_the_same(census_shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    new = parse_chronology(moved_edition(), name="moved.toml")
    here = redate(census_shop, new=new, keep=False)
    monkeypatch.setattr(redating, "FEW", 0)
    monkeypatch.setattr(redating, "BATCH", 7)
    steps: list[tuple[int, int]] = []
    before = kept(census_shop)
    there = redate(
        census_shop, new=new, keep=True, progress=lambda done, total: steps.append((done, total))
    )
    assert there.data() == here.data()
    assert steps[0] == (0, 30)
    assert steps[-1] == (30, 30)
    assert len(steps) == 6
    after = kept(census_shop)
    assert after != before
    assert all(json.loads(one or "")["edition"] == "moved" for one in after.values())


def test_a_failing_batch_keeps_nothing(census_shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    new = parse_chronology(moved_edition(), name="moved.toml")
    before = kept(census_shop)

    def stops(done: int, total: int) -> None:
        if done:
            raise KeyboardInterrupt

    monkeypatch.setattr(redating, "FEW", 0)
    monkeypatch.setattr(redating, "BATCH", 7)
    with pytest.raises(KeyboardInterrupt):
        redate(census_shop, new=new, keep=True, progress=stops)
    assert kept(census_shop) == before


def test_rows_read_otherwise_are_read_anew(census_shop: Path) -> None:
    new = moved_edition()
    new["writing"] = [one for one in new["writing"] if one["part"] != "neck"]
    result = redate(census_shop, new=parse_chronology(new, name="x"))
    assert result.count == 30
    assert result.moved > 20


def test_editions_before_are_never_overwritten_with_others(census_shop: Path) -> None:
    with OpenShop(census_shop) as opened:
        new = learn(opened, WHERRY, "2026-12").document
        write_edition(opened, WHERRY, new)
        assert earlier_edition(opened, WHERRY) is not None
        other = census_shop / "chronologies" / f"{WHERRY}.toml"
        changed = {**document(), "note": "another one"}
        other.write_text(toml_of(changed), "utf-8")
        with pytest.raises(ConflictError, match="another edition of this name"):
            write_edition(opened, WHERRY, new)
        assert tomllib.loads(other.read_text("utf-8")) == changed
        with pytest.raises(InputError, match="written as TOML"):
            write_edition(opened, WHERRY, new, Path("x.json"))


def test_a_learned_edition_keeps_the_comments_of_the_one_before(census_shop: Path) -> None:
    before = bundled_text(WHERRY)
    with OpenShop(census_shop) as opened:
        path = write_edition(opened, WHERRY, learn(opened, WHERRY, "2026-12").document)
    comments = [line for line in before.splitlines() if line.startswith("#")]
    assert len(comments) > 5
    assert [one for one in path.read_text("utf-8").splitlines() if one.startswith("#")] == comments


def test_conclusions_are_kept_with_the_row(census_shop: Path) -> None:
    import msgspec

    made = [msgspec.json.decode(one or "", type=Conclusion) for one in kept(census_shop).values()]
    assert all(one.edition == document()["edition"] for one in made)
    assert sum(one.withheld for one in made) < 3
