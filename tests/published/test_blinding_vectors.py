"""Entries of form 2, openings, copies and the ledger, against vectors made beside the program.

`blinding_vectors.json` holds invented entries, with seeds that are SHA-256 of ``test seed N``, and
what was computed from them by the prototype of the form and checked by a verifier of its own. It
is not a standard's: what stands behind it is RFC 8785 (canonical JSON), 6901 (JSON Pointer), 9162,
2.1.1 (hash tree) and 2104 (HMAC), none of which publishes vectors for this use of them.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from fakes import second_verifier
from heelstamp.archive import (
    Verdict,
    canonical_json,
    copy_of,
    line_of,
    opening_of,
    seal,
    spine_of,
    verify_copy,
    verify_lines,
    verify_opening,
    verify_spine,
)
from heelstamp.archive.fields import leaves_of
from heelstamp.archive.ledger import (
    RowChange,
    ledger_line,
    row_digest,
    row_key,
    rows_standing,
    verify_ledger,
)

VECTORS: dict[str, Any] = json.loads(
    (Path(__file__).parent / "blinding_vectors.json").read_text("utf-8")
)
LINES = [line.encode() for line in VECTORS["journal"]]
ENTRIES: list[dict[str, Any]] = [json.loads(line) for line in LINES]


def named(cases: list[dict[str, Any]]) -> Any:
    return pytest.mark.parametrize("case", cases, ids=[one.get("name", "sound") for one in cases])


def test_the_journal_begins_in_form_1_and_is_sound() -> None:
    report = verify_lines(LINES)
    assert report.verdict is Verdict.SOUND
    assert report.head == ENTRIES[-1]["digest"]


@pytest.mark.parametrize("entry", ENTRIES[1:], ids=lambda entry: str(entry["seq"]))
def test_entries_are_sealed_to_the_same_line(entry: dict[str, Any]) -> None:
    fields = {name: entry[name] for name in ("seq", "at", "by", "kind", "body", "previous")}
    sealed = seal(fields, bytes.fromhex(entry["seed"]))
    assert line_of(sealed) == LINES[entry["seq"] - 1]
    assert second_verifier.digest(entry) == entry["digest"]


def test_the_leaves_of_entry_2() -> None:
    made = leaves_of(ENTRIES[1], bytes.fromhex(ENTRIES[1]["seed"]))
    assert [
        {
            "place": place,
            "salt": leaf.salt.hex(),
            "path": leaf.path or None,
            "value": leaf.value,
            "hash": leaf.hash.hex(),
            "decoy": not leaf.path,
        }
        for place, leaf in enumerate(made)
    ] == VECTORS["leaves_of_entry_2"]


@named(VECTORS["broken_lines"])
def test_broken_lines_have_their_code_first(case: dict[str, Any]) -> None:
    before = LINES[: case["seq"] - 1]
    if before and case["previous"] is not None:  # the line before carries the digest told
        last = {**json.loads(before[-1]), "digest": case["previous"]}
        before[-1] = canonical_json(last)
    report = verify_lines([*before, case["line"].encode()])
    found = [one.code for one in report.findings if one.seq == case["seq"]]
    assert found[0] == case["code"]


@named(VECTORS["openings"])
def test_openings(case: dict[str, Any]) -> None:
    proof = verify_opening(case["text"].encode(), head=case["head"])
    assert (proof.verdict.value, proof.code) == (case["verdict"], case["code"])
    assert [list(one) for one in proof.shown] == (case["shown"] or [])


def test_the_same_opening_is_made() -> None:
    paths = ["/form", "/kind", "/body/part", "/body/frames/-"]
    assert opening_of(ENTRIES[1], paths).decode() == VECTORS["openings"][0]["text"]


def test_the_spine_leads_from_the_issue_to_the_reading() -> None:
    steps = [one.encode() for one in VECTORS["spine"]["steps"]]
    found = verify_spine(steps, head=VECTORS["spine"]["head"])
    assert (found.proof.verdict, found.step) == (Verdict.SOUND, 5)
    assert found.proof.values("/body/text") == (VECTORS["spine"]["shows"],)
    paths = [path for path, _ in found.proof.shown]
    assert list(spine_of(ENTRIES[1:], paths)) == steps


@named([VECTORS["copy"], *VECTORS["copies"]])
def test_copies(case: dict[str, Any]) -> None:
    files = {name: text.encode() for name, text in case["files"].items()}
    proof = verify_copy(case["text"].encode(), files, head=case["head"])
    assert (proof.verdict.value, proof.code) == (case["verdict"], case["code"])


def test_the_same_copy_is_made_each_time() -> None:
    text = VECTORS["copy"]["text"].encode()
    assert copy_of(ENTRIES[-1]) == copy_of(ENTRIES[-1]) == text
    files = {name: text.encode() for name, text in VECTORS["copy"]["files"].items()}
    assert second_verifier.copy_holds(text, files, VECTORS["copy"]["head"])


def test_the_ledger() -> None:
    given = VECTORS["ledger"]
    acts = {
        n: [RowChange(*change) for change in act["changes"]]
        for n, act in enumerate(given["acts"], start=1)
    }
    lines = [act["line"].encode() for act in given["acts"]]
    for row in given["rows"]:
        assert row_digest(row["table"], row["row"]) == row["digest"]
    for n, line in enumerate(lines, start=1):
        told = json.loads(line)
        seed = bytes.fromhex(told["seed"])
        made = ledger_line(
            acts[n], n=n, at=told["at"], by=told["by"], previous=told["previous"], seed=seed
        )
        assert canonical_json(made) == line
    report = verify_ledger(lines, acts, head=given["head"])
    assert (report.verdict, report.head) == (Verdict.SOUND, given["head"])
    kept = {
        (
            row["table"],
            row_key([row["row"].get("market", "sallowby-wherry"), row["row"]["row"]]),
        ): row["digest"]
        for row in given["rows"]
        if row["row"]["row"] != "b"
    }
    assert rows_standing(acts) == kept
