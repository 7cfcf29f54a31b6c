"""The command line as a person and as a program uses it: every command, every exit code."""

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from fakes.sealed import WHERRY_FORM_1

ROOT = Path(__file__).parents[2]
HERO = ROOT / "examples" / "wherry-s10350.toml"
OUTSIDE = ROOT / "examples" / "outside-only.toml"
DONE, FINDINGS, MISUSE, UNDECIDED = range(4)

CHRONOLOGY = ("check", "import", "learn")

Run = Callable[..., subprocess.CompletedProcess[str]]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    """Run a command in a folder of its own."""

    def command(*words: str, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "heelstamp", *words],
            cwd=cwd or tmp_path,
            capture_output=True,
            text=True,
            check=False,
        )

    return command


@pytest.fixture
def shop(run: Run, tmp_path: Path) -> Path:
    """A shop with one dossier."""
    folder = tmp_path / "shop"
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
    )
    assert made.returncode == DONE, made.stderr
    return folder


def as_json(done: subprocess.CompletedProcess[str]) -> Any:
    return json.loads(done.stdout)


def test_help_names_every_command_and_each_has_an_example(run: Run) -> None:
    text = run("--help").stdout
    commands = [
        "demo",
        "new",
        "add",
        "show",
        "read",
        "date",
        "next",
        "glow",
        "panel",
        "price",
        "sales",
        "clearance",
        "strings",
        "setup",
        "pitch",
        "crackle",
        "jack",
        "serve",
        "paper",
        "verify",
        "chronology",
        "account",
        "redate",
        "doctor",
    ]
    for command in commands:
        assert f" {command} " in text
    leaves = [[c] for c in commands if c not in ("paper", "chronology", "sales", "account")]
    groups = [["paper", "report"], ["sales", "import"], ["sales", "list"]]
    groups += [["account", one] for one in ("add", "list", "password", "remove")]
    for leaf in [*leaves, *groups, *(["chronology", one] for one in CHRONOLOGY)]:
        told = run(*leaf, "--help")
        assert told.returncode == DONE
        assert "Example: heelstamp" in " ".join(told.stdout.split())
        assert "--json" in told.stdout or leaf == ["serve"]  # which answers until it is stopped


def test_reading_a_mark_gives_all_decades(run: Run) -> None:
    done = run("read", "137-6-43", "--json")
    assert done.returncode == DONE
    years = {one["period"][:4] for one in as_json(done)["readings"]}
    assert years == {"1946", "1956", "1966"}
    assert all({"weight", "rule", "source"} <= one.keys() for one in as_json(done)["readings"])


def test_a_mark_no_rule_reads_is_not_decided_and_says_why(run: Run) -> None:
    done = run("read", "137-7-60")
    assert done.returncode == UNDECIDED
    assert "60" in done.stdout


def test_dating_a_file_follows_the_contract(run: Run) -> None:
    done = run("date", str(HERO), "--json")
    assert done.returncode == DONE, done.stderr
    finding = as_json(done)
    completion = finding["completion"]
    assert completion["withheld"] is None
    assert (
        completion["interval"]["90"][0] <= completion["median"] <= completion["interval"]["90"][1]
    )
    assert sum(completion["months"].values()) == pytest.approx(1, abs=1e-3)
    assert all(sum(states.values()) == pytest.approx(1) for states in finding["parts"].values())
    mark = finding["observations"]["mark-neck"]
    assert {one["period"] for one in mark["readings"]} == {"1965-03", "1965-08"}
    assert mark["leave_one_out"]["interval"]["90"]
    assert len(finding["digest"]) == 64


def test_dating_prints_sentences_and_names_what_was_not_used(run: Run) -> None:
    text = " ".join(run("date", str(HERO)).stdout.split())
    assert "Completed between" in text
    assert "marks are lower bounds" in text
    assert "not used for the date" in text
    assert "an invented maker" in text


def test_next_follows_the_contract(run: Run) -> None:
    done = run("next", str(OUTSIDE), "--json")
    assert done.returncode == DONE, done.stderr
    rows = as_json(done)
    assert {one["advice"] for one in rows} == {"do", "stop"}
    for one in rows:
        assert one["inspection"]
        assert 0 <= one["invasiveness"] <= 3
        assert one["minutes"] > 0
        assert one["consent"] in ("not needed", "granted", "refused", "not asked")
        assert {"date_bits", "parts", "money"} <= one["gain"].keys()
        assert one["reason"]
    assert rows[0]["inspection"] == rows[0]["plan"]["best"]
    guard = next(one for one in rows if one["inspection"] == "open:guard")
    assert guard["consent"] == "not asked"
    assert "Ask the owner first" in guard["reason"]
    assert guard["gain"]["date_bits"] > 0.3
    assert len(as_json(run("next", str(OUTSIDE), "--json", "--most", "2"))) == 2


def test_next_prints_a_front_and_what_is_left_alone(run: Run) -> None:
    text = " ".join(run("next", str(OUTSIDE), "--most", "3").stdout.split())
    assert text.startswith("Next: ")
    assert "more with --most" in text
    assert "Not to be done now, and why" in text
    assert "Ask the owner first, and log the answer" in text
    assert "is expected to be about" in text


def test_next_says_stop_when_nothing_is_left_to_do(run: Run) -> None:
    done = run("next", str(HERO))
    assert done.returncode == DONE
    assert done.stdout.startswith("Stop. ")


def test_doubts_are_a_key_of_the_finding_and_a_section_of_the_print(run: Run) -> None:
    plain = as_json(run("date", str(HERO), "--json"))
    done = run("date", str(HERO), "--doubts", "--json")
    assert done.returncode == DONE, done.stderr
    finding = as_json(done)
    doubts = finding.pop("doubts")
    assert finding == plain
    assert doubts["finding"] == plain["digest"]
    assert doubts["conflicts"] == []
    assert doubts["hangs_on"][0]["part"] == "pot_volume"
    assert len(doubts["sensitivity"]["rows"]) == 15
    text = " ".join(run("date", str(HERO), "--doubts").stdout.split())
    assert "What does not fit, and what the answer hangs on" in text
    assert "The date hangs most on the volume pot" in text
    assert "guard not settled" in text
    assert "What does not fit" not in run("date", str(HERO)).stdout


def test_what_is_unexplained_is_a_finding_against(run: Run, tmp_path: Path) -> None:
    seen = (
        '\n[[observation]]\nid = "rust"\npart = "plate_screws"\nkind = "sign"\nstatus = "read"\n'
        'sign = "uniform_rust_hidden_and_exposed"\noutcome = "present"\n'
    )
    path = tmp_path / "rusty.toml"
    path.write_text(HERO.read_text("utf-8") + seen, "utf-8")
    assert run("date", str(path)).returncode == DONE
    done = run("date", str(path), "--doubts")
    assert done.returncode == FINDINGS
    assert "Unexplained: rust is the same" in " ".join(done.stdout.split())


def test_a_dossier_is_entered_shown_dated_and_verified(run: Run, shop: Path) -> None:
    where = ("--shop", str(shop))
    added = run(
        "add",
        "H-0001",
        "observation",
        "part=neck",
        "kind=mark",
        "status=read",
        "text=64/11 T",
        *where,
        "--json",
    )
    assert added.returncode == DONE, added.stderr
    assert as_json(added)[0]["seq"] == 2
    run(
        "add",
        "H-0001",
        "observation",
        "part=neck_plate",
        "kind=serial",
        "status=read",
        "text=S08800",
        *where,
    )
    shown = run("show", "H-0001", "--part", "neck", *where)
    assert "64/11 T" in shown.stdout
    dated = as_json(run("date", "H-0001", *where, "--json"))
    assert dated["completion"]["median"].startswith(("1964", "1965"))
    journal = run("show", "H-0001", "--journal", *where)
    assert journal.stdout.count("examiner A") == 3
    verified = run("verify", "H-0001", *where)
    assert verified.returncode == DONE
    assert "sound" in verified.stdout
    entries = as_json(run("show", "H-0001", "--journal", *where, "--json"))
    assert [entry["form"] for entry in entries] == [2, 2, 2]
    known = run("verify", "H-0001", "--last", entries[1]["digest"], *where)
    assert "that of entry 2; 1 entered since" in known.stdout
    unknown = run("verify", "H-0001", "--last", "0" * 64, *where)
    assert unknown.returncode == FINDINGS


def test_a_journal_file_of_form_1_is_verified(run: Run) -> None:
    last = json.loads(WHERRY_FORM_1.read_bytes().splitlines()[-1])["digest"]
    done = run("verify", str(WHERRY_FORM_1), "--last", last)
    assert done.returncode == DONE
    assert "sound" in done.stdout


def test_a_report_is_written_whole_and_with_its_digest(
    run: Run, shop: Path, tmp_path: Path
) -> None:
    run("add", "H-0001", "--from", str(HERO), "--shop", str(shop))
    out = tmp_path / "report.pdf"
    done = run(
        "paper", "report", "H-0001", "--for", "buyer", "-o", str(out), "--shop", str(shop), "--json"
    )
    assert done.returncode == DONE, done.stderr
    import hashlib

    assert hashlib.sha256(out.read_bytes()).hexdigest() == as_json(done)["sha256"]
    assert out.read_bytes().startswith(b"%PDF-1.7")
    assert [one.name for one in tmp_path.iterdir() if "partial" in one.name] == []


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Any]:
    """The demonstration's shop, and what the command said of it."""
    folder = tmp_path_factory.mktemp("demo") / "shop"
    done = subprocess.run(
        [sys.executable, "-m", "heelstamp", "demo", "--shop", str(folder), "--json"],
        capture_output=True,
        text=True,
        check=True,
    )
    return folder, json.loads(done.stdout)


def test_the_demonstration_comes_out_as_it_was_planned(demo: tuple[Path, Any]) -> None:
    folder, said = demo
    assert said["verdict"] == "sound"
    assert said["finding"]["completion"]["median"] in ("1965-05", "1965-06", "1965-07")
    assert all(Path(path).stat().st_size > 100_000 for path in said["papers"].values())
    assert (folder / "shop.toml").exists()


@pytest.mark.parametrize("reader", ["consignor", "buyer", "insurer", "shop"])
def test_what_a_paper_carries_can_be_dated_again(
    run: Run, demo: tuple[Path, Any], tmp_path: Path, reader: str
) -> None:
    import pikepdf

    folder, said = demo
    out = tmp_path / "report.pdf"
    done = run("paper", "report", "H-0001", "--for", reader, "-o", str(out), "--shop", str(folder))
    assert done.returncode == DONE, done.stderr
    with pikepdf.open(out) as pdf:
        data = pdf.attachments["examination.json"].get_file().read_bytes()
    (tmp_path / "examination.json").write_bytes(data)
    again = run("date", str(tmp_path / "examination.json"), "--json")
    assert again.returncode == DONE, again.stderr
    first, second = said["finding"]["completion"], as_json(again)["completion"]
    assert second["interval"]["90"] == first["interval"]["90"]


def test_chronologies_and_machine_are_checked(run: Run, shop: Path) -> None:
    done = run("chronology", "check", "--json")
    assert done.returncode == DONE
    assert {row["id"] for row in as_json(done)} == {"sallowby-wherry", "sallowby-lockkeeper"}
    assert all(row["invented"] for row in as_json(done))
    doctor = run("doctor", "--shop", str(shop), "--json")
    assert doctor.returncode == DONE
    verdicts = {row["check"]: row["verdict"] for row in as_json(doctor)}
    assert verdicts.pop("last backup") == "none"
    assert set(verdicts.values()) == {"good"}


def test_one_changed_byte_in_the_database_is_found(run: Run, shop: Path) -> None:
    run(
        "add",
        "H-0001",
        "statement",
        "role=consignor",
        "about=strings",
        "signed=true",
        "text=put on about ten years ago",
        "--shop",
        str(shop),
    )
    import sqlite3

    with sqlite3.connect(shop / "heelstamp.db") as database:
        tables = [row[0] for row in database.execute("select name from sqlite_master")]
        assert "entry" in tables
        columns = [row[1] for row in database.execute("pragma table_info(entry)")]
        line = next(name for name in columns if name in ("line", "text", "canonical"))
        database.execute(
            f"update entry set {line} = replace(cast({line} as text), 'ten years', 'two years')"
        )
    database.close()
    done = run("verify", "--shop", str(shop))
    assert done.returncode == FINDINGS
    assert "broken" in done.stdout


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("date", "missing.toml"), "cannot be read"),
        (("date", "H-0001"), "--shop"),
        (("read", "x", "--as", "tarot"), "Readers:"),
        (("chronology", "check", "nobody"), "no such chronology"),
        (("new", "H-0001", "--shop", "s"), "Give --maker"),
        (("nonsense",), "No such command"),
        (("paper", "report", str(HERO), "--for", "nobody"), "Readers:"),
        (("verify", "--shop", "nowhere"), "not a shop"),
    ],
)
def test_misuse_gives_one_message_and_code_two(run: Run, words: tuple[str, ...], told: str) -> None:
    done = run(*words)
    assert done.returncode == MISUSE
    assert told in done.stderr
    assert "Traceback" not in done.stderr


def test_an_error_is_a_json_value_too(run: Run) -> None:
    done = run("date", "missing.toml", "--json")
    assert done.returncode == MISUSE
    assert as_json(done)["error"]["remedy"]


BROKEN = {
    "broken syntax": ('schema = "heelstamp/examination/2\n', "line 1"),
    "unknown part": ('part = "neck"', 'part = "elbow"'),
    "impossible month": ('period = "1965-03"', 'period = "1965-13"'),
    "unknown variant": ('variant = "rosewood-like"', 'variant = "walnut"'),
    "contradictory status": ('status = "absent"', 'status = "read"'),
    "unknown field": ('kind = "serial"', 'kind = "serial"\ncolour = "red"'),
}


@pytest.mark.parametrize("what", BROKEN)
def test_a_broken_examination_names_its_line_and_remedy(
    run: Run, tmp_path: Path, what: str
) -> None:
    text = HERO.read_text("utf-8")
    old, new = BROKEN[what]
    changed = old if what == "broken syntax" else text.replace(old, new, 1)
    assert changed != text
    path = tmp_path / "broken.toml"
    path.write_text(changed, "utf-8")
    done = run("date", str(path))
    assert done.returncode == MISUSE, done.stdout
    assert "line" in done.stderr or "observation" in done.stderr
    assert len(done.stderr.strip().splitlines()) == 1
    assert "Traceback" not in done.stderr
