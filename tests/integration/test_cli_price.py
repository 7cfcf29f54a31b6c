"""``price``, ``sales`` and ``clearance`` as a person and as a program use them."""

import json
import subprocess
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

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

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Run:
    folder = tmp_path_factory.mktemp("price")

    def command(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "heelstamp", *words],
            cwd=folder,
            capture_output=True,
            text=True,
            check=False,
        )

    return command


@pytest.fixture(scope="module")
def shop(run: Run, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with one dossier, seen from outside, and the invented sales."""
    folder = tmp_path_factory.mktemp("shops") / "shop"
    made = run(
        "new",
        "H-0001",
        "--shop",
        str(folder),
        "--maker",
        "Sallowby Instrument Works",
        "--model",
        "Wherry",
        "--chronology",
        "sallowby-wherry",
        "--currency",
        "USD",
    )
    assert made.returncode == DONE, made.stderr
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
    assert seen.returncode == DONE, seen.stderr
    added = run("sales", "import", str(SALES), "--as", "sallowby-wherry", "--shop", str(folder))
    assert added.returncode == DONE, added.stderr
    text = "24 added to the comparables of sallowby-wherry: 20 sold, 4 asking; there are now 24."
    assert text in " ".join(added.stdout.split())
    return folder


def as_json(done: subprocess.CompletedProcess[str]) -> Any:
    return json.loads(done.stdout)


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
    assert done.returncode == DONE, done.stderr
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
    text = " ".join(run(*PRICE, "--terms", str(TERMS), "--offer", "8,000").stdout.split())
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
    assert done.returncode == MISUSE
    assert "a statement needs terms" in done.stderr
    other = run(*PRICE, "--terms", str(TERMS), "--statement", "s.doc")
    assert other.returncode == MISUSE
    assert "PDF or text" in other.stderr


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
    assert done.returncode == MISUSE
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_bad_cells_are_all_told(run: Run, tmp_path: Path, shop: Path) -> None:
    table = tmp_path / "bad.csv"
    table.write_text("id,month,kind,USD,cond\na,2021-02,sold,x,B\nb,2021-02,sold,9000,Q\n")
    for words in (
        ("sales", "import", str(table), "--as", "sallowby-wherry", "--shop", str(shop)),
        ("price", str(HERO), "--comparables", str(table)),
    ):
        done = run(*words)
        assert done.returncode == MISUSE
        assert "2 cells cannot be used; nothing was taken" in done.stderr
        assert "row 2, column USD" in done.stderr
        assert "row 3, column cond" in done.stderr
        told = as_json(run(*words, "--json"))
        assert len(told["cells"]) == 2
    again = run("sales", "import", str(SALES), "--as", "sallowby-wherry", "--shop", str(shop))
    assert again.returncode == MISUSE
    assert "the id of W01 again" in again.stderr
    listed = as_json(run("sales", "list", "sallowby-wherry", "--shop", str(shop), "--json"))
    assert len(listed) == 24
    assert "W24" in run("sales", "list", "sallowby-wherry", "--shop", str(shop)).stdout


def test_next_knows_money_where_there_are_comparables(run: Run, shop: Path) -> None:
    rows = as_json(run("next", "H-0001", "--shop", str(shop), "--json"))
    assert all(one["gain"]["money"] is not None for one in rows)
    neck = next(one for one in rows if one["inspection"] == "open:neck")
    assert neck["gain"]["money"] > 100


def test_a_shops_own_market_document_is_used(run: Run, shop: Path) -> None:
    words = ("price", "H-0001", "--shop", str(shop), "--as-of", "2026-11", "--json")
    before = as_json(run(*words))
    bundled = ROOT / "src" / "heelstamp" / "reference" / "market.toml"
    own = bundled.read_text("utf-8").replace("mean = -0.062", "mean = -0.223")
    assert tomllib.loads(own)["schema"] == "heelstamp/market/1"
    (shop / "market.toml").write_text(own, "utf-8")
    after = as_json(run(*words))
    (shop / "market.toml").unlink()
    assert before["without_inspection"][0]["share"] == pytest.approx(0.06, abs=0.002)
    assert after["without_inspection"][0]["share"] == pytest.approx(0.20, abs=0.002)
    assert after["digest"] != before["digest"]
    assert after["market"]["median"] < before["market"]["median"]


def test_clearance_asks_records_and_blocks(run: Run, shop: Path) -> None:
    words = ("clearance", "H-0001", "--shop", str(shop))
    first = run(*words)
    assert first.returncode == UNDECIDED
    assert "No list of stolen goods was searched" in " ".join(first.stdout.split())
    looked = run(
        "add",
        "H-0001",
        "decision",
        "about=material: looked",
        "decided=none found",
        "reason=board, nut, guard, inlay",
        "--shop",
        str(shop),
    )
    assert looked.returncode == DONE, looked.stderr
    searched = run(*words, "--searched", "county list", "--json")
    assert searched.returncode == DONE
    assert as_json(searched)["searches"][0]["reason"].endswith("for S10350")
    (shop / "lists").mkdir()
    (shop / "lists" / "county.csv").write_text("number,what\nS18350,guitar\n", "utf-8")
    near = run(*words)
    assert near.returncode == FINDINGS
    assert "The number S18350 in the list county may be this one" in " ".join(near.stdout.split())
    hit = run(*words, "--searched", "county list", "--result", "listed 2019", "--json")
    assert hit.returncode == FINDINGS
    assert as_json(hit)["standing"] == "blocked"
