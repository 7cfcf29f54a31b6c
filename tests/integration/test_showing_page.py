"""The showing page of the demonstration: one file, nothing private, nothing from elsewhere."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
import soundfile
from PIL import Image

from fakes.demonstration import Demonstration
from fakes.paper_text import text_of
from heelstamp.archive import Verdict
from heelstamp.archive.signed import SignatureFault, read_signature
from heelstamp.casework.listing.showing import release_entries
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.errors import ConflictError, InputError
from heelstamp.report.showing_page import MOST_BYTES, said_in
from heelstamp.shop.handed_out import Known, check_file, check_here
from heelstamp.shop.issuing import issue, issued
from heelstamp.shop.listing import listing_at
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.showing import issue_showing, preview_showing

TAG, SERIAL = "H-0001", "S10350"
DATA_URI = re.compile(r'src="data:(image/jpeg|audio/flac);base64,([A-Za-z0-9+/=]+)"')


@pytest.fixture(scope="module")
def offered(demo: Demonstration) -> Iterator[OpenShop]:
    with OpenShop(demo.shop) as opened:
        yield opened


@pytest.fixture(scope="module")
def page(offered: OpenShop) -> bytes:
    return preview_showing(offered, TAG)


def test_it_is_one_file_within_its_bound_and_asks_for_nothing(page: bytes) -> None:
    assert len(page) <= MOST_BYTES
    text = page.decode()
    bare = DATA_URI.sub("", text)
    assert not re.findall(r"https?://(?!www\.w3\.org)", bare)
    assert not re.findall(r'(?:src|href|action|data)="(?!#|data:)[^"]', bare)
    policy = re.search(r'Content-Security-Policy" content="([^"]+)"', text)
    assert policy
    told = unescape(policy[1])
    assert told.startswith("default-src 'none'; img-src data:; media-src data:;")
    for kind in ("style", "script"):
        (inside,) = re.findall(rf"<{kind}>(.*?)</{kind}>", text, re.DOTALL)
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert f"{kind}-src 'sha256-{digest}'" in told
    assert not re.findall(r"\s(?:style|on[a-z]+)=", DATA_URI.sub("", text.split("<script")[0]))


def test_every_sentence_of_the_listing_is_on_it(offered: OpenShop, page: bytes) -> None:
    text = " ".join(unescape(page.decode()).split())
    listing = listing_at(offered, TAG).listing
    for one in listing.lines():
        assert one.text in text
    assert listing.flaws[0].text in str(said_in(page)["flaws"])


def test_nothing_private_is_in_its_bytes_nor_in_its_pictures_and_sounds(page: bytes) -> None:
    assert SERIAL.encode() not in page
    kinds = []
    for kind, coded in DATA_URI.findall(page.decode()):
        data = base64.b64decode(coded)
        kinds.append(kind)
        assert SERIAL.encode() not in data
        assert b"Exif" not in data[:64]
        if kind == "image/jpeg":
            with Image.open(io.BytesIO(data)) as opened:
                assert not opened.getexif()
                assert "icc_profile" not in opened.info
                assert not opened.info.get("comment")
        else:
            with soundfile.SoundFile(io.BytesIO(data)) as sound:
                assert sound.channels == 1
                assert not {k: v for k, v in sound.copy_metadata().items() if k != "software"}
    assert kinds.count("image/jpeg") == 49 + 2 * 2  # photographs, and two faces in both lights
    assert kinds.count("audio/flac") == 4


def test_a_drawn_box_is_in_the_pixels(offered: OpenShop, page: bytes) -> None:
    listing = listing_at(offered, TAG).listing
    place = [caption for _, caption in listing.photographs].index("Neck plate, plate")
    pictures = [coded for kind, coded in DATA_URI.findall(page.decode()) if kind == "image/jpeg"]
    pairs = 4 if place >= 2 else 0
    with Image.open(io.BytesIO(base64.b64decode(pictures[place + pairs]))) as shown:
        middle = shown.convert("L").crop(
            tuple(
                round(share * size)
                for share, size in zip(
                    (0.34, 0.44, 0.64, 0.56), (*shown.size, *shown.size), strict=True
                )
            )
        )
    low, high = middle.getextrema()
    assert high - low < 24


def test_a_recording_is_heard_only_once_a_person_released_it(offered: OpenShop) -> None:
    state = offered.subject(TAG).state
    stamp = EntryStamp("keep-it", "", "2026-12-01T12:00:00Z")
    one = next(iter(state.recordings))
    assert release_entries(state, stamp, one, True) == []
    offered.enter(TAG, release_entries(state, stamp, one, False), by="the owner")
    assert preview_showing(offered, TAG).count(b"data:audio/flac") == 3
    with pytest.raises(InputError, match="voice"):
        release_entries(state, stamp, "r-none", True)
    again = EntryStamp("let-it", "", "2026-12-01T12:01:00Z")
    state = offered.subject(TAG).state
    offered.enter(TAG, release_entries(state, again, one, True), by="the owner")


def test_issued_it_is_signed_as_a_whole_and_a_changed_byte_is_found(
    offered: OpenShop, tmp_path: Path
) -> None:
    note = {"id": "claim", "subject": "a claim by letter", "open": True, "reason": "it came"}
    offered.enter(TAG, [("title_note", note)], by="the owner")
    with pytest.raises(ConflictError, match="stands against"):
        issue_showing(offered, TAG, id_="s1", by="the owner")
    closed = note | {"id": "claim-2", "open": False}
    offered.enter(TAG, [("title_note", closed)], by="the owner")
    digest = issue_showing(offered, TAG, id_="s1", by="the owner")
    assert issue_showing(offered, TAG, id_="s1", by="the owner") == digest
    data = offered.files.get(digest)
    assert len(data) <= MOST_BYTES
    path = tmp_path / "showing.html"
    path.write_bytes(data)
    (here,) = check_here(offered, path, Known())
    assert here.verdict is Verdict.SOUND
    assert "showing page for the public" in str(here.findings)
    (alone,) = check_file(path, Known())
    assert alone.verdict is Verdict.CANNOT_DECIDE
    for place in (0, 400, len(data) // 2, len(data) - 3000, len(data) - 200, len(data) - 3):
        spoilt = bytearray(data)
        spoilt[place] ^= 1
        with pytest.raises(SignatureFault):
            read_signature(bytes(spoilt))
    with pytest.raises(SignatureFault, match="last line"):
        read_signature(data + b"<p>more</p>\n")
    (new, *_) = issued(offered, TAG)
    assert (new.paper, new.version) == ("showing page", 1)
    said = json.loads(json.dumps(said_in(data)))
    assert said["title"] == "Sallowby Instrument Works Wherry, electric guitar"


def test_a_report_in_inches_is_another_version_and_comes_out_again(offered: OpenShop) -> None:
    first = issue(offered, TAG, "buyer", id_="in-1", by="the owner", lengths="in")
    assert issue(offered, TAG, "buyer", id_="in-2", by="the owner", lengths="in") == first
    text = text_of(offered.files.get(first))
    assert "0.0098 ± 0.0012 in" in text  # a relief of 0.25 ± 0.03 mm; an inch is 25.4 mm exactly
    plain = issue(offered, TAG, "buyer", id_="in-3", by="the owner")
    assert plain != first
    assert "0.25 ± 0.03 mm" in text_of(offered.files.get(plain))
