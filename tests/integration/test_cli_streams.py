"""``-``, ``--quiet``, completion, examples and the bar: a command line as POSIX has it."""

import io
import os
import pty
import subprocess
import sys
import zipfile
from contextlib import suppress
from pathlib import Path

import pytest

from fakes.commands import Done, Run
from heelstamp.cli.output import bar
from heelstamp.reference.example_files import example_file

ROOT = Path(__file__).parents[2]
EXAMPLE = (ROOT / "examples/outside-only.toml").read_text(encoding="utf-8")


def piped(*words: object, sent: bytes = b"", cwd: Path = ROOT, **env: str) -> Done:
    """Run the command as a process of its own, bytes in and bytes out."""
    command = [sys.executable, "-m", "heelstamp", *map(str, words)]
    done = subprocess.run(
        command, check=False, input=sent, capture_output=True, cwd=cwd, env={**os.environ, **env}
    )
    return Done(done.returncode, done.stdout.decode("latin-1"), done.stderr.decode())


def test_a_file_comes_by_standard_input(run: Run) -> None:
    named = run("date", ROOT / "examples/outside-only.toml")
    sent = run("date", "-", typed=EXAMPLE)
    assert sent == named
    assert sent.code == 0


def test_a_table_and_a_map_come_by_standard_input(run: Run, typed_shop: Path) -> None:
    table = (ROOT / "examples/wherry-sales.csv").read_text(encoding="utf-8")
    done = run("sales", "import", "-", "--as", "sallowby-wherry", "--shop", typed_shop, typed=table)
    assert done.code == 0, done.err
    columns = (ROOT / "examples/wherry-census-columns.toml").read_text(encoding="utf-8")
    census = ROOT / "examples/wherry-census.csv"
    words = ("--as", "sallowby-wherry", "--columns", "-", "--shop", typed_shop)
    done = run("chronology", "import", census, *words, typed=columns)
    assert done.code == 0, done.err


def test_a_text_comes_by_standard_input_and_a_word_stays_a_word(run: Run, typed_shop: Path) -> None:
    assert run("read", "-", typed="137-6-43\n") == run("read", "137-6-43")
    told = run("show", "-", "--shop", typed_shop, typed="H-0001")
    assert (told.code, "(received: -)" in told.err) == (2, True)


def test_a_table_leaves_by_standard_output(typed_shop: Path) -> None:
    table = piped("spreadsheet", "write", "instruments", "-", "--shop", typed_shop)
    assert table.code == 0, table.err
    assert "H-0001" in table.out
    assert "H-0001" not in table.err


def test_nothing_comes_or_comes_twice(run: Run) -> None:
    empty = run("date", "-")
    assert (empty.code, "nothing came" in empty.err) == (2, True)
    twice = run("sales", "import", "-", "--columns", "-", typed="a")
    assert (twice.code, "stands twice for standard input" in twice.err) == (2, True)


def test_a_paper_and_a_pack_leave_by_standard_output(typed_shop: Path) -> None:
    paper = piped("paper", "report", "H-0001", "-o", "-", "--preview", "--shop", typed_shop)
    assert paper.out.startswith("%PDF-")
    assert paper.out.rstrip().endswith("%%EOF")
    assert "Report for the consignor: standard output (" in paper.err
    pack = piped("pack", "H-0001", "--for", "shop", "-o", "-", "--shop", typed_shop)
    assert pack.code == 0, pack.err
    with zipfile.ZipFile(io.BytesIO(pack.out.encode("latin-1"))) as read:
        assert any(one.endswith("bagit.txt") for one in read.namelist())


def test_a_command_that_fails_sends_nothing(typed_shop: Path) -> None:
    paper = piped("paper", "report", "H-0009", "-o", "-", "--shop", typed_shop)
    assert (paper.code, paper.out) == (2, "")


def test_quiet_says_nothing_but_errors_and_json(run: Run, tmp_path: Path) -> None:
    assert run("new", "--shop", tmp_path / "a", "--quiet") == (0, "", "")
    assert run("--quiet", "doctor", "--shop", tmp_path / "a").out == ""
    assert run("new", "--shop", tmp_path / "b", "--json", "--quiet").out.startswith("{")
    assert "no such" in run("show", "H-0009", "--quiet", "--shop", tmp_path / "a").err
    assert run("read", "137-6-43").out  # quiet for one command is not quiet for the next


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_completion_of_a_shell_is_told(shell: str) -> None:
    # the parser asks which shell started it, unless it is told; here that may be any, or none
    asked = {"_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    done = piped("--show-completion", shell, **asked)
    assert done.code == 0, done.err
    assert "HEELSTAMP" in done.out.upper()


def test_examples_are_found_from_anywhere(run: Run) -> None:
    assert run("date", "examples/outside-only.toml").code == 0
    assert example_file("../pyproject.toml") is None
    missing = run("date", "examples/none.toml")
    assert (missing.code, "cannot be read" in missing.err) == (2, True)


def test_examples_are_in_the_wheel(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(tmp_path)]
    subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
    (wheel,) = tmp_path.glob("*.whl")
    with zipfile.ZipFile(wheel) as read:
        names = set(read.namelist())
        data = read.read("heelstamp/examples/outside-only.toml")
    assert data.decode() == EXAMPLE
    assert {f"heelstamp/examples/{one.name}" for one in (ROOT / "examples").iterdir()} <= names


@pytest.mark.parametrize("colour", [True, False])
def test_a_bar_is_drawn_on_a_terminal_alone(monkeypatch: pytest.MonkeyPatch, colour: bool) -> None:
    """NO_COLOR as no-color.org words it: present and not empty, whatever its value."""
    main, terminal = pty.openpty()
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("NO_COLOR", "" if colour else "1")
    with os.fdopen(terminal, "w") as drawn:
        monkeypatch.setattr(sys, "stderr", drawn)
        with bar("Demonstration") as told:
            told(0.5, "the price")
        drawn.flush()
    shown = b""
    with suppress(OSError):  # Linux ends a terminal's output so
        while some := os.read(main, 100_000):
            shown += some
    os.close(main)
    assert b"the price" in shown
    assert (b"\x1b[38;5;" in shown) == colour


def test_no_bar_where_nobody_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    written = io.StringIO()
    monkeypatch.setattr(sys, "stderr", written)
    with bar("Demonstration") as told:
        told(0.5, "the price")
    assert written.getvalue() == ""
