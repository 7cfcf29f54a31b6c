"""What an outsider's paper tells: nothing but what is meant, even to one who computes on it."""

from __future__ import annotations

import hashlib
import io
import itertools
import json
import re
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import pikepdf
import pytest
from starlette.testclient import TestClient

from fakes.every_kind import BODIES
from fakes.lamp_shop import LAMP, PAIR, UV, VISIBLE, as_jpeg, compared, drawing, lamp_shop
from fakes.paper_text import text_of
from fakes.second_verifier import copy_holds
from fakes.web_shop import TAG, add_frame, bench_of, make_shop, state_in
from heelstamp.archive import canonical_json
from heelstamp.casework.dossier import attach_photograph
from heelstamp.casework.finish import unpacked
from heelstamp.casework.papers.public_record import _FIELDS, _OF_INSTRUMENT
from heelstamp.catalogue import Exposure, body_data
from heelstamp.catalogue.entries import KINDS
from heelstamp.shop import now
from heelstamp.shop.files import keep_file
from heelstamp.shop.issuing import issue, issued_report
from heelstamp.shop.listing import listing_at, write_bag
from heelstamp.shop.memo import Memo
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.pack import make_pack
from heelstamp.shop.showing import preview_showing

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
    ("recording", {"id": "rung", "file": "ab" * 32, "name": "rung.wav", "media_type": "audio/wav",
                   "sound": "note", "string": 6, "fret": 0, "note_name": "E2", "part": "strings"}),
    ("measurement", {"id": "heard", "part": "strings", "quantity": "pitch", "value": 82.4,
                     "unit": "Hz", "stage": "found",
                     "heard": {"recordings": ["rung"], "note": "E2"}}),
    ("contents", {"id": "thing", "item": "strap", "link": "same period"}),
    ("exposure", {"id": "lamp", "part": "finish", "minutes": 3.0}),
    ("condition", {"id": "chip", "damage": "chip", "material": "finish", "face": "front",
                   "length_mm": 4.0}),
    ("condition", {"id": "chip-again", "damage": "chip", "material": "finish", "face": "front",
                   "length_mm": 5.0}),
    ("face_looked", {"id": "looked", "face": "front"}),
    ("grade", {"id": "graded", "grade": "B", "reason": "wear"}),
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


def paper(
    bench: TestClient,
    entries: Iterable[tuple[str, dict]],
    reader: str = "buyer",
    id_: str = "paper-1",
) -> bytes:
    shop = shop_of(bench)
    shop.enter(TAG, list(entries), by=BY)
    digest = issue(shop, TAG, reader, id_=id_, by=BY)  # type: ignore[arg-type]
    return issued_report(shop, TAG, digest)


@pytest.fixture(scope="module")
def handed_out(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[OpenShop, dict]]:
    """A shop that issued each outsider's paper once, and the papers by reader."""
    with bench_of(make_shop(tmp_path_factory.mktemp("handed"))) as client:
        entries = [*PUBLIC, serial(SERIAL)]
        papers = {
            one: paper(client, () if n else entries, one, f"paper-{n}")
            for n, one in enumerate(OUTSIDERS)
        }
        yield shop_of(client), papers


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
    handed_out: tuple[OpenShop, dict], reader: str
) -> None:
    _, body = serial(SERIAL)
    pdf = handed_out[1][reader]
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
    handed_out: tuple[OpenShop, dict], reader: str
) -> None:
    shop, papers = handed_out
    pdf = papers[reader]
    files = attached(pdf)
    head = json.loads(files["copy.json"])["digest"]
    assert set(files) == {"copy.json", "examination.json", "finding.json", "doubts.json"}
    assert head in re.sub(r"\s", "", text_of(pdf))
    rest = {name: data for name, data in files.items() if name != "copy.json"}
    assert copy_holds(files["copy.json"], rest, head)
    kinds = [json.loads(line)["kind"] for line in shop.journals.lines(TAG)]
    assert kinds.count("issue") == len(OUTSIDERS)


def test_a_second_printing_is_the_same_paper(handed_out: tuple[OpenShop, dict]) -> None:
    shop, papers = handed_out
    first = papers["buyer"]
    again = issue(shop, TAG, "buyer", id_="paper-2", by=BY)
    assert issued_report(shop, TAG, again) == first
    kinds = [json.loads(line)["kind"] for line in shop.journals.lines(TAG)]
    assert kinds.count("issue") == len(OUTSIDERS)


def test_an_issue_cut_off_before_its_file_was_kept_is_finished(
    bench: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    from heelstamp.shop import issuing

    shop = shop_of(bench)
    shop.enter(TAG, [*PUBLIC, serial(SERIAL)], by=BY)

    def killed(*_: object) -> str:
        raise KeyboardInterrupt

    with monkeypatch.context() as broken:
        broken.setattr(issuing, "keep_file", killed)
        with pytest.raises(KeyboardInterrupt):
            issue(shop, TAG, "buyer", id_="paper-1", by=BY)
    assert issuing.issued(shop, TAG) == ()
    shop.made = Memo(10)
    digest = issue(shop, TAG, "buyer", id_="paper-1", by=BY)
    assert json.loads(attached(issued_report(shop, TAG, digest))["copy.json"])


def test_results_are_those_that_the_reader_computes(handed_out: tuple[OpenShop, dict]) -> None:
    from heelstamp.casework.dating import date_instrument
    from heelstamp.casework.examination import parse_examination
    from heelstamp.reference.tables import mark_context

    shop, papers = handed_out
    files = attached(papers["buyer"])
    read = parse_examination(json.loads(files["examination.json"]), shop.tree_for)
    (number,) = [one for one in read.state.observations.values() if one.kind == "serial"]
    assert number.text == "S10???"
    subject = shop.subject(TAG)
    again = date_instrument(read.state, subject.chronology, mark_context())
    assert canonical_json(again.data()) == files["finding.json"]


def renamed(body: dict[str, Any]) -> dict[str, Any]:
    """What a value was heard in, under other names."""
    return {"heard": {"recordings": ["x-rung"], "note": "E2"}} if "heard" in body else {}


ORDERED = ("treatment", "consent", "recording", "measurement")
"""Kinds that name what stands before them."""
MADE = "2026-11-01T07:00:00Z"
"""When a device took an entry that it could not send then."""
PRIVATE = "f-back-90"
"""A frame that is marked private."""
NEW: dict[str, dict[str, Any]] = {
    "custody": {"event": "received", "giver": "Z. Quarrelby", "receiver": BY,
                "place": "Invented Street", "note": "in his car"},
    "sale": {"event": "examined", "day": "2026-11-02", "note": "for Quarrelby"},
    "price": {"of": "insured value", "amount": "12000", "reason": "agreed"},
    "screw": {"part": "neck", "opening": "neck off", "number": 1, "x": 0.5, "y": 0.5,
              "frame": PRIVATE, "drive": "slotted", "odd": True, "note": "Quarrelby's"},
    "pair_marks": {"visible": "f-front-120", "uv": PRIVATE, "file": "ab" * 32},
    "paper": {"paper": "report", "reader": "consignor", "file": "ab" * 32, "note": "for Quarrelby"},
    "issue": {"reader": "consignor", "day": "2026-11-02", "files": {"report.pdf": "ab" * 32}},
    "return_verdict": {"slot": "front", "verdict": "same", "left": "f-front-120",
                       "returned": PRIVATE, "reason": "Quarrelby brought it"},
    "statement": {"role": "Z. Quarrelby", "about": "strings", "text": "new", "signed": True},
    "difference_look": {"before": "f-front-120", "after": PRIVATE, "it_is": "light",
                        "note": "Quarrelby moved the lamp"},
}  # fmt: skip
"""Bodies that say more than those of `BODIES`, of kinds that outsiders are not told of."""


def untold() -> list[tuple[str, dict[str, Any]]]:
    """One entry of each kind that outsiders are not told of, whichever kinds there are."""
    kinds = [one for one, body in KINDS.items() if body not in _FIELDS]
    kinds = [one for one in kinds if one not in ("instrument", "correction")]
    return [(one, {"id": f"k-{one}", **NEW.get(one, BODIES[one])}) for one in (*kinds, "statement")]


def all_else() -> list[tuple[str, dict[str, Any]]]:
    """What is public, with everything beside it that is not: words, names, frames, times, files."""
    more: dict[str, dict[str, Any]] = {
        "mark": {"note": "Z. Quarrelby said so", "frames": [PRIVATE], "file": "ad" * 32},
        "leave": {"by": "Z. Quarrelby", "condition": "call 020 7946 0991",
                  "note": "at 5 Invented Street"},
        "lifted": {"reason": "Quarrelby asked", "amount": "3", "felt": "stiff", "note": "private",
                   "before": [PRIVATE], "after": [PRIVATE]},
        "weighed": {"note": "seen by Quarrelby", "frames": [PRIVATE]},
        "rung": {"file": "cd" * 32, "name": "Quarrelby.wav", "note": "at his house"},
        "heard": {"note": "he hummed it", "heard": {
            "recordings": ["rung", "swept"], "note": "E2", "finding": "fe" * 32}},
        "thing": {"item": "a letter to Z. Quarrelby", "note": "read S10350", "frames": [PRIVATE]},
        "lamp": {"reason": "Quarrelby asked", "note": "private", "since": "2026-11-02T09:00:00Z",
                 "until": "2026-11-02T09:03:00Z"},
        "chip": {"note": "by Quarrelby's buckle", "frame": PRIVATE, "x": 0.3, "y": 0.4},
        "chip-again": {"same_as": "chip"},
        "looked": {"note": "by daylight at his house"},
        "graded": {"reason": "Quarrelby thinks so"},
        "number": {"note": "written S10350 on the docket", "frames": [PRIVATE]},
    }  # fmt: skip
    spoken = {"name": "said.wav", "media_type": "audio/wav", "sound": "voice", "screen": "intake"}
    swept = {"name": "swept.wav", "media_type": "audio/wav", "sound": "control", "take": "sweep"}
    entries = [(kind, {**body, **more[body["id"]], "made": MADE})
               for kind, body in [*PUBLIC, serial(SERIAL)]]  # fmt: skip
    place = next(n for n, (_, body) in enumerate(entries) if body["id"] == "heard")
    entries[place:place] = [
        ("recording", {"id": "spoken", "file": "ef" * 32, **spoken}),
        ("recording", {"id": "swept", "file": "ee" * 32, **swept, "part": "pot_volume"}),
    ]
    claim = {"kind": "guitar", "maker": "Sallowby Instrument Works", "model": "Wherry",
             "claimed": "1959", "chronology": "sallowby-wherry", "tag": TAG}  # fmt: skip
    told = {"id": "claim", "corrects": "instrument", "reason": "he said so", "replacement": claim}
    return [*entries, ("correction", told)]


EXCHANGES: dict[str, list[tuple[str, dict[str, Any]]]] = {
    "serial number": [
        *PUBLIC,
        serial("S10999", readings=[{"text": "S10999", "weight": 0.9},
                                   {"text": "S10360", "weight": 0.1}]),
    ],
    "ids and order": [
        serial(SERIAL, id="z9"),
        *[(kind, {**body, "id": f"x-{body['id']}"}) for kind, body in reversed(PUBLIC)
          if kind not in ORDERED],
        *[(kind, {**body, "id": f"x-{body['id']}"} | renamed(body))
          for kind, body in PUBLIC if kind in ORDERED],
    ],
    "words, frames, sounds and times": all_else(),
    "kinds that outsiders are not told of": [*PUBLIC, serial(SERIAL), *untold()],
    "history of corrections": [
        *PUBLIC,
        serial("S10340"),
        ("correction", {"id": "c1", "corrects": "number", "reason": "misread",
                        "replacement": serial(SERIAL)[1]}),
        ("observation", {"id": "gone", "part": "body", "kind": "mark", "status": "absent"}),
        ("correction", {"id": "c2", "corrects": "gone", "reason": "mistaken", "replacement": None}),
    ],
}  # fmt: skip
NEEDS_PRIVATE = ("words", "kinds")
"""Exchanges, by how they begin, in which there is a private frame besides."""


def drawing_of(page: pikepdf.Page) -> list[str]:
    """Everything a page draws, in order, but its text, which is read apart."""
    drawn, in_text = [], False
    for operands, operator in pikepdf.parse_content_stream(page):
        in_text = (in_text or str(operator) == "BT") and str(operator) != "ET"
        if not in_text:
            drawn.append(f"{[str(one) for one in operands]} {operator}")
    return drawn


def told(
    bench: TestClient, entries: Iterable[tuple[str, dict]], reader: str, id_: str = "paper-1"
) -> dict[str, bytes]:
    """Everything of a paper that is not a salt, a place or a hash behind a seed."""
    pdf = paper(bench, entries, reader, id_)
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
        drawn = [drawing_of(one) for one in opened.pages]
        spoken = [
            [str(one.get(key)) for key in ("/S", "/Alt", "/ActualText", "/T", "/Title", "/Lang")]
            for one in opened.objects
            if isinstance(one, pikepdf.Dictionary)
        ]
    return files | {
        "copy": canonical_json([copy["size"], len(copy["hashes"]) > 0, sorted(blank)]),
        "page": text.replace(copy["digest"], "").encode(),
        "pictures": b"".join(pictures),
        "metadata": about.encode(),
        "info": info.encode(),
        "drawing": str(drawn).encode(),
        "structure": str(spoken).replace(copy["digest"], "").encode(),
    }


Papers = dict[str, dict[str, bytes]]


def papers_of(
    folder: Path,
    exchange: str = "",
    readers: Iterable[str] = OUTSIDERS,
    key_of: Path | None = None,
    packs: bool = True,
) -> Papers:
    """What each outsider's paper tells of a dossier, with other masked inputs or without.

    A paper prints its shop's key: with *key_of* it is that of another shop.
    """
    with bench_of(make_shop(folder, key_of=key_of)) as client:
        add_frame(client, "front")
        if exchange.startswith(NEEDS_PRIVATE):
            add_frame(client, "back", shade=90, private="on")
        entries = EXCHANGES[exchange] if exchange else [*PUBLIC, serial(SERIAL)]
        papers = {
            one: told(client, entries if n == 0 else (), one, f"paper-{n}")
            for n, one in enumerate(readers)
        }
        packed_for = (*readers, "public") if packs else ()
        shown = {"everyone": listed(client, folder)} if packs else {}
        packs_ = {f"pack for {one}": packed(client, folder, one) for one in packed_for}
        return papers | packs_ | shown


OF_ONE_PAPER = ("papers/", "findings/copy.json", "manifest-sha256.txt", "bag-info.txt")
"""What in a pack holds salts or digests of a paper, which is compared by itself."""


def packed(bench: TestClient, folder: Path, reader: str) -> dict[str, bytes]:
    """Every file of a pack by its path; of the public one all, and the ZIP file whole."""
    made = folder / f"{reader}.zip"
    make_pack(shop_of(bench), TAG, reader, made)
    with zipfile.ZipFile(made) as archive:
        files = {one: archive.read(one) for one in archive.namelist()}
    everything = b"\n".join(files.values())
    assert SERIAL.encode() not in everything
    assert b"Quarrelby" not in everything
    if reader == "public":
        return {**files, "whole": made.read_bytes()}
    return {one: data for one, data in files.items() if not any(map(one.count, OF_ONE_PAPER))}


def listed(bench: TestClient, folder: Path) -> dict[str, bytes]:
    """The listing, file by file, and the showing page, both as they would be issued now."""
    shop, made = shop_of(bench), folder / "listing.zip"
    write_bag(shop, TAG, listing_at(shop, TAG), made, day="2026-12-01")
    with zipfile.ZipFile(made) as archive:
        files = {one: archive.read(one) for one in archive.namelist()}
    files["showing.html"] = preview_showing(shop, TAG)
    everything = b"\n".join(files.values())
    assert SERIAL.encode() not in everything
    assert b"Quarrelby" not in everything
    return files


def differing(first: Papers, second: Papers) -> list[str]:
    """Names of what is not the same in two readers' papers each."""
    assert set(first) == set(second)
    return [
        f"{reader}: {name}"
        for reader, here in first.items()
        for name in {**here, **second[reader]}
        if here.get(name) != second[reader].get(name)
    ]


@pytest.fixture(scope="module")
def keyed(new_shop: Path) -> Path:
    """A shop whose key every shop of an exchange gets."""
    return new_shop


@pytest.fixture(scope="module")
def plain_papers(tmp_path_factory: pytest.TempPathFactory, keyed: Path) -> Papers:
    """What outsiders' papers tell of the dossier that each exchange is compared with."""
    return papers_of(tmp_path_factory.mktemp("plain"), key_of=keyed)


@pytest.mark.parametrize("exchange", EXCHANGES)
def test_what_is_masked_changes_no_byte(
    tmp_path: Path, plain_papers: Papers, keyed: Path, exchange: str
) -> None:
    assert differing(plain_papers, papers_of(tmp_path, exchange, key_of=keyed)) == []


WITH_PAIRS = {
    "photograph": {"id", "file", "name", "media_type", "width", "height", "taken", "note", "made"},
    "picture_box": {"id", "frame", "note", "made"},
    "picture_scale": {"id", "frame", "note", "made"},
    "region": {"id", "reason", "made"},
}
"""Fields exchanged in the pair below, and by the picture's own bytes."""
DECIDES = {"public", "private"}
"""Fields that say whether an entry or its words are shown at all: what they say is shown."""
NOT_EXCHANGED = {
    "border": "a region's border drawn by hand; its fields are those of a region",
    "wording": "a word that the shop chose for outsiders, with its reason",
    "statement": "shown only where it is marked public, and then as it is",
}
"""Kinds that outsiders are told of and no exchange has, and why."""


def exchanged_fields() -> dict[str, set[str]]:
    """By kind, the fields that differ between the plain dossier and some exchange of it."""
    plain = {body["id"]: body for _, body in [*PUBLIC, serial(SERIAL)]}
    found: dict[str, set[str]] = {kind: set(told) for kind, told in WITH_PAIRS.items()}
    for kind, body in itertools.chain.from_iterable(EXCHANGES.values()):
        was = plain.get(body["id"], {"id": None})
        differing = {one for one in {**was, **body} if body.get(one) != was.get(one)}
        found.setdefault(kind, set()).update(differing)
        if kind == "correction" and body["corrects"] == "instrument":
            found.setdefault("instrument", set()).update(body["replacement"])
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_no_kind_and_no_field_is_left_out_of_the_exchange(kind: str) -> None:
    """Fails for a kind or a field that is new: say that it is public, or exchange it."""
    record, found = KINDS[kind], exchanged_fields()
    if kind in NOT_EXCHANGED:
        assert record in _FIELDS
    elif record in _FIELDS:
        fields = {one.encode_name for one in msgspec.structs.fields(record)}
        assert fields - set(_FIELDS[record][1]) - DECIDES - found.get(kind, set()) == set()
    elif kind == "instrument":
        fields = {one.encode_name for one in msgspec.structs.fields(record)}
        assert fields - set(_OF_INSTRUMENT) - DECIDES - found[kind] == {"made"}
    else:
        assert kind in found


def of_another_file(picture: bytes) -> bytes:
    """The same picture as another file: with a comment in it (ITU-T T.81, marker COM)."""
    told = b"taken by Z. Quarrelby"
    return picture[:2] + b"\xff\xfe" + (len(told) + 2).to_bytes(2, "big") + told + picture[2:]


@pytest.fixture(scope="module")
def compared_pair(tmp_path_factory: pytest.TempPathFactory) -> tuple[bytes, dict[str, Any]]:
    """A pair compared once: file of the finding, and the look entered by it."""
    with bench_of(lamp_shop(tmp_path_factory.mktemp("pair"))) as client:
        found = re.search(r'name="finding" value="([0-9a-f]{64})"', compared(client, drawing()))
        assert found
        told = {**PAIR, "finding": found[1], "id": "o-look"}
        assert client.post(f"{LAMP}/look", data=told).status_code == 200
        look = state_in(client).observations["o-look"]
        return shop_of(client).files.get(look.file or ""), dict(body_data(look))


def pair_entries(
    shop: OpenShop, compared_pair: tuple[bytes, dict[str, Any]], *, masked: bool
) -> list[tuple[str, dict[str, Any]]]:
    """A face under the lamp, and what was said of its regions; *masked* inputs are others."""
    finding, look = compared_pair
    prefix = "q-" if masked else ""
    for id_, slot, light in ((VISIBLE, "uv-front-visible", "visible"), (UV, "uv-front", "UV-A")):
        picture = as_jpeg(uv=light == "UV-A")
        details = {"id": prefix + id_, "name": f"{prefix}{id_}.jpg", "slot": slot, "light": light,
                   "part": "finish", "simulated": True}  # fmt: skip
        if masked:
            details |= {
                "note": "by Z. Quarrelby's window",
                "made": MADE,
                "taken": "2026-10-30T11:00",
            }
        data = of_another_file(picture) if masked else picture
        attach_photograph(shop, TAG, data, details, at=now(), by=BY)
    kept = unpacked(finding, where="look")
    told = {**kept.data, "visible": prefix + VISIBLE, "uv": prefix + UV}
    if masked:
        told |= {"digest": "ad" * 32, "registration": {}, "stray_share": 0.5}
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for name, data in {"finding.json": canonical_json(told), **kept.pictures}.items():
            archive.writestr(name, data)
    file = keep_file(shop, out.getvalue(), "application/zip")
    body = {**look, "id": f"{prefix}look", "file": file, "frames": [prefix + VISIBLE, prefix + UV]}
    aside = {"id": f"{prefix}aside", "look": body["id"], "finding": told["digest"], "region": 1,
             "verdict": "set aside", "reason": "a belt buckle"}  # fmt: skip
    if masked:
        body["note"] = "Z. Quarrelby held the lamp"
        aside["reason"] = "Quarrelby wore it"
    box = {"id": f"{prefix}box", "frame": prefix + VISIBLE, "x": 0.02, "y": 0.03, "width": 0.1,
           "height": 0.05, "hides": "other"}  # fmt: skip
    scale = {"id": f"{prefix}scale", "frame": prefix + VISIBLE, "x0": 0.1, "y0": 0.9, "x1": 0.6,
             "y1": 0.9, "length_mm": 200.0}  # fmt: skip
    if masked:
        box["note"] = scale["note"] = "a letter of Z. Quarrelby's beside it"
        box["made"] = scale["made"] = aside["made"] = MADE
    marks = {"id": f"{prefix}drawn", "visible": prefix + VISIBLE, "uv": prefix + UV, "file": file}
    drawn = [("picture_box", box), ("picture_scale", scale)]
    entries = [("observation", body), ("region", aside), *drawn]
    return [*entries, *([("pair_marks", marks)] if masked else [])]


def test_what_is_masked_of_a_pair_changes_no_byte(
    tmp_path: Path, keyed: Path, compared_pair: tuple[bytes, dict[str, Any]]
) -> None:
    papers: list[Papers] = []
    for masked in (False, True):
        (tmp_path / str(masked)).mkdir()
        with bench_of(make_shop(tmp_path / str(masked), key_of=keyed)) as client:
            entries = pair_entries(shop_of(client), compared_pair, masked=masked)
            whole = [*PUBLIC, *entries, serial(SERIAL)]
            papers.append(
                {
                    one: told(client, () if n else whole, one, f"paper-{n}")
                    for n, one in enumerate(OUTSIDERS)
                }
                | {"pack": packed(client, tmp_path / str(masked), "public")}
                | {"everyone": listed(client, tmp_path / str(masked))}
            )
    assert "finish.json" in papers[0]["buyer"]  # the face is told of
    assert b'class="wipe"' in papers[0]["everyone"]["showing.html"]
    assert differing(*papers) == []


def plant_note(state: Any) -> str:
    return str([one.note for one in state.observations.values()])


def plant_digest(state: Any) -> str:
    return str(state.head)


def plant_files(state: Any) -> str:
    return str([one.file for one in state.recordings.values()])


def plant_items(state: Any) -> str:
    return str([one.item for one in state.contents.values()])


def plant_times(state: Any) -> str:
    return str([one.since for one in state.of(Exposure).values()])


def plant_private(state: Any) -> str:
    return str(sum(one.private for one in state.photographs.values()))


LEAKS = {
    "notes": (plant_note, "words, frames, sounds and times"),
    "items": (plant_items, "words, frames, sounds and times"),
    "digest": (plant_digest, "serial number"),
    "files": (plant_files, "words, frames, sounds and times"),
    "times": (plant_times, "words, frames, sounds and times"),
    "private": (plant_private, "kinds that outsiders are not told of"),
}
"""What is planted among the attachments, and the exchange that must find it."""


def test_planted_leaks_are_found(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The test of the test: each leak alone is named by the exchange that it belongs to."""
    from heelstamp.shop import reports

    honest = reports.Told.attachments
    whole: dict[int, tuple[Any, dict[str, bytes]]] = {}  # one that is held keeps its id

    def leaking(self: Any) -> dict[str, bytes]:
        state = self.subject.shop.standing(TAG)[0]
        planted = {name: canonical_json(leak(state)) for name, (leak, _) in LEAKS.items()}
        return honest(self) | whole.setdefault(id(self), (self, planted))[1]

    monkeypatch.setattr(reports.Told, "attachments", leaking)
    for name in ("", *{exchange for _, exchange in LEAKS.values()}):
        (tmp_path / name[:5]).mkdir(exist_ok=True)
    first = papers_of(tmp_path, readers=["buyer"], packs=False)
    for exchange in {exchange for _, exchange in LEAKS.values()}:
        other = papers_of(tmp_path / exchange[:5], exchange, ["buyer"], packs=False)
        found = differing(first, other)
        assert {f"buyer: {name}" for name, (_, by) in LEAKS.items() if by == exchange} <= set(found)


@pytest.mark.parametrize("laid_out", [False, True])
def test_the_command_verifies_a_paper_without_a_shop(
    handed_out: tuple[OpenShop, dict], tmp_path: Path, laid_out: bool
) -> None:
    from heelstamp.archive import Verdict
    from heelstamp.shop.copies import is_copy, verify_issued

    pdf = handed_out[1]["buyer"]
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
