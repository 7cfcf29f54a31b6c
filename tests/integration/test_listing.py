"""A listing of the demonstration: from the report alone, refused while something is open."""

from __future__ import annotations

import io
import json
import re
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from pyld import jsonld
from starlette.testclient import TestClient
from typer.testing import CliRunner

from fakes.demonstration import Demonstration
from fakes.web_shop import TAG as BENCH_TAG
from fakes.web_shop import flat
from heelstamp.archive import Verdict
from heelstamp.casework.listing.composing import LENGTHS, MOST, text_of
from heelstamp.casework.listing.product import VOCABULARY
from heelstamp.casework.papers.document import texts
from heelstamp.cli.app import app
from heelstamp.errors import ConflictError
from heelstamp.shop.handed_out import Known, check_file, check_here
from heelstamp.shop.issuing import issued
from heelstamp.shop.listing import DATA, PRODUCT, check_text, issue_listing, listing_at
from heelstamp.shop.opened import OpenShop
from heelstamp.wording import about_listing, find_banned

TAG = "H-0001"
SERIAL = "S10350"


@pytest.fixture(scope="module")
def offered(demo: Demonstration) -> Iterator[OpenShop]:
    with OpenShop(demo.shop) as opened_:
        yield opened_


@pytest.fixture(scope="module")
def lifted(offered: OpenShop) -> OpenShop:
    """The shop in which its owner lets the offer pass, with a reason."""
    body = {"id": "let", "event": "override", "lets": "offered", "note": "asked and answered"}
    offered.enter(TAG, [("sale", body | {"day": "2026-12-01"})], by="the owner")
    return offered


def test_every_sentence_of_it_is_one_of_the_report_word_for_word(offered: OpenShop) -> None:
    found = listing_at(offered, TAG)
    said = {one.text for one in found.document.statements()}
    lines = found.listing.lines()
    assert len(lines) > 20
    for one in lines:
        if one.source:
            assert one.text in said
        else:
            assert one.text.startswith(("Number ", "No flaw"))
    shown = {one.frame for one in found.document.pictures}
    assert {one.picture for one in lines} - {""} <= shown


def test_flaws_come_first_and_name_what_was_found_changed(offered: OpenShop) -> None:
    found = listing_at(offered, TAG)
    flaws = [one.text for one in found.listing.flaws]
    assert flaws[0].startswith("The 4th-string tuner is very probably not the first fitted")
    assert any("output jack was fitted first is not determined" in one for one in flaws)
    assert any("glow differs in 2 places" in one for one in flaws)
    assert any("Buckle wear through the coat" in one for one in flaws)
    for length in LENGTHS:
        text = text_of(found.listing, length)
        assert text.index(about_listing.FLAWS.upper()) < text.find("WHAT IT IS") % 10**9
        assert flaws[0] in text


def test_a_shorter_text_keeps_its_length_and_says_what_it_leaves_out(offered: OpenShop) -> None:
    listing = listing_at(offered, TAG).listing
    made = {length: text_of(listing, length) for length in LENGTHS}
    assert all(len(made[one]) <= MOST[one] for one in LENGTHS)
    assert len(made["short"]) < len(made["middle"]) < len(made["full"])
    left = re.search(r"(\d+) more flaws are told", made["short"])
    assert left
    told = sum(one.text in made["short"] for one in listing.flaws)
    assert told + int(left[1]) == len(listing.flaws)
    assert "Not all is told" not in made["full"]


def test_a_grade_that_tells_of_no_fault_is_not_among_the_flaws(offered: OpenShop) -> None:
    found = listing_at(offered, TAG).listing
    flaws, facts = ([one.text for one in side] for side in (found.flaws, found.facts))
    sound = "Structural: A, no crack, split, twist or repair"
    assert not any(one.startswith(sound) for one in flaws)
    assert any(one.startswith(sound) for one in facts)
    assert any(one.startswith("The whole: B") for one in flaws)  # its reason names wear
    assert any(one.startswith("Hardware: ") for one in flaws)


def test_photographs_begin_with_the_whole_and_then_show_the_flaws(offered: OpenShop) -> None:
    found = listing_at(offered, TAG)
    order = [one for one, _ in found.listing.photographs]
    assert order[:2] == list(found.document.cover)
    flaws = list(dict.fromkeys(one.picture for one in found.listing.flaws if one.picture))
    assert order[2 : 2 + len(flaws)] == flaws
    assert sorted(order) == sorted(one.frame for one in found.document.pictures)


def test_nothing_of_it_holds_the_number_or_a_phrase_that_is_refused(offered: OpenShop) -> None:
    found = listing_at(offered, TAG)
    for length in LENGTHS:
        text = text_of(found.listing, length)
        assert SERIAL not in text
        assert SERIAL[1:] not in text
        assert not find_banned(text, covered_areas_described=True, screws_and_joints_described=True)
        against = check_text(offered, TAG, text)
        assert {one.kind for one in against} <= {"left out"}
    assert not check_text(offered, TAG, text_of(found.listing, "full"))


@pytest.mark.parametrize(
    ("text", "kind", "told"),
    [
        ("All original.", "banned", "All original"),
        ("Made in 1962.", "months", "1962: the report says May to Sep 1965 (90 %)."),
        ("Completed in about June 1964.", "months", "June 1964"),
        ("A fine 1950s guitar.", "months", "1950s"),
        ("It weighs 3.4 kg.", "figure", "3.4 kg"),
        ("It weighs 7 lb 9 oz.", "figure", "7 lb 9 oz"),
        ("Action 1.5 mm at the treble.", "", ""),
        ("It weighs 3.28 kg.", "", ""),
        ("It weighs 7 lb 4 oz.", "", ""),
        ("A 1965 Wherry; the docket says 1988.", "", ""),
        ("A 1960s Wherry.", "", ""),
        ("Very probably original tuners.", "state", "4th-string tuner, original"),
        ("The nut is very probably original.", "state", "probably original"),
        ("The nut is probably original.", "", ""),
        ("The neck, frets and nut are original.", "state", "strength"),
        ("The output jack was replaced.", "state", "not determined"),
        ("Never refinished.", "more than seen", "Never refinished"),
        ("No repairs, plays like a dream.", "more than seen", "No repairs"),
        ("Number S 10350.", "number", "masked"),
    ],
)
def test_own_words_are_held_against_the_report(
    offered: OpenShop, text: str, kind: str, told: str
) -> None:
    against = [one for one in check_text(offered, TAG, text) if one.kind != "left out"]
    if not kind:
        assert [one for one in against if one.kind != "figure" or "1.5" not in text] == []
        return
    assert any(one.kind == kind and told.casefold() in one.told.casefold() for one in against)


def test_a_flaw_that_own_words_leave_out_is_named(offered: OpenShop) -> None:
    without = check_text(offered, TAG, "A guitar of 1965.")
    assert any("4th-string tuner" in one.told for one in without if one.kind == "left out")
    named = check_text(offered, TAG, "A guitar of 1965. The 4th-string tuner is another one.")
    assert not any("4th-string tuner" in one.told for one in named if one.kind == "left out")


def test_it_is_not_issued_while_something_is_open_and_says_what_lifts_that(
    demo: Demonstration, offered: OpenShop
) -> None:
    note = {"id": "claim", "subject": "a claim by letter", "reason": "a letter came"}
    offered.enter(TAG, [("title_note", note | {"open": True})], by="the owner")
    told = CliRunner().invoke(
        app, ["paper", "listing", TAG, "--shop", str(demo.shop)], standalone_mode=False
    )
    assert isinstance(told.exception, ConflictError)
    assert "lifts it" in str(told.exception.remedy)
    shown = CliRunner().invoke(
        app, ["listing", TAG, "--json", "--shop", str(demo.shop)], standalone_mode=False
    )
    assert shown.return_value == 1
    assert json.loads(shown.stdout)["blocks"]
    offered.enter(TAG, [("title_note", note | {"id": "claim-2", "open": False})], by="the owner")


@pytest.fixture(scope="module")
def first(lifted: OpenShop) -> str:
    """SHA-256 of the first version."""
    return issue_listing(lifted, TAG, id_="l1", by="the owner")


def opened(data: bytes) -> dict[str, bytes]:
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        return {
            one.partition("/data/")[2]: archive.read(one)
            for one in archive.namelist()
            if "/data/" in one
        }


def test_issued_it_is_a_signed_bag_that_stands_as_a_version(
    lifted: OpenShop, first: str, tmp_path: Path
) -> None:
    shop = lifted
    assert issue_listing(shop, TAG, id_="l1", by="the owner") == first
    data = shop.files.get(first)
    path = tmp_path / "listing.zip"
    path.write_bytes(data)
    assert [one.verdict for one in check_here(shop, path, Known())] == [Verdict.SOUND]
    assert "listing for the public" in str(check_here(shop, path, Known()))
    spoilt = tmp_path / "spoilt.zip"
    place = data.index(b"FLAWS FIRST")
    spoilt.write_bytes(data[:place] + b"flaws last." + data[place + 11 :])
    assert check_file(spoilt, Known())[0].verdict is Verdict.BROKEN

    body = {"id": "obs-new", "part": "nut", "kind": "sign", "sign": "wear of the slots"}
    body |= {"status": "read", "outcome": "low"}
    shop.enter(TAG, [("observation", body)], by="examiner A")
    issue_listing(shop, TAG, id_="l2", by="the owner")
    new, old = (one for one in issued(shop, TAG) if one.paper == "listing")
    assert (new.version, old.version) == (2, 1)
    assert new.changed == ("Sentences: 1 new",)
    assert old.later is not None
    assert "version 2 of" in str(check_here(shop, path, Known()))


def test_what_leaves_has_no_number_no_place_and_no_word_of_the_camera(
    lifted: OpenShop, first: str
) -> None:
    shop = lifted
    files = opened(shop.files.get(first))
    pictures = [one for one in files if one.startswith("photographs/")]
    assert len(pictures) == len(listing_at(shop, TAG).listing.photographs)
    for name, data in files.items():
        assert SERIAL.encode() not in data, name
        if name in pictures:
            with Image.open(io.BytesIO(data)) as opened_:
                assert not opened_.getexif(), name
                assert max(opened_.size) <= 2400
    assert pictures == sorted(pictures)
    said = json.loads(files[DATA])
    assert {one["text"] for one in said["flaws"]} <= set(texts(listing_at(shop, TAG).document))


def test_its_data_are_product_and_offer_of_the_open_vocabulary(
    lifted: OpenShop, first: str
) -> None:
    """Terms: schema.org Product, Offer, QuantitativeValue, PropertyValue (names from memory).

    The code of the gram is GRM in UN/CEFACT Recommendation 20 (from memory). A general processor
    of JSON-LD 1.1 reads it without a network.
    """
    files = opened(lifted.files.get(first))
    told: dict[str, Any] = json.loads(files[PRODUCT])
    (made,) = jsonld.expand(told)
    assert made["@type"] == [f"{VOCABULARY}Product"]
    (offer,) = made[f"{VOCABULARY}offers"]
    assert offer["@type"] == [f"{VOCABULARY}Offer"]
    (there,) = offer[f"{VOCABULARY}availability"]
    assert there["@id"] in {f"{VOCABULARY}{one}" for one in ("InStock", "Reserved", "SoldOut")}
    assert told["weight"] == {"@type": "QuantitativeValue", "value": 3279.0, "unitCode": "GRM"}
    images = [one["@value"] for one in made[f"{VOCABULARY}image"]]
    assert set(images) == {one for one in files if one.startswith("photographs/")}
    names = {one["name"]: one["value"] for one in told["additionalProperty"]}
    assert names["Serial"] == "S10•••"


def test_the_page_shows_what_stands_against_it_and_holds_own_words_against_it(
    bench: TestClient,
) -> None:
    home = f"/dossier/{BENCH_TAG}/listing"
    page = flat(bench.get(home).text)
    assert "Not to be offered yet" in page
    assert "Issue the listing" not in page
    told = flat(bench.post(f"{home}/own", data={"text": "Never refinished."}).text)
    assert "Never refinished: the report does not say that." in told
    refused = bench.post(home)
    assert refused.status_code == 409
    assert "lifts it" in refused.text
    assert bench.get(f"{home}?length=huge").status_code == 422
