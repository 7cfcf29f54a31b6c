"""Names, tables and formulas of an exported folder."""

import csv
import io
from typing import Any

import pytest

from heelstamp.casework.exported import (
    exported_names,
    exported_tables,
    free_name,
    harmless,
    safe_name,
)


def entry(kind: str, /, **body: Any) -> dict[str, Any]:
    return {"seq": 1, "at": "2026-11-02T09:14:00Z", "by": "examiner A", "kind": kind, "body": body}


def label(key: str) -> str:
    return key.replace("_", " ")


def test_files_are_named_by_number_and_what_they_show() -> None:
    entries = [
        entry("photograph", id="F031", file="a", part="tone_pot", name="DSC 1.JPG"),
        entry("photograph", id="F031", file="b", part="tone_pot", name="x"),
        entry("photograph", id="F2", file="c", slot="overall-front", name="x.heic"),
        entry("recording", id="R1", file="d", what="E2 open", name="a.wav"),
        entry("observation", id="o1", file="e", kind="finish"),
        entry("correction", id="c1", replacement={"id": "F9", "file": "f", "name": "evil.a/b"}),
        entry("photograph", id="F10", file="a"),
        entry("photograph", id="F11", file=7),
    ]
    media = {"a": "image/jpeg", "b": "image/jpeg", "e": "application/zip"}
    assert exported_names(entries, media, label) == {
        "a": "photographs/F031 tone pot.jpg",
        "b": "photographs/F031 tone pot (2).jpg",
        "c": "photographs/F2 overall-front.heic",
        "d": "recordings/R1 E2 open.wav",
        "e": "other files/o1 finish.zip",
        "f": "other files/F9.bin",
    }


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("../../etc/passwd", "______etc_passwd"),
        ("a\x00b\nc", "a_b_c"),
        ("maker's  mark", "makers mark"),
        ("...", "___"),
        (" ", "unnamed"),
        ("ä" * 200, "ä" * 80),
        ("CON:", "CON_"),
    ],
)
def test_names_that_every_system_takes(text: str, safe: str) -> None:
    assert safe_name(text) == safe


def test_names_differ_in_more_than_case() -> None:
    taken: set[str] = set()
    assert [free_name(one, ".jpg", taken) for one in ("a", "A", "a")] == [
        "a.jpg",
        "A (2).jpg",
        "a (3).jpg",
    ]


# OWASP, "CSV Injection": the characters that spreadsheet programs take for the start of a formula
@pytest.mark.parametrize("first", ["=", "+", "-", "@", "\t", "\r", "＝", "＋", "－", "＠"])
def test_a_cell_that_begins_a_formula_is_made_harmless(first: str) -> None:
    assert harmless(f"{first}cmd|' /C calc'!A0").startswith("'")


@pytest.mark.parametrize("text", ["-0.25", "+3", "-1e-3", "1965-03", "E2", "", "a=b"])
def test_other_cells_are_left_as_they_are(text: str) -> None:
    assert harmless(text) == text


def test_a_table_for_each_kind() -> None:
    tables = exported_tables(
        [
            entry("decision", id="d1", reason="=1+1", frames=["F1", "F2"]),
            entry("decision", id="d2", price={"amount": -12.5, "unit": "USD"}, note='a "b", c\nd'),
            entry("custody", id="c1", items=[{"a": 1}]),
        ]
    )
    assert sorted(tables) == ["custody.csv", "decision.csv"]
    assert tables["decision.csv"].startswith("\ufeffseq,".encode())
    rows = list(csv.DictReader(io.StringIO(tables["decision.csv"].decode("utf-8-sig"))))
    assert [row["reason"] for row in rows] == ["'=1+1", ""]
    assert rows[0]["frames"] == "F1; F2"
    assert (rows[1]["price.amount"], rows[1]["note"]) == ("-12.5", 'a "b", c\nd')
    assert '[{""a"": 1}]' in tables["custody.csv"].decode()
