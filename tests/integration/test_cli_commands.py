"""The command line as a person and as a program uses it: every command, every exit code."""

import json
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pikepdf
import pytest

from fakes.commands import Done, Run
from fakes.demonstration import Demonstration
from fakes.sealed import WHERRY_FORM_1
from heelstamp.archive import digest_of, sha256
from heelstamp.casework.examination import examination_data
from heelstamp.shop import reports, subjects
from heelstamp.shop.opened import open_subject

ROOT = Path(__file__).parents[2]
HERO = ROOT / "examples" / "wherry-s10350.toml"
OUTSIDE = ROOT / "examples" / "outside-only.toml"
DONE, FINDINGS, MISUSE, UNDECIDED = range(4)

CHRONOLOGY = ("check", "import", "learn")


def as_json(done: Done) -> Any:
    return json.loads(done.out)


@pytest.fixture(scope="module")
def kept() -> dict[tuple[str, str], Any]:
    """What `computed_once` keeps for the tests of this file."""
    return {}


@pytest.fixture
def computed_once(monkeypatch: pytest.MonkeyPatch, kept: dict[tuple[str, str], Any]) -> None:
    """The plan and the changed tables of a file that was not changed are those of the first time.

    Only the computing, which has tests of its own, is not done again; what the command makes of it
    is asked each time.
    """

    def keeping(name: str) -> None:
        compute = getattr(subjects, name)

        def once(subject: subjects.Subject, *given: Any) -> Any:
            key = (name, digest_of(examination_data(subject.state)))
            if key not in kept:
                kept[key] = compute(subject, *given)
            return kept[key]

        monkeypatch.setattr(subjects, name, once)

    for name in ("plan_of", "sensitivity_of"):
        keeping(name)


def test_help_names_every_command_and_each_has_an_example(run: Run) -> None:
    text = run("--help").out
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
        "pack",
        "key",
        "verify",
        "chronology",
        "account",
        "own-record",
        "redate",
        "doctor",
    ]
    for command in commands:
        assert f" {command} " in text
    grouped = ("paper", "key", "chronology", "sales", "account", "own-record")
    leaves = [[c] for c in commands if c not in grouped]
    groups = [["paper", "report"], ["sales", "import"], ["sales", "list"]]
    groups += [["key", one] for one in ("show", "renew", "protect", "unprotect")]
    groups += [["own-record", "add"], ["own-record", "show"]]
    groups += [["account", one] for one in ("add", "list", "password", "remove")]
    for leaf in [*leaves, *groups, *(["chronology", one] for one in CHRONOLOGY)]:
        told = run(*leaf, "--help")
        assert told.code == DONE
        assert "Example: heelstamp" in " ".join(told.out.split())
        assert "--json" in told.out or leaf == ["serve"]  # which answers until it is stopped


def test_reading_a_mark_gives_all_decades(run: Run) -> None:
    done = run("read", "137-6-43", "--json")
    assert done.code == DONE
    years = {one["period"][:4] for one in as_json(done)["readings"]}
    assert years == {"1946", "1956", "1966"}
    assert all({"weight", "rule", "source"} <= one.keys() for one in as_json(done)["readings"])


def test_a_mark_no_rule_reads_is_not_decided_and_says_why(run: Run) -> None:
    done = run("read", "137-7-60")
    assert done.code == UNDECIDED
    assert "60" in done.out


@pytest.mark.usefixtures("computed_once")
def test_dating_a_file_follows_the_contract(run: Run) -> None:
    done = run("date", str(HERO), "--json")
    assert done.code == DONE, done.err
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


@pytest.mark.usefixtures("computed_once")
def test_dating_prints_sentences_and_names_what_was_not_used(run: Run) -> None:
    text = " ".join(run("date", str(HERO)).out.split())
    assert "Completed between" in text
    assert "marks date parts" in text
    assert "not used for the date" in text
    assert "an invented maker" in text


@pytest.mark.usefixtures("computed_once")
def test_next_follows_the_contract(run: Run) -> None:
    done = run("next", str(OUTSIDE), "--json")
    assert done.code == DONE, done.err
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


@pytest.mark.usefixtures("computed_once")
def test_next_prints_a_front_and_what_is_left_alone(run: Run) -> None:
    text = " ".join(run("next", str(OUTSIDE), "--most", "3").out.split())
    assert text.startswith("Next: ")
    assert "more with --most" in text
    assert "Not to be done now, and why" in text
    assert "Ask the owner first, and log the answer" in text
    assert "is expected to be about" in text


def test_next_says_stop_when_nothing_is_left_to_do(run: Run) -> None:
    done = run("next", str(HERO))
    assert done.code == DONE
    assert done.out.startswith("Stop. ")


@pytest.mark.usefixtures("computed_once")
def test_doubts_are_a_key_of_the_finding_and_a_section_of_the_print(run: Run) -> None:
    plain = as_json(run("date", str(HERO), "--json"))
    done = run("date", str(HERO), "--doubts", "--json")
    assert done.code == DONE, done.err
    finding = as_json(done)
    doubts = finding.pop("doubts")
    assert finding == plain
    assert doubts["finding"] == plain["digest"]
    assert doubts["conflicts"] == []
    assert doubts["hangs_on"][0]["part"] == "pot_volume"
    assert len(doubts["sensitivity"]["rows"]) == 27
    text = " ".join(run("date", str(HERO), "--doubts").out.split())
    assert "What does not fit, and what the answer hangs on" in text
    assert "The date hangs most on the volume pot" in text
    open_ = {k for k, one in doubts["sensitivity"]["unsettled"].items() if not one["holds"]}
    assert doubts["sensitivity"]["unsettled"]["part:tuner_4"]["wider"] == "replaced"
    assert "4th-string tuner very probably replaced" in text
    assert {
        key for key, one in finding["said"]["parts"].items() if one["verdict"] == "not settled"
    } == {key.removeprefix("part:") for key in open_}
    assert "What does not fit" not in run("date", str(HERO)).out


def test_what_is_unexplained_is_a_finding_against(run: Run, tmp_path: Path) -> None:
    seen = (
        '\n[[observation]]\nid = "rust"\npart = "plate_screws"\nkind = "sign"\nstatus = "read"\n'
        'sign = "uniform_rust_hidden_and_exposed"\noutcome = "present"\n'
    )
    path = tmp_path / "rusty.toml"
    path.write_text(HERO.read_text("utf-8") + seen, "utf-8")
    assert run("date", str(path)).code == DONE
    done = run("date", str(path), "--doubts")
    assert done.code == FINDINGS
    assert "Unexplained: rust is the same" in " ".join(done.out.split())


def test_a_dossier_is_entered_shown_dated_and_verified(run: Run, typed_shop: Path) -> None:
    where = ("--shop", str(typed_shop))
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
    assert added.code == DONE, added.err
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
    assert "64/11 T" in shown.out
    dated = as_json(run("date", "H-0001", *where, "--json"))
    assert dated["completion"]["median"].startswith(("1964", "1965"))
    journal = run("show", "H-0001", "--journal", *where)
    assert journal.out.count("examiner A") == 3
    verified = run("verify", "H-0001", *where)
    assert verified.code == DONE
    assert "passed" in verified.out
    entries = as_json(run("show", "H-0001", "--journal", *where, "--json"))
    assert [entry["form"] for entry in entries] == [2, 2, 2]
    known = run("verify", "H-0001", "--last", entries[1]["digest"], *where)
    assert "that of entry 2; 1 entered since" in known.out
    unknown = run("verify", "H-0001", "--last", "0" * 64, *where)
    assert unknown.code == FINDINGS


def test_a_journal_file_of_form_1_is_verified(run: Run) -> None:
    last = json.loads(WHERRY_FORM_1.read_bytes().splitlines()[-1])["digest"]
    done = run("verify", str(WHERRY_FORM_1), "--last", last)
    assert done.code == DONE
    assert "passed" in done.out


def test_a_report_is_written_whole_and_with_its_digest(
    run: Run, typed_shop: Path, tmp_path: Path
) -> None:
    run("add", "H-0001", "--from", str(HERO), "--shop", str(typed_shop))
    out = tmp_path / "report.pdf"
    done = run(
        "paper",
        "report",
        "H-0001",
        "--for",
        "buyer",
        "-o",
        str(out),
        "--shop",
        str(typed_shop),
        "--json",
    )
    assert done.code == DONE, done.err
    import hashlib

    assert hashlib.sha256(out.read_bytes()).hexdigest() == as_json(done)["sha256"]
    assert out.read_bytes().startswith(b"%PDF-1.7")
    assert [one.name for one in tmp_path.iterdir() if "partial" in one.name] == []


def test_the_demonstration_comes_out_as_it_was_planned(demo: Demonstration) -> None:
    said = demo.said
    assert said["verdict"] == "passed"
    assert said["finding"]["completion"]["median"] in ("1965-05", "1965-06", "1965-07")
    sizes = {name: (demo.folder / path).stat().st_size for name, path in said["papers"].items()}
    assert sizes.pop("invoice") > 10_000  # a page of words and sums
    assert all(size > 100_000 for size in sizes.values())
    assert (demo.shop / "shop.toml").exists()


@pytest.fixture
def date_again(
    run: Run, tmp_path: Path, kept: dict[tuple[str, str], Any]
) -> Callable[[bytes], list[str]]:
    """Types ``date`` on an examination and gives the 90 % range; once for each examination."""

    def typed(data: bytes) -> list[str]:
        key = ("again", sha256(data))
        if key not in kept:
            (tmp_path / "examination.json").write_bytes(data)
            done = run("date", str(tmp_path / "examination.json"), "--json")
            assert done.code == DONE, done.err
            kept[key] = as_json(done)["completion"]["interval"]["90"]
        return kept[key]

    return typed


@pytest.mark.parametrize("reader", ["consignor", "buyer", "insurer", "shop"])
def test_what_a_paper_carries_can_be_dated_again(
    demo: Demonstration,
    monkeypatch: pytest.MonkeyPatch,
    date_again: Callable[[bytes], list[str]],
    reader: str,
) -> None:
    """The two papers that the demonstration wrote are opened; what the others carry is gathered.

    Not their doubts, which cost the most and of which nothing is asked here.
    """
    if reader in demo.said["papers"]:
        with pikepdf.open(demo.folder / demo.said["papers"][reader]) as pdf:
            data = pdf.attachments["examination.json"].get_file().read_bytes()
    else:
        monkeypatch.setattr(reports, "doubts_of", lambda *_, **__: SimpleNamespace(data=dict))
        with open_subject("H-0001", demo.shop) as (_, subject):
            data = reports.told_to(subject, reader).attachments()["examination.json"]  # type: ignore[arg-type]
    assert date_again(data) == demo.said["finding"]["completion"]["interval"]["90"]


def test_chronologies_and_machine_are_checked(run: Run, typed_shop: Path) -> None:
    done = run("chronology", "check", "--json")
    assert done.code == DONE
    assert {row["id"] for row in as_json(done)} == {"sallowby-wherry", "sallowby-lockkeeper"}
    assert all(row["invented"] for row in as_json(done))
    doctor = run("doctor", "--shop", str(typed_shop), "--json")
    assert doctor.code == DONE
    verdicts = {row["check"]: row["verdict"] for row in as_json(doctor)}
    assert verdicts.pop("last backup") == "none"
    assert set(verdicts.values()) == {"good"}


def test_one_changed_byte_in_the_database_is_found(run: Run, typed_shop: Path) -> None:
    run(
        "add",
        "H-0001",
        "statement",
        "role=consignor",
        "about=strings",
        "signed=true",
        "text=put on about ten years ago",
        "--shop",
        str(typed_shop),
    )
    import sqlite3

    with sqlite3.connect(typed_shop / "heelstamp.db") as database:
        tables = [row[0] for row in database.execute("select name from sqlite_master")]
        assert "entry" in tables
        columns = [row[1] for row in database.execute("pragma table_info(entry)")]
        line = next(name for name in columns if name in ("line", "text", "canonical"))
        database.execute(
            f"update entry set {line} = replace(cast({line} as text), 'ten years', 'two years')"
        )
    database.close()
    done = run("verify", "--shop", str(typed_shop))
    assert done.code == FINDINGS
    assert "failed" in done.out


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
    assert done.code == MISUSE
    assert told in done.err
    assert "Traceback" not in done.err


def test_an_error_is_a_json_value_too(run: Run) -> None:
    done = run("date", "missing.toml", "--json")
    assert done.code == MISUSE
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
    assert done.code == MISUSE, done.out
    assert "line" in done.err or "observation" in done.err
    assert len(done.err.strip().splitlines()) == 1
    assert "Traceback" not in done.err
