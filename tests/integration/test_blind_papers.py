"""What an outsider's paper tells: nothing but what is meant, even to one who computes on it."""

from __future__ import annotations

import hashlib
import io
import itertools
import json
import re
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from starlette.testclient import TestClient

from fakes.paper_text import text_of
from fakes.second_verifier import copy_holds
from fakes.web_shop import TAG, add_frame, bench_of, make_shop
from heelstamp.archive import canonical_json
from heelstamp.shop.memo import Memo
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.reports import issue, issued_report

BY = "examiner A"
SERIAL = "S10350"
OUTSIDERS = ("buyer", "insurer")
PUBLIC = (
    ("observation", {"id": "mark", "part": "neck", "kind": "mark", "status": "read",
                     "text": "65/03 R"}),
    ("consent", {"id": "leave", "act": "lift guard", "granted": True, "by": "the consignor"}),
    ("treatment", {"id": "lifted", "act": "lift guard", "part": "guard", "reversible": True,
                   "reason": "to read the codes", "minutes": 12.0}),
    ("measurement", {"id": "weighed", "part": "neck", "quantity": "relief", "value": 0.2,
                     "unit": "mm", "stage": "found"}),
)  # fmt: skip


def serial(text: str, **more: Any) -> tuple[str, dict[str, Any]]:
    body = {"id": "number", "part": "neck_plate", "kind": "serial", "status": "read"}
    return "observation", {**body, "text": text, **more}


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[TestClient]:
    with bench_of(make_shop(tmp_path)) as client:
        yield client


def shop_of(bench: TestClient) -> OpenShop:
    return bench.app.state.shop  # type: ignore[attr-defined, no-any-return]


def paper(bench: TestClient, entries: Iterable[tuple[str, dict]], reader: str = "buyer") -> bytes:
    shop = shop_of(bench)
    shop.enter(TAG, list(entries), by=BY)
    digest = issue(shop, TAG, reader, id_="paper-1", by=BY)  # type: ignore[arg-type]
    return issued_report(shop, TAG, digest)


def attached(pdf: bytes) -> dict[str, bytes]:
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        return {name: one.get_file().read_bytes() for name, one in opened.attachments.items()}


def everything(pdf: bytes) -> bytes:
    """Every stream, metadata and attachment of a paper, unpacked."""
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        streams = [pdf, str(dict(opened.docinfo)).encode()]
        for one in opened.objects:
            if isinstance(one, pikepdf.Stream):
                raw = "/DCTDecode" in str(one.get("/Filter"))
                streams.append(one.read_raw_bytes() if raw else one.read_bytes())
    return b"\n".join(streams)


def guessed(pdf: bytes, bodies: Iterable[dict[str, Any]]) -> list[str]:
    """Serials whose digest stands in the paper: of each body, of an entry of it, of the number."""
    files = attached(pdf)
    found = set(re.findall(rb"[0-9a-f]{64}", everything(pdf)))
    journal = json.loads(files.get("journal.json", b"[]"))
    hits = []
    for body in bodies:
        texts = [canonical_json(body), str(body["text"]).encode()]
        for line in journal:
            entry = {key: value for key, value in line.items() if key not in ("digest", "seed")}
            texts.append(canonical_json({**entry, "body": body}))
        if any(hashlib.sha256(one).hexdigest().encode() in found for one in texts):
            hits.append(str(body["text"]))
    return hits


@pytest.mark.parametrize("reader", OUTSIDERS)
def test_a_thousand_guesses_at_the_hidden_digits_find_nothing(
    bench: TestClient, reader: str
) -> None:
    kind, body = serial(SERIAL)
    pdf = paper(bench, [*PUBLIC, (kind, body)], reader)
    files = attached(pdf)
    assert "journal.json" not in files
    assert SERIAL.encode() not in everything(pdf)
    assert SERIAL not in text_of(pdf)
    guesses = [
        {**body, "text": f"S10{''.join(one)}"} for one in itertools.product("0123456789", repeat=3)
    ]
    assert len(guesses) == 1000
    assert guessed(pdf, guesses) == []


def test_the_attack_finds_the_number_where_a_digest_of_it_is_printed() -> None:
    """The test of the test: the digest of an unsalted body gives the number away."""
    body = serial(SERIAL)[1]
    told = hashlib.sha256(canonical_json(body)).hexdigest()
    pdf = pikepdf.new()
    pdf.add_blank_page()
    pdf.attachments["leak.txt"] = told.encode()
    out = io.BytesIO()
    pdf.save(out)
    guesses = [{**body, "text": f"S10{number:03}"} for number in range(1000)]
    assert guessed(out.getvalue(), guesses) == [SERIAL]


@pytest.mark.parametrize("reader", OUTSIDERS)
def test_the_paper_prints_the_whole_digest_of_the_entry_that_fixes_it(
    bench: TestClient, reader: str
) -> None:
    pdf = paper(bench, [*PUBLIC, serial(SERIAL)], reader)
    files = attached(pdf)
    head = json.loads(files["copy.json"])["digest"]
    assert set(files) == {"copy.json", "examination.json", "finding.json", "doubts.json"}
    assert head in re.sub(r"\s", "", text_of(pdf))
    rest = {name: data for name, data in files.items() if name != "copy.json"}
    assert copy_holds(files["copy.json"], rest, head)
    kinds = [json.loads(line)["kind"] for line in shop_of(bench).journals.lines(TAG)]
    assert kinds.count("issue") == 1


def test_a_second_printing_is_the_same_paper(bench: TestClient) -> None:
    first = paper(bench, [*PUBLIC, serial(SERIAL)])
    shop = shop_of(bench)
    again = issue(shop, TAG, "buyer", id_="paper-2", by=BY)
    assert issued_report(shop, TAG, again) == first
    kinds = [json.loads(line)["kind"] for line in shop.journals.lines(TAG)]
    assert kinds.count("issue") == 1


def test_an_issue_cut_off_before_its_file_was_kept_is_finished(
    bench: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from heelstamp.shop import reports

    shop = shop_of(bench)
    shop.enter(TAG, [*PUBLIC, serial(SERIAL)], by=BY)

    def killed(*_: object) -> str:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(reports, "keep_file", killed)
        with pytest.raises(KeyboardInterrupt):
            issue(shop, TAG, "buyer", id_="paper-1", by=BY)
    assert reports.issued(shop, TAG) == ()
    shop.made = Memo(10)
    digest = issue(shop, TAG, "buyer", id_="paper-1", by=BY)
    assert json.loads(attached(issued_report(shop, TAG, digest))["copy.json"])


def test_results_are_those_that_the_reader_computes(bench: TestClient) -> None:
    from heelstamp.casework.dating import date_instrument
    from heelstamp.casework.examination import parse_examination
    from heelstamp.reference.tables import mark_context

    shop = shop_of(bench)
    files = attached(paper(bench, [*PUBLIC, serial(SERIAL)]))
    read = parse_examination(json.loads(files["examination.json"]), shop.tree_for)
    (number,) = [one for one in read.state.observations.values() if one.kind == "serial"]
    assert number.text == "S10???"
    subject = shop.subject(TAG)
    again = date_instrument(read.state, subject.chronology, mark_context())
    assert canonical_json(again.data()) == files["finding.json"]


PRIVATE_FRAME = "f-case closed-90"
EXCHANGES: dict[str, list[tuple[str, dict[str, Any]]]] = {
    "serial digits": [*PUBLIC, serial("S10999")],
    "how a serial was read": [
        *PUBLIC,
        serial(SERIAL, readings=[{"text": SERIAL, "weight": 0.9},
                                 {"text": "S10360", "weight": 0.1}]),
    ],
    "ids and order": [
        serial(SERIAL, id="z9"),
        *[(kind, {**body, "id": f"x-{body['id']}"}) for kind, body in reversed(PUBLIC)
          if kind not in ("treatment", "consent")],
        *[(kind, {**body, "id": f"x-{body['id']}"}) for kind, body in PUBLIC
          if kind in ("treatment", "consent")],
    ],
    "notes and reasons": [
        ("observation", {**PUBLIC[0][1], "note": "Z. Quarrelby said so"}),
        ("consent", {**PUBLIC[1][1], "by": "Z. Quarrelby", "condition": "call 020 7946 0991",
                     "note": "at 5 Invented Street"}),
        ("treatment", {**PUBLIC[2][1], "reason": "Quarrelby asked", "amount": "3", "felt": "stiff",
                       "note": "private"}),
        ("measurement", {**PUBLIC[3][1], "note": "seen by Quarrelby"}),
        serial(SERIAL, note="written S10350 on the docket"),
    ],
    "custody, statements and what has no public kind": [
        *PUBLIC,
        serial(SERIAL),
        ("custody", {"id": "k", "event": "received", "giver": "Z. Quarrelby", "receiver": BY,
                     "place": "Invented Street"}),
        ("statement", {"id": "s", "role": "Z. Quarrelby", "about": "strings", "text": "new",
                       "signed": True}),
        ("decision", {"id": "d", "about": "a matter", "decided": "x", "reason": "y"}),
        ("question", {"id": "q", "question": "neck", "asked": "is it straight",
                      "state": "to be looked at"}),
        ("price", {"id": "pr", "of": "insured value", "amount": "12000", "reason": "agreed"}),
        ("title_search", {"id": "ts", "register": "a list", "hit": False}),
        ("near_number", {"id": "nn", "number": "S10351", "settled": "another", "reason": "seen"}),
    ],
    "history of corrections": [
        *PUBLIC,
        serial("S10340"),
        ("correction", {"id": "c1", "corrects": "number", "reason": "misread",
                        "replacement": serial(SERIAL)[1]}),
        ("observation", {"id": "gone", "part": "body", "kind": "mark", "status": "absent"}),
        ("correction", {"id": "c2", "corrects": "gone", "reason": "mistaken", "replacement": None}),
    ],
}  # fmt: skip


def told(bench: TestClient, entries: Iterable[tuple[str, dict]], reader: str) -> dict[str, bytes]:
    """Everything of a paper that is not a salt, a place or a hash behind a seed."""
    pdf = paper(bench, entries, reader)
    files = attached(pdf)
    copy = json.loads(files.pop("copy.json"))
    blank = [path for _, _, path, value in copy["shown"] if path != "/body/files"]
    text = re.sub(r"\s", "", text_of(pdf))
    assert copy["digest"] in text
    with pikepdf.open(io.BytesIO(pdf)) as opened:
        pictures = [
            one.read_raw_bytes()
            for one in opened.objects
            if isinstance(one, pikepdf.Stream) and one.get("/Subtype") == "/Image"
        ]
        about = re.sub(r"(?i)instanceID>[^<]*<", "", opened.Root.Metadata.read_bytes().decode())
        info = str(dict(opened.docinfo))
    return files | {
        "copy": canonical_json([copy["size"], len(copy["hashes"]) > 0, sorted(blank)]),
        "page": text.replace(copy["digest"], "").encode(),
        "pictures": b"".join(pictures),
        "metadata": about.encode(),
        "info": info.encode(),
    }


@pytest.mark.parametrize("reader", OUTSIDERS)
@pytest.mark.parametrize("exchange", EXCHANGES)
def test_what_is_masked_changes_no_byte(tmp_path: Path, exchange: str, reader: str) -> None:
    papers = []
    for number, entries in enumerate(([*PUBLIC, serial(SERIAL)], EXCHANGES[exchange])):
        folder = tmp_path / str(number)
        folder.mkdir()
        with bench_of(make_shop(folder)) as client:
            add_frame(client, "front")
            if number and exchange.startswith("custody"):
                add_frame(client, "back", shade=90, private="on")
            papers.append(told(client, entries, reader))
    first, second = papers
    assert [name for name in first if first[name] != second.get(name)] == []
    assert set(first) == set(second)


def plant_note(state: Any) -> str:
    return str([one.note for one in state.observations.values()])


def plant_digest(state: Any) -> str:
    return str(state.head)


def plant_files(state: Any) -> str:
    return str([one.file for one in state.photographs.values()])


def plant_private(state: Any) -> str:
    return str(sum(one.private for one in state.photographs.values()))


@pytest.mark.parametrize(
    ("leak", "exchange"),
    [
        (plant_note, "notes and reasons"),
        (plant_digest, "serial digits"),
        (plant_private, "custody, statements and what has no public kind"),
    ],
)
def test_a_planted_leak_is_found(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, leak: Any, exchange: str
) -> None:
    from heelstamp.shop import reports

    honest = reports.Told.attachments
    whole: dict[int, Any] = {}

    def leaking(self: Any) -> dict[str, bytes]:
        subject = self.subject
        state = subject.shop.standing(TAG)[0]
        key = id(self)
        whole.setdefault(key, leak(state))
        return honest(self) | {"leak.json": canonical_json(whole[key])}

    monkeypatch.setattr(reports.Told, "attachments", leaking)
    with pytest.raises(AssertionError, match=r"leak\.json"):
        test_what_is_masked_changes_no_byte(tmp_path, exchange, "buyer")


@pytest.mark.parametrize("laid_out", [False, True])
def test_the_command_verifies_a_paper_without_a_shop(
    bench: TestClient, tmp_path: Path, laid_out: bool
) -> None:
    from heelstamp.archive import Verdict
    from heelstamp.shop.copies import is_copy, verify_issued

    pdf = paper(bench, [*PUBLIC, serial(SERIAL)])
    files = attached(pdf)
    head = json.loads(files["copy.json"])["digest"]
    path = tmp_path / "report.pdf"
    path.write_bytes(pdf)
    if laid_out:
        for name, data in files.items():
            (tmp_path / name).write_bytes(data)
        path = tmp_path / "copy.json"
    assert is_copy(path)
    assert verify_issued(path, head=head).verdict is Verdict.SOUND
    short = verify_issued(path, head=head[:12])
    assert (short.verdict, short.code) == (Verdict.CANNOT_DECIDE, "head short")
    assert verify_issued(path, head="0" * 64).code == "head"
    if laid_out:
        (tmp_path / "finding.json").write_bytes(b"{}")
        assert verify_issued(path, head=head).code == "file"
        (tmp_path / "finding.json").unlink()
        assert verify_issued(path, head=head).code == "files"
