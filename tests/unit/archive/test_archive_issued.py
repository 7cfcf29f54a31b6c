"""Copies for outsiders: moved or malformed ones are refused, and they tell nothing of the dossier.

The exchange test: two dossiers that differ only in what an outsider is not meant to learn give the
same copy, where the hashes of what is hidden are taken for random (as SHA-256 of 128 secret bits is
for whom does not have them) and all else is real.
"""

import json
import random
from collections.abc import Callable
from itertools import islice, product
from typing import Any

import pytest

from fakes import second_verifier
from fakes.sealed import WHERRY_FORM_1, chained, seed_of
from heelstamp.archive import (
    Verdict,
    canonical_json,
    copy_of,
    opening_of,
    seal,
    sha256,
    verify_copy,
    verify_lines,
)
from heelstamp.archive import opening as opening_module
from heelstamp.archive.fields import Leaf, leaf_data, leaves_of, salted_leaf
from heelstamp.archive.issued import SHOWN
from heelstamp.archive.merkle import root_of
from heelstamp.errors import InputError

FILES = {"examination.json": b'{"observation":[]}', "finding.json": b'{"median":"1957-03"}'}
ISSUE: dict[str, Any] = {
    "id": "i1",
    "reader": "buyer",
    "day": "2026-11-09",
    "files": {name: sha256(data) for name, data in FILES.items()},
    "ledger": "ab" * 32,
    "source": {"o1": "o17"},
}


def issue(seed: int = 1, body: dict[str, Any] | None = None, **changes: Any) -> dict[str, Any]:
    """A sealed issue as the fourth entry of a journal."""
    fields = {
        "seq": 4,
        "at": "2026-11-09T10:00:00Z",
        "by": "examiner A",
        "kind": "issue",
        "body": {**ISSUE, **(body or {})},
        "previous": "cd" * 32,
    }
    return seal({**fields, **changes}, seed_of(seed))


ENTRY = issue()
COPY: dict[str, Any] = json.loads(copy_of(ENTRY))


def judge(text: bytes, files: Any = FILES, head: str | None = ENTRY["digest"]) -> tuple[str, str]:
    proof = verify_copy(text, files, head=head)
    return proof.verdict.value, proof.code


def test_a_copy_is_sound_against_the_whole_head_and_told_by_a_second_reading() -> None:
    text = copy_of(ENTRY)
    assert judge(text) == ("sound", "")
    assert second_verifier.copy_holds(text, FILES, ENTRY["digest"])
    assert len(text) < 1400


def test_a_copy_carries_neither_seed_nor_link_nor_number() -> None:
    text = copy_of(ENTRY).decode()
    hidden = [ENTRY["seed"], ENTRY["previous"], "2026-11-09T10", "examiner A", "o17", "ab" * 32]
    assert not [one for one in hidden if one in text]


def test_only_an_issue_of_form_2_is_copied() -> None:
    with pytest.raises(InputError, match="not an issue"):
        copy_of(issue(kind="decision"))
    (old,) = chained([("issue", ISSUE)], forms=1)
    with pytest.raises(InputError, match="opens only whole"):
        copy_of(old)


def shown(row: int, /, **changes: Any) -> Callable[[dict[str, Any]], None]:
    """Change parts of one shown row."""
    parts = {"place": 0, "salt": 1, "path": 2, "value": 3}

    def change(copy: dict[str, Any]) -> None:
        for name, value in changes.items():
            copy["shown"][row][parts[name]] = value

    return change


def fields(**changes: Any) -> Callable[[dict[str, Any]], None]:
    return lambda copy: copy.update(changes)


OTHER: dict[str, Any] = json.loads(copy_of(issue(2)))
MALFORMED: list[tuple[str, Callable[[dict[str, Any]], Any]]] = [
    ("fields", lambda copy: copy.pop("size")),
    ("fields", fields(more=1)),
    ("fields", fields(schema="heelstamp/opening/2")),
    ("fields", fields(shown={})),
    ("fields", fields(hashes="")),
    ("fields", lambda copy: copy["shown"][0].append(1)),
    ("fields", lambda copy: copy["shown"].append([1])),
    ("size", fields(size=31)),
    ("size", fields(size=16)),
    ("size", fields(size=8192)),
    ("size", fields(size=-32)),
    ("size", fields(size="32")),
    ("size", fields(size=None)),
    ("size", fields(size=32.5)),
    ("place", shown(0, place=-1)),
    ("place", shown(0, place=False)),
    ("place", shown(0, place="0")),
    ("place", shown(4, place=32)),
    ("place", lambda copy: copy["shown"].reverse()),
    ("place", lambda copy: copy["shown"].insert(1, copy["shown"][0])),
    ("salt", shown(0, salt="A" * 32)),
    ("salt", shown(0, salt="0" * 31)),
    ("salt", shown(0, salt=None)),
    ("salt", shown(0, salt="0" * 32 + "\n")),
    ("path", shown(0, path="form")),
    ("path", shown(0, path="")),
    ("path", shown(0, path="/body/~2")),
    ("path", shown(0, path=7)),
    ("twice", lambda copy: copy["shown"][1].__setitem__(2, copy["shown"][0][2])),
    ("hashes", lambda copy: copy["hashes"].pop()),
    ("hashes", lambda copy: copy["hashes"].append("0" * 64)),
    ("hashes", lambda copy: copy["hashes"].__setitem__(0, "G" * 64)),
    ("hashes", lambda copy: copy["hashes"].__setitem__(0, 1)),
    ("hashes", fields(hashes=[])),
    ("hashes", fields(size=64)),
    ("digest", lambda copy: copy["hashes"].reverse()),
    ("digest", lambda copy: copy["hashes"].__setitem__(0, "0" * 64)),
    ("digest", fields(digest="0" * 64)),
    ("digest", fields(digest=None)),
    ("digest", fields(shown=[], hashes=[])),
    ("digest", shown(0, value="else")),
    ("digest", shown(0, salt="0" * 32)),
    ("digest", fields(digest=OTHER["digest"])),
    ("head", lambda copy: (copy.clear(), copy.update(OTHER))),
]


@pytest.mark.parametrize(("code", "change"), MALFORMED)
def test_malformed_and_moved_copies_are_refused_each_with_its_code(
    code: str, change: Callable[[dict[str, Any]], Any]
) -> None:
    copy = json.loads(json.dumps(COPY))
    change(copy)
    assert judge(canonical_json(copy)) == ("broken", code)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        (b"", "unreadable"),
        (b"\xff", "unreadable"),
        (b"{", "unreadable"),
        (b"\xef\xbb\xbf" + copy_of(ENTRY), "unreadable"),
        (copy_of(ENTRY).decode().encode("utf-16"), "unreadable"),
        (b'{"digest":"",' + copy_of(ENTRY)[1:], "unreadable"),
        (copy_of(ENTRY).replace(b"buyer", b"\\udc00"), "unreadable"),
        (copy_of(ENTRY).replace(b":32}", b":1e999}"), "unreadable"),
        (b"[" * 100 + b"]" * 100, "unreadable"),
        (copy_of(ENTRY) + b"\n", "not canonical"),
        (b" " + copy_of(ENTRY), "not canonical"),
        (copy_of(ENTRY).replace(b":32}", b":32.0}"), "not canonical"),
        (b"[]", "fields"),
        (b"null", "fields"),
    ],
)
def test_bytes_that_are_no_copy(text: bytes, code: str) -> None:
    assert judge(text) == ("broken", code)


@pytest.mark.parametrize(
    ("entry", "paths", "code"),
    [
        (ENTRY, SHOWN[:-1], "fields"),
        (ENTRY, (*SHOWN, "/seq"), "fields"),
        (issue(kind="decision"), SHOWN, "kind"),
        (issue(body={"files": ["examination.json"]}), SHOWN, "files"),
        (issue(body={"files": {**ISSUE["files"], "finding.json": "ab"}}), SHOWN, "files"),
        (issue(body={"files": {}}), SHOWN, "files"),
    ],
)
def test_openings_that_are_no_copy_of_this_paper(entry: Any, paths: Any, code: str) -> None:
    text = opening_of(entry, paths).replace(b"heelstamp/opening/2", b"heelstamp/copy/2")
    assert judge(text, head=entry["digest"]) == ("broken", code)


@pytest.mark.parametrize(
    ("files", "code"),
    [
        ({}, "files"),
        ({**FILES, "more.json": b""}, "files"),
        ({"Examination.json": FILES["examination.json"], "finding.json": b""}, "files"),
        ({**FILES, "finding.json": FILES["finding.json"] + b"\n"}, "file"),
        ({one: FILES[other] for one, other in zip(FILES, reversed(FILES), strict=True)}, "file"),
    ],
)
def test_other_attachments(files: dict[str, bytes], code: str) -> None:
    assert judge(copy_of(ENTRY), files) == ("broken", code)


@pytest.mark.parametrize(
    ("head", "expected"),
    [
        (None, ("cannot decide", "no head")),
        (ENTRY["digest"][:63], ("cannot decide", "head short")),
        (ENTRY["digest"][:8], ("cannot decide", "head short")),
        ("f" * 64, ("broken", "head")),
    ],
)
def test_how_much_of_the_head_is_known(head: str | None, expected: tuple[str, str]) -> None:
    assert judge(copy_of(ENTRY), head=head) == expected


def test_every_flipped_bit_of_a_copy_is_found() -> None:
    text = copy_of(ENTRY)
    for place in range(len(text)):
        for bit in range(8):
            flipped = text[:place] + bytes([text[place] ^ 1 << bit]) + text[place + 1 :]
            assert judge(flipped)[0] == "broken", (place, bit)


MASKED: dict[str, dict[str, Any]] = {
    "place of the entry": {"seq": 9_999},
    "entry before": {"previous": "ef" * 32},
    "seconds": {"at": "2026-11-09T23:59:58.123456Z"},
    "hand": {"by": "examiner B, who has a longer name"},
    "number of the issue": {"body": {"id": "i117"}},
    "ledger": {"body": {"ledger": None}},
    "what was shown": {"body": {"source": {f"o{n}": f"o{n + 40}" for n in range(80)}}},
    "more hidden fields": {"body": {f"x{n}": n for n in range(12)}},
}
MASKED["all at once"] = {
    **{name: value for one in MASKED.values() for name, value in one.items() if name != "body"},
    "body": {name: v for one in MASKED.values() for name, v in one.get("body", {}).items()},
}
PLANTED: dict[str, dict[str, Any]] = {
    "reader": {"body": {"reader": "insurer"}},
    "day": {"body": {"day": "2026-11-10"}},
    "a finding's digest": {"body": {"files": {**ISSUE["files"], "finding.json": "0" * 64}}},
    "more hidden fields than 32 leaves hold": {"body": {f"x{n}": n for n in range(40)}},
}


def ideal(entry: dict[str, Any], lot: random.Random) -> tuple[Leaf, ...]:
    """Leaves with salts and places drawn by *lot*, and random hashes for all that is hidden."""
    real = leaves_of(entry, bytes.fromhex(entry["seed"]))
    open_ones = sorted((leaf for leaf in real if leaf.path in SHOWN), key=lambda leaf: leaf.path)
    places = lot.sample(range(len(real)), len(SHOWN))
    leaves = [Leaf(b"", "", None, lot.randbytes(32)) for _ in real]
    for place, leaf in zip(places, open_ones, strict=True):
        salt = lot.randbytes(16)
        hashed = salted_leaf(salt, leaf_data(leaf.path, leaf.value))
        leaves[place] = Leaf(salt, leaf.path, leaf.value, hashed)
    return tuple(leaves)


def ideal_copy(change: dict[str, Any], lot: int, patch: pytest.MonkeyPatch) -> bytes:
    entry = issue(**change)
    leaves = ideal(entry, random.Random(lot))
    patch.setattr(opening_module, "leaves_of", lambda *_: leaves)
    return copy_of({**entry, "digest": root_of([leaf.hash for leaf in leaves]).hex()})


@pytest.mark.parametrize("masked", MASKED)
def test_exchanged_dossiers_give_the_same_copy(
    masked: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    for lot in range(20):
        plain = ideal_copy({}, lot, monkeypatch)
        assert ideal_copy(MASKED[masked], lot, monkeypatch) == plain
        assert verify_copy(plain, FILES, head=json.loads(plain)["digest"]).verdict is Verdict.SOUND


@pytest.mark.parametrize("planted", PLANTED)
def test_the_exchange_test_finds_planted_leaks(
    planted: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = ideal_copy({}, 1, monkeypatch)
    assert ideal_copy(PLANTED[planted], 1, monkeypatch) != plain


def test_real_copies_of_different_dossiers_differ_only_in_salts_places_and_hashes() -> None:
    def bare(text: bytes) -> str:
        copy = json.loads(text)
        seen = sorted([path, value] for _, _, path, value in copy["shown"])
        return json.dumps([copy["schema"], copy["size"], seen], sort_keys=True)

    copies = [
        copy_of(issue(number, **MASKED[name])) for number, name in enumerate(list(MASKED) * 10)
    ]
    assert len(set(copies)) == len(copies)
    assert len({bare(text) for text in copies}) == 1
    carried = [set(json.loads(text)["hashes"]) for text in copies]
    assert sum(map(len, carried)) == len(set().union(*carried))  # two copies join on none


def test_two_copies_join_only_on_attachments_that_both_hold() -> None:
    one, other = copy_of(issue(3)).decode(), copy_of(issue(4, body={"id": "i2"})).decode()
    runs = {one[at : at + 16] for at in range(len(one) - 16) if is_hex(one[at : at + 16])}
    common = {run for run in runs if run in other}
    assert all(any(run in digest for digest in ISSUE["files"].values()) for run in common)
    assert common


def is_hex(text: str) -> bool:
    return set(text) <= set("0123456789abcdef")


GUESSES = 10_000


def test_the_entry_s_number_is_not_found_by_trying_but_with_its_salt() -> None:
    def leaves(entry: dict[str, Any]) -> dict[str, tuple[int, bytes]]:
        made = leaves_of(entry, bytes.fromhex(entry["seed"]))
        return {leaf.path: (at, leaf.salt) for at, leaf in enumerate(made) if leaf.path}

    def beside_a_shown_one(entry: dict[str, Any]) -> bool:
        placed = leaves(entry)
        return placed["/seq"][0] ^ 1 in {placed[path][0] for path in SHOWN}

    def found(salts: list[bytes], numbers: range) -> int:
        tries = islice(product(numbers, salts), GUESSES)
        return sum(salted_leaf(salt, leaf_data("/seq", one)) in carried for one, salt in tries)

    entry = next(one for one in map(issue, range(1000)) if beside_a_shown_one(one))
    copy = json.loads(copy_of(entry))
    carried = {bytes.fromhex(one) for one in copy["hashes"]}
    halves = [bytes.fromhex(half) for one in copy["hashes"] for half in (one[:32], one[32:])]
    salts = [bytes(16), *(bytes.fromhex(row[1]) for row in copy["shown"]), *halves]
    assert len(salts) * 300 < GUESSES
    assert found(salts, range(1, 1000)) == 0
    assert found([leaves(entry)["/seq"][1]], range(1, 1000)) == 1  # the control


def test_a_journal_of_form_1_issues_copies_that_show_none_of_its_digests() -> None:
    lines = WHERRY_FORM_1.read_bytes().splitlines()
    old = [json.loads(line) for line in lines]
    entry = issue(7, seq=len(old) + 1, previous=old[-1]["digest"])
    report = verify_lines([*lines, canonical_json(entry)])
    assert (report.verdict, report.length) == (Verdict.SOUND, 207)
    text = copy_of(entry).decode()
    assert judge(text.encode(), head=entry["digest"]) == ("sound", "")
    assert not [one["digest"] for one in old if one["digest"][:16] in text]
