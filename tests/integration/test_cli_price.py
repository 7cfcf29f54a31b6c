"""``price``, ``sales`` and ``clearance`` as a person and as a program use them."""

import json
import tomllib
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from fakes.commands import OPENING, Done, Run, type_command

ROOT = Path(__file__).parents[2]
EXAMPLES = ROOT / "examples"
HERO = EXAMPLES / "wherry-s10350.toml"
SALES, TERMS = EXAMPLES / "wherry-sales.csv", EXAMPLES / "consignment.toml"
DONE, FINDINGS, MISUSE, UNDECIDED = range(4)
PRICE = (
    "price",
    str(HERO),
    "--comparables",
    str(SALES),
    "--as-of",
    "2026-11",
    "--grade",
    "B",
    "--colour",
    "standard",
    "--case",
)


@pytest.fixture(scope="module")
def priced_shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with one dossier, seen from outside, and the invented sales."""
    folder = tmp_path_factory.mktemp("shops") / "shop"
    run = partial(type_command, cwd=folder.parent)
    made = run("new", "H-0001", "--shop", str(folder), *OPENING, "--currency", "USD")
    assert made.code == DONE, made.err
    seen = run(
        "add",
        "H-0001",
        "observation",
        "part=neck_plate",
        "kind=serial",
        "status=read",
        "text=S10350",
        "--shop",
        str(folder),
    )
    assert seen.code == DONE, seen.err
    added = run("sales", "import", str(SALES), "--as", "sallowby-wherry", "--shop", str(folder))
    assert added.code == DONE, added.err
    text = "24 added to the comparables of sallowby-wherry: 20 sold, 4 asking; there are now 24."
    assert text in " ".join(added.out.split())
    return folder


def as_json(done: Done) -> Any:
    return json.loads(done.out)


def test_price_follows_the_contract(run: Run, tmp_path: Path) -> None:
    page, out = tmp_path / "statement.txt", tmp_path / "pictures"
    done = run(
        *PRICE,
        "--terms",
        str(TERMS),
        "--sold",
        "9,100",
        "--json",
        "--out",
        str(out),
        "--statement",
        str(page),
    )
    assert done.code == DONE, done.err
    found = as_json(done)
    low, high = found["market"]["interval_90"]
    assert low < found["market"]["median"] < high
    assert low <= 9042 <= high
    assert found["net"] == 7113.00
    assert found["insured"] > found["market"]["median"]
    assert found["comparables_used"] == 24
    assert found["without_inspection"][0]["part"] == "neck"
    assert {"label", "effect", "money", "basis"} <= found["drivers"][0].keys()
    assert found["consumer_index"].startswith("US consumer prices")
    assert "7,113.00 USD" in page.read_text("utf-8")
    assert found["statement"]["net"] == "7,113.00 USD"
    for one in ("distribution.svg", "drivers.svg", "market-index.svg"):
        assert (out / one).read_text("utf-8").startswith("<svg")
    again = as_json(run(*PRICE, "--terms", str(TERMS), "--sold", "9,100", "--json"))
    assert again["digest"] == found["digest"]
    assert again["market"] == found["market"]


def test_price_prints_three_numbers_apart_and_its_cautions(run: Run) -> None:
    text = " ".join(run(*PRICE, "--terms", str(TERMS), "--offer", "8,000").out.split())
    for told in (
        "Market: ",
        "Insured, as retail replacement: ",
        "Net to the consignor at 8,000 USD, offered: 6,167.00 USD.",
        "4 of 24 comparables are asking prices, kept apart",
        "The consumer index used ends",
        "not an appraisal under any licence",
        "The shop earns 1,520.00 USD of a sale at 8,000 USD.",
        "estimated on Nov 2026 from 20 sales and 4 asking prices",
    ):
        assert told in text


def test_without_terms_there_is_no_net(run: Run) -> None:
    found = as_json(run(*PRICE, "--json"))
    assert found["net"] is None
    assert found["settlement"] is None
    done = run(*PRICE, "--statement", "s.txt")
    assert done.code == MISUSE
    assert "a statement needs terms" in done.err
    other = run(*PRICE, "--terms", str(TERMS), "--statement", "s.doc")
    assert other.code == MISUSE
    assert "PDF or text" in other.err


def test_nominal_prices_leave_inflation_in(run: Run) -> None:
    found = as_json(run(*PRICE, "--nominal", "--json"))
    assert found["consumer_index"] == "none: prices as they were paid"
    assert all(one["real"] == one["nominal"] for one in found["market_index"])


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("price", str(HERO)), "no comparables to price from"),
        ((*PRICE[:4], "--as-of", "2026-13"), "--as-of"),
        ((*PRICE[:4], "--grade", "mint"), "not a grade"),
        ((*PRICE[:4], "--colour", "red"), "not a colour here"),
        ((*PRICE, "--sold", "1", "--offer", "2"), "sold and offered at once"),
        ((*PRICE, "--terms", "none.toml"), "cannot be read"),
        ((*PRICE, "--sold", "a lot"), "not an amount of money"),
        ((*PRICE[:4], "--as-of", "2021-05"), "too few comparables"),
    ],
)
def test_misuse_is_one_message(run: Run, words: tuple[str, ...], told: str) -> None:
    done = run(*words)
    assert done.code == MISUSE
    assert told in done.err
    assert "Traceback" not in done.err


def test_bad_cells_are_all_told(run: Run, tmp_path: Path, priced_shop: Path) -> None:
    table = tmp_path / "bad.csv"
    table.write_text("id,month,kind,USD,cond\na,2021-02,sold,x,B\nb,2021-02,sold,9000,Q\n")
    for words in (
        ("sales", "import", str(table), "--as", "sallowby-wherry", "--shop", str(priced_shop)),
        ("price", str(HERO), "--comparables", str(table)),
    ):
        done = run(*words)
        assert done.code == MISUSE
        assert "2 cells cannot be used; nothing was taken" in done.err
        assert "row 2, column USD" in done.err
        assert "row 3, column cond" in done.err
        told = as_json(run(*words, "--json"))
        assert len(told["cells"]) == 2
    again = run(
        "sales", "import", str(SALES), "--as", "sallowby-wherry", "--shop", str(priced_shop)
    )
    assert again.code == MISUSE
    assert "the id of W01 again" in again.err
    listed = as_json(run("sales", "list", "sallowby-wherry", "--shop", str(priced_shop), "--json"))
    assert len(listed) == 24
    assert "W24" in run("sales", "list", "sallowby-wherry", "--shop", str(priced_shop)).out


def test_next_knows_money_where_there_are_comparables(run: Run, priced_shop: Path) -> None:
    rows = as_json(run("next", "H-0001", "--shop", str(priced_shop), "--json"))
    assert all(one["gain"]["money"] is not None for one in rows)
    neck = next(one for one in rows if one["inspection"] == "open:neck")
    assert neck["gain"]["money"] > 100


def test_a_shops_own_market_document_is_used(run: Run, priced_shop: Path) -> None:
    words = ("price", "H-0001", "--shop", str(priced_shop), "--as-of", "2026-11", "--json")
    before = as_json(run(*words))
    bundled = ROOT / "src" / "heelstamp" / "reference" / "market.toml"
    own = bundled.read_text("utf-8").replace("mean = -0.062", "mean = -0.223")
    assert tomllib.loads(own)["schema"] == "heelstamp/market/1"
    (priced_shop / "market.toml").write_text(own, "utf-8")
    after = as_json(run(*words))
    (priced_shop / "market.toml").unlink()
    assert before["without_inspection"][0]["share"] == pytest.approx(0.06, abs=0.002)
    assert after["without_inspection"][0]["share"] == pytest.approx(0.20, abs=0.002)
    assert after["digest"] != before["digest"]
    assert after["market"]["median"] < before["market"]["median"]


def test_clearance_asks_records_and_blocks(run: Run, priced_shop: Path) -> None:
    words = ("clearance", "H-0001", "--shop", str(priced_shop))
    first = run(*words)
    assert first.code == UNDECIDED
    assert "No list of stolen goods was searched" in " ".join(first.out.split())
    looked = run(
        "add",
        "H-0001",
        "decision",
        "about=material: looked",
        "decided=none found",
        "reason=board, nut, guard, inlay",
        "--shop",
        str(priced_shop),
    )
    assert looked.code == DONE, looked.err
    searched = run(*words, "--searched", "county list", "--json")
    assert searched.code == DONE
    assert as_json(searched)["searches"][0]["reason"].endswith("for S10350")
    (priced_shop / "lists").mkdir()
    (priced_shop / "lists" / "county.csv").write_text("number,what\nS18350,guitar\n", "utf-8")
    near = run(*words)
    assert near.code == FINDINGS
    assert "The number S18350 in the list county may be this one" in " ".join(near.out.split())
    hit = run(*words, "--searched", "county list", "--result", "listed 2019", "--json")
    assert hit.code == FINDINGS
    assert as_json(hit)["standing"] == "blocked"


def test_a_comparable_is_corrected_by_command(tmp_path: Path) -> None:
    from typer.testing import CliRunner

    from fakes.web_shop import make_shop
    from heelstamp.cli.app import app

    shop = make_shop(tmp_path)
    run = CliRunner()

    def told(*words: str) -> Any:
        done = run.invoke(app, [*words, "--shop", str(shop), "--json"], standalone_mode=False)
        assert done.exception is None, done.output
        return json.loads(done.output)

    sales = str(ROOT / "examples" / "wherry-sales.csv")
    told("sales", "import", sales, "--as", "sallowby-wherry")
    rows = told("sales", "list", "sallowby-wherry")
    id_ = rows[4]["id"]
    fix = ("sales", "correct", id_, "--as", "sallowby-wherry", "--reason", "misread")
    assert told(*fix, "--set", "price=7777", "--set", "refretted=yes")["stands"]["minor"] == 777700
    held = {one["id"]: one for one in told("sales", "list", "sallowby-wherry")}
    assert (held[id_]["minor"], held[id_]["refretted"], len(held)) == (777700, True, 24)
    assert told(*fix, "--withdraw")["stands"] is None
    assert len(told("sales", "list", "sallowby-wherry")) == 23
    wrong = run.invoke(app, [*fix, "--set", "colr=red", "--shop", str(shop)], standalone_mode=False)
    assert "no such comparable stands" in str(wrong.exception)
