"""What an attacker tried: each gives one message and a code, and harms nothing."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from fakes.commands import OPENING, Done, Run

ROOT = Path(__file__).parents[2]
OUTSIDE = ROOT / "examples" / "outside-only.toml"


def check_refused(done: Done, words: str, code: int = 2) -> None:
    """Check for the refusal that is meant, in one message, and not another by accident."""
    assert done.code == code, done.err
    assert words in done.err + done.out
    assert "Traceback" not in done.err
    assert "Warning" not in done.err
    assert "Traceback" not in done.err
    assert "Warning" not in done.err


def test_a_paper_never_replaces_what_is_not_a_file(run: Run, tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe")
    (tmp_path / "link").symlink_to(tmp_path / "elsewhere.pdf")
    for name in ("pipe", "link", ".", "", str(tmp_path)):
        done = run("paper", "report", str(OUTSIDE), "-o", name)
        check_refused(done, "not the name of a file")
    assert (tmp_path / "pipe").is_fifo()
    assert (tmp_path / "link").is_symlink()
    for name in ("no/such/folder.pdf", "n" * 254 + ".pdf"):
        done = run("paper", "report", str(OUTSIDE), "-o", name)
        check_refused(done, "could not be written")


def test_a_fresh_demo_never_removes_a_persons_dossier(run: Run, tmp_path: Path) -> None:
    made = run("new", "H-9", "--shop", "d", "--name", "Demonstration shop (invented)", *OPENING)
    assert made.code == 0
    check_refused(run("demo", "--shop", "d", "--fresh"), "dossiers of yours")
    assert run("show", "H-9", "--shop", "d").code == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("x = " + "[" * 4000, "nested too deeply"),
        ("x = " + "9" * 5000, "number too long"),
        (
            OUTSIDE.read_text("utf-8").replace("S10350", "S" + "9" * 330),
            "too long for a serial number",
        ),
    ],
    ids=["deep", "long number", "long serial"],
)
def test_a_hostile_examination_is_one_message(
    run: Run, tmp_path: Path, text: str, words: str
) -> None:
    (tmp_path / "e.toml").write_text(text, "utf-8")
    check_refused(run("date", "e.toml"), words)


def test_half_a_character_is_refused(run: Run, tmp_path: Path) -> None:
    (tmp_path / "e.json").write_text('{"schema": "heelstamp/examination/1", "x": "\\ud800"}')
    check_refused(run("date", "e.json"), "half a character")


CHRONOLOGY = (
    ROOT / "src" / "heelstamp" / "reference" / "chronologies" / "sallowby-wherry.toml"
).read_text("utf-8")


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("spread_months = 4", "spread_months = 1e-100", "field spread_months"),
        ('volume = "serial"', "volume = {}", "field volume"),
        ("sd = 2.0", "sd = 1e-200", "field lag"),
        ("[group_failure]", "[group_failures]", "group_failures"),
        ("invented = true", 'invented = "no"', "field invented"),
        ('parts = ["tuners"]', "parts = []", "field parts"),
    ],
)
def test_a_chronology_without_sense_is_one_message(
    run: Run, tmp_path: Path, old: str, new: str, words: str
) -> None:
    assert old in CHRONOLOGY
    (tmp_path / "w.toml").write_text(CHRONOLOGY.replace(old, new, 1), "utf-8")
    check_refused(run("chronology", "check", "w.toml"), words)


def test_an_emptied_or_garbled_database_is_damage(run: Run, tmp_path: Path) -> None:
    run("new", "--shop", "s")
    database = tmp_path / "s" / "heelstamp.db"
    database.write_bytes(b"")
    check_refused(run("verify", "--shop", "s"), "empty", 1)
    database.write_bytes(b"garbage" * 1000)
    check_refused(run("verify", "--shop", "s"), "damaged", 1)


def test_a_record_cannot_steer_the_terminal(run: Run, tmp_path: Path) -> None:
    text = OUTSIDE.read_text("utf-8").replace("Sallowby Instrument Works", "\\u001b[31mRed", 1)
    (tmp_path / "e.toml").write_text(text, "utf-8")
    done = run("date", "e.toml")
    assert done.code == 2
    assert "\x1b" not in done.out + done.err
    assert "field maker" in done.err
    assert "U+001B" in done.err.replace("\n", " ")


def test_a_reader_that_stops_is_no_finding(tmp_path: Path) -> None:
    line = f"{sys.executable} -m heelstamp date {OUTSIDE} | true; exit ${{PIPESTATUS[0]}}"
    done = subprocess.run(["bash", "-c", line], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    ascii_only = subprocess.run(
        [sys.executable, "-m", "heelstamp", "date", str(OUTSIDE)],
        cwd=tmp_path,
        env={**os.environ, "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=False,
    )
    assert ascii_only.returncode == 0


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("add", "H-1", "observation", "part=neck", "part=body"), "a field twice"),
        (("add", "H-1", "observation", "a=b", "--from", str(OUTSIDE)), "not both"),
        (
            ("new", "H-2.toml", "--maker", "M", "--model", "W", "--chronology", "sallowby-wherry"),
            "reads like a file's name",
        ),
    ],
)
def test_arguments_are_not_ignored(
    run: Run, tmp_path: Path, words: tuple[str, ...], told: str
) -> None:
    run("new", "H-1", "--shop", "s", *OPENING)
    check_refused(run(*words, "--shop", "s"), told)
