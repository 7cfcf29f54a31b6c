"""A shop in a folder that nobody can write: shown, verified, and every paper of it printed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fakes.machines import read_only
from fakes.stores import AT, BY
from fakes.web_shop import TAG, bench_of, make_shop
from heelstamp.casework.dossier import append_all
from heelstamp.casework.papers.document import READERS
from heelstamp.cli.app import app
from heelstamp.cli.papers import app as papers
from heelstamp.errors import StorageError
from heelstamp.shop import open_shop
from heelstamp.shop.soundness import shop_faults

OF_A_SALE = ("invoice", "money", "refund", "settlement")
"""Papers of a sale, which this shop has none of."""
NO_PDF = ("listing", "showing")
FORMS = sorted(
    str(one.name) for one in papers.registered_commands if one.name not in (None, "report")
)
TERMS = Path(__file__).parents[2] / "examples" / "consignment.toml"
PRINTED = ("buyer", "receipt")
"""Papers that were issued before the folder could not be written."""


def command(*words: object) -> None:
    app([str(one) for one in words], standalone_mode=False)


def content(folder: Path) -> dict[str, tuple[bytes, int]]:
    """Every file below, by path, with the time at which it was written."""
    return {
        one.relative_to(folder).as_posix(): (one.read_bytes(), one.stat().st_mtime_ns)
        for one in folder.rglob("*")
        if one.is_file()
    }


@pytest.fixture(scope="module")
def closed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, dict[str, bytes]]]:
    """The shop, and the papers that it issued before."""
    scratch = tmp_path_factory.mktemp("closed")
    shop = make_shop(scratch)
    (shop / "consignment.toml").write_bytes(TERMS.read_bytes())
    with open_shop(shop) as opened:
        entries = [
            ("custody", {"id": "k1", "event": "received", "giver": "the owner", "receiver": BY}),
            ("price", {"id": "p1", "of": "insured value", "amount": "9000", "currency": "USD",
                       "reason": "agreed"}),
            ("screw", {"id": "s1", "part": "neck", "opening": "neck off", "number": 1, "x": 0.5,
                       "y": 0.5}),
        ]  # fmt: skip
        append_all(opened, TAG, entries, at=AT, by=BY)  # type: ignore[arg-type]
    first = {one: scratch / f"{one}.pdf" for one in PRINTED}
    command("paper", "report", TAG, "--for", "buyer", "--shop", shop, "-o", first["buyer"])
    command("paper", "receipt", TAG, "--shop", shop, "-o", first["receipt"])
    with read_only(shop) as closed:
        if not closed:
            pytest.skip("no folder can be made here that its owner cannot write")
        yield shop, {one: path.read_bytes() for one, path in first.items()}


def test_nothing_can_be_written_there(closed: tuple[Path, dict[str, bytes]]) -> None:
    """The test of the test."""
    with pytest.raises(OSError, match=r"Read-only|Permission denied"):
        (closed[0] / "new").write_text("a")


@pytest.mark.parametrize(
    "words",
    [
        *(("report", "--for", one) for one in READERS if one not in PRINTED),
        *((one,) for one in FORMS if one not in {*PRINTED, *OF_A_SALE, *NO_PDF}),
    ],
    ids=" ".join,
)
def test_every_paper_is_printed(
    closed: tuple[Path, dict[str, bytes]], words: tuple[str, ...], tmp_path: Path
) -> None:
    shop, _ = closed
    before = content(shop)
    out = tmp_path / "paper.pdf"
    command("paper", words[0], TAG, *words[1:], "--preview", "--shop", shop, "-o", out)
    assert out.read_bytes()[:5] == b"%PDF-"
    assert content(shop) == before


def test_a_showing_page_is_shown(closed: tuple[Path, dict[str, bytes]], tmp_path: Path) -> None:
    shop, _ = closed
    before, out = content(shop), tmp_path / "showing.html"
    command("paper", "showing", TAG, "--preview", "--shop", shop, "-o", out)
    assert out.read_bytes().startswith(b"<!doctype html>")
    assert content(shop) == before


def test_a_paper_that_was_issued_is_printed_again(
    closed: tuple[Path, dict[str, bytes]], tmp_path: Path
) -> None:
    shop, issued = closed
    out = tmp_path / "again.pdf"
    command("paper", "report", TAG, "--for", "buyer", "--shop", shop, "-o", out)
    assert out.read_bytes() == issued["buyer"]
    command("paper", "receipt", TAG, "--shop", shop, "-o", out)
    assert out.read_bytes() == issued["receipt"]


def test_a_paper_is_not_issued_there(closed: tuple[Path, dict[str, bytes]], tmp_path: Path) -> None:
    shop, _ = closed
    before = content(shop)
    out = tmp_path / "new.pdf"
    with pytest.raises(StorageError, match=r"no permission to write|cannot be written"):
        command("paper", "report", TAG, "--for", "insurer", "--shop", shop, "-o", out)
    assert not out.exists()
    assert content(shop) == before


def test_it_is_verified_and_shown(
    closed: tuple[Path, dict[str, bytes]], capsys: pytest.CaptureFixture[str]
) -> None:
    shop, _ = closed
    command("verify", "--shop", shop)
    assert ": passed" in capsys.readouterr().out
    command("show", TAG, "--shop", shop)
    assert TAG in capsys.readouterr().out
    assert shop_faults(shop) == ()


PAGES = ("", "/marks", "/photographs", "/reports", "/money", "/work", "/questions", "/setup")


def test_its_pages_are_shown(closed: tuple[Path, dict[str, bytes]]) -> None:
    shop, _ = closed
    before = content(shop)
    with bench_of(shop) as bench:
        assert TAG in bench.get("/").text
        for page in PAGES:
            answer = bench.get(f"/dossier/{TAG}{page}")
            assert answer.status_code == 200, (page, answer.text[:300])
    assert content(shop) == before
