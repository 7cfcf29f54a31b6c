"""Wording and Reports without a browser: a word reaches the report, which keeps its bytes."""

from __future__ import annotations

import hashlib
import html
import io
import re
import tempfile
from pathlib import Path

import pikepdf
import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, flat, state_in
from heelstamp.catalogue import DossierState, Issue, WordingChoice
from heelstamp.report.check_page import check_page
from heelstamp.shop.reports import computed_words, document_at
from heelstamp.shop.shop_key import known_keys

HOME = f"/dossier/{TAG}"
SEEN = (
    {"part": "neck", "kind": "mark", "status": "read", "value": "65/03 R"},
    {"part": "neck_plate", "kind": "serial", "status": "read", "value": "S10350"},
)


@pytest.fixture
def seen_bench(bench: TestClient) -> TestClient:
    for one in SEEN:
        assert bench.post(f"{HOME}/seen", data=one).status_code == 200
    return bench


def probable_part(seen_bench: TestClient) -> str:
    desk = seen_bench.app.state.shop  # type: ignore[attr-defined]
    words = computed_words(desk, TAG)
    return next(id_ for id_, one in words.items() if one.strength in ("probably", "very probably"))


def choose(seen_bench: TestClient, statement: str, word: str, reason: str = "") -> int:
    data = {"statement": statement, "word": word, "reason": reason}
    return seen_bench.post(f"{HOME}/word", data=data).status_code


def printed(seen_bench: TestClient, statement: str) -> tuple[str, str]:
    desk = seen_bench.app.state.shop  # type: ignore[attr-defined]
    document = document_at(desk, TAG, "buyer")
    (said,) = [one for one in document.part_statements if one.id == statement]
    (row,) = [one for one in document.parts if f"part:{one.key}" == statement]
    return said.text, row.word


def test_every_sentence_stands_with_its_entries(seen_bench: TestClient) -> None:
    text = flat(html.unescape(seen_bench.get(f"{HOME}/wording").text))
    assert "State of the parts" in text
    (mark,) = [one for one in state_in(seen_bench).observations.values() if one.kind == "mark"]
    assert f"rests on {mark.id}" in text


def test_a_weaker_word_reaches_the_paper_and_can_be_taken_back(seen_bench: TestClient) -> None:
    part = probable_part(seen_bench)
    before = printed(seen_bench, part)
    assert choose(seen_bench, part, "not determined") == 200
    text, word = printed(seen_bench, part)
    assert "left not determined by choice of the examiner" in text
    assert word == ""
    computed = computed_words(seen_bench.app.state.shop, TAG)[part].strength  # type: ignore[attr-defined]
    assert choose(seen_bench, part, computed) == 200
    assert printed(seen_bench, part) == before
    assert state_in(seen_bench).of(WordingChoice) == {}


def test_a_choice_that_has_become_a_raising_without_reason_has_no_effect(
    seen_bench: TestClient,
) -> None:
    part = probable_part(seen_bench)
    before = printed(seen_bench, part)
    acts = [("wording", {"id": "d1", "sentence": part, "word": "certain", "reason": "so"})]
    seen_bench.app.state.shop.enter(TAG, acts, by="examiner A")  # type: ignore[attr-defined]
    assert printed(seen_bench, part) == before


@pytest.mark.parametrize(
    ("word", "reason", "told"),
    [("surely", "", "no such word"), ("not determined", "it is guaranteed", "no paper may carry")],
)
def test_what_may_not_stand_is_refused(
    seen_bench: TestClient, word: str, reason: str, told: str
) -> None:
    data = {"statement": probable_part(seen_bench), "word": word, "reason": reason}
    answer = seen_bench.post(f"{HOME}/word", data=data)
    assert answer.status_code == 422
    assert told in answer.text.lower()
    unknown = {"statement": "part:engine", "word": "probably"}
    assert seen_bench.post(f"{HOME}/word", data=unknown).status_code == 422


def test_own_words_are_searched_before_they_leave(seen_bench: TestClient) -> None:
    text = seen_bench.get(f"{HOME}/wording", params={"own": "Guaranteed all-original <b>"}).text
    assert "“Guaranteed”" in text
    assert "the state of each part" in text
    assert "<b>" not in text.split("<textarea")[1].split("</textarea>")[0]


def test_a_preview_is_a_paper_and_nothing_is_entered(seen_bench: TestClient) -> None:
    length = state_in(seen_bench).length
    answer = seen_bench.get(f"{HOME}/preview/buyer.pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert "frame-ancestors 'self'" in answer.headers["content-security-policy"]
    with pikepdf.open(io.BytesIO(answer.content)) as pdf:
        assert len(pdf.pages) > 1
    assert b"S10350" not in answer.content
    assert state_in(seen_bench).length == length


def test_an_issued_paper_keeps_its_bytes_and_its_digest_is_entered(seen_bench: TestClient) -> None:
    for _ in range(2):  # pressed twice
        seen_bench.post(f"{HOME}/reports", data={"reader": "buyer", "id": "o-77"})
    state: DossierState = state_in(seen_bench)
    (one,) = state.of(Issue).values()
    kept = seen_bench.get(f"{HOME}/paper/{one.file}.pdf").content
    assert hashlib.sha256(kept).hexdigest() == one.file
    assert one.file in seen_bench.get(f"{HOME}/reports").text


@pytest.mark.parametrize(
    ("path", "status"),
    [
        ("preview/thief.pdf", 422),
        (f"paper/{'0' * 64}.pdf", 404),
        ("paper/../shop.pdf", 404),
        ("paper/XYZ.pdf", 422),
        ("reports?reader=thief", 422),
    ],
)
def test_other_files_are_not_given(seen_bench: TestClient, path: str, status: int) -> None:
    assert seen_bench.get(f"{HOME}/{path}").status_code == status


def test_the_policy_is_loosened_on_the_page_of_papers_alone(seen_bench: TestClient) -> None:
    assert "object-src" not in seen_bench.get(f"{HOME}/wording").headers["content-security-policy"]
    policy = seen_bench.get(f"{HOME}/reports").headers["content-security-policy"]
    assert "object-src 'self'" in policy
    assert "frame-ancestors 'none'" in policy


def test_one_changed_byte_is_not_as_issued(seen_bench: TestClient) -> None:
    seen_bench.post(f"{HOME}/reports", data={"reader": "buyer", "id": "p-1"})
    pdf = seen_bench.get(f"{HOME}/paper/{state_in(seen_bench).of(Issue)['p-1'].file}.pdf").content
    changed = bytes([*pdf[:-9], pdf[-9] ^ 1, *pdf[-8:]])
    for data, word in ((pdf, "passed"), (changed, "failed"), (b"", "cannot tell")):
        answer = seen_bench.post(f"{HOME}/reports/check", files={"paper": ("<i>.pdf", data)})
        assert answer.status_code == 200
        assert word in re.findall(r"(?:passed|failed|cannot tell)(?=<)", answer.text), word
        assert "<i>" not in answer.text
    seen_bench.post(f"{HOME}/seen", data={**SEEN[0], "value": "65/04 R"})
    seen_bench.post(f"{HOME}/reports", data={"reader": "buyer", "id": "p-2"})
    answer = seen_bench.post(f"{HOME}/reports/check", files={"paper": ("a.pdf", pdf)})
    assert "version 2" in answer.text  # which supersedes it


def test_packs_are_offered_and_checked(seen_bench: TestClient) -> None:
    page = seen_bench.get(f"{HOME}/reports").text
    assert "issue the report for the buyer first" in page
    assert seen_bench.get(f"{HOME}/pack/buyer.zip").status_code == 404
    length = state_in(seen_bench).length
    pack = seen_bench.get(f"{HOME}/pack/public.zip")
    assert pack.headers["content-type"] == "application/zip"
    assert b"S10350" not in pack.content
    assert state_in(seen_bench).length == length
    for data, word in ((pack.content, "passed"), (pack.content[:-90], "cannot tell")):
        answer = seen_bench.post(f"{HOME}/reports/check", files={"paper": ("p.zip", data)})
        assert word in re.findall(r"(?:passed|failed|cannot tell)(?=<)", answer.text)
    assert seen_bench.get(f"{HOME}/pack/thief.zip").status_code == 422
    page = seen_bench.get(f"{HOME}/reports/check.html").content
    assert page == check_page()


def test_it_is_shown_how_each_paper_is_signed(seen_bench: TestClient) -> None:
    seen_bench.post(f"{HOME}/reports", data={"reader": "buyer", "id": "p-1"})
    page = seen_bench.get(f"{HOME}/reports").text
    assert "Signed with this shop&#39;s key" in page
    (key,) = known_keys(seen_bench.app.state.shop.folder)  # type: ignore[attr-defined]
    assert key in page


def test_a_pack_that_nobody_reads_to_its_end_leaves_nothing_behind(
    bench: TestClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It holds the dossier: a device that goes away while it is sent must not leave it there."""
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    with bench.stream("GET", f"{HOME}/pack/public.zip") as answer:
        assert answer.headers["content-type"] == "application/zip"
    assert bench.get(f"{HOME}/pack/public.zip").content[:2] == b"PK"
    assert not list(tmp_path.glob("tmp*"))
