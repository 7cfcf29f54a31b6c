"""Help beside terms, and the line that says what a screen is for."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator
from importlib import resources
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import TAG, bench_of, make_shop
from heelstamp.casework.glossary import find_term, key_of, parse_glossary, parse_lines, put_away
from heelstamp.errors import InputError
from heelstamp.reference.glossary import load_glossary, load_screen_lines
from heelstamp.web.paths import SCREENS
from heelstamp.web.rendering import _templates
from heelstamp.wording.banned import find_banned

HOME = f"/dossier/{TAG}"
TWICE = """schema = "heelstamp/glossary/1"
[[term]]
name = "A b"
text = "t"
source = "s"
[[term]]
name = "a-b"
text = "t"
source = "s"
"""
WEB = Path(str(resources.files("heelstamp.web")))


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    folder: Path = tmp_path_factory.mktemp("help")
    with bench_of(make_shop(folder)) as client:
        yield client


def test_every_term_tells_where_its_meaning_comes_from_and_sorts_of_documents_are_there() -> None:
    root = Path(__file__).resolve().parents[2]
    for term in load_glossary().values():
        assert term.text.endswith("."), term.name
        for path in re.findall(r"docs/[\w/.-]+\.md", term.source):
            assert (root / path).is_file(), path
    assert len(load_glossary()) >= 40


def test_no_meaning_says_more_than_a_paper_may() -> None:
    for term in load_glossary().values():
        assert [one for one in find_banned(term.text) if one] == [], term.name


def test_every_screen_says_what_it_is_for_in_one_line() -> None:
    lines = load_screen_lines()
    assert {one.key for one in SCREENS} <= lines.keys()
    assert all(len(line) <= 120 and line.endswith(".") for line in lines.values())


def test_every_term_that_a_template_asks_for_is_known() -> None:
    asked = 0
    for template in WEB.rglob("*.html"):
        for name in re.findall(r"""\bterm\(['"]([^'"]+)['"]\)""", template.read_text("utf-8")):
            find_term(name, load_glossary())
            asked += 1
    assert asked >= 5


def test_a_term_is_found_whatever_its_case_spaces_or_hyphens() -> None:
    terms = load_glossary()
    assert find_term("Period correct", terms) is find_term("period-correct", terms)
    assert key_of("found, plan, final") == "found-plan-final"
    with pytest.raises(InputError, match="no such term") as caught:
        find_term("period-corect", terms)
    assert "period-correct" in caught.value.remedy


def test_help_opens_without_a_script_and_never_twice_under_one_id() -> None:
    asked = _templates().from_string("{{ term('relief') }}{{ term('relief') }}").render()
    targets = re.findall(r'popovertarget="([^"]+)"', asked)
    assert len(set(targets)) == 2
    assert targets == re.findall(r'popover id="([^"]+)"', asked)
    assert "onclick" not in asked
    assert "<script" not in asked
    assert "common practice, no source" in asked


def test_a_term_that_is_not_there_fails_when_the_page_is_made() -> None:
    with pytest.raises(InputError, match="no such term"):
        _templates().from_string("{{ term('relif') }}").render()


def test_the_page_of_terms_holds_them_all(bench: TestClient) -> None:
    page = bench.get("/terms").text
    for term in load_glossary().values():
        assert f'id="{term.key}"' in page
    assert "What does “not looked at” mean?" in bench.get(f"{HOME}/first-look").text


def test_a_line_is_put_away_for_good_on_this_device_and_comes_back_when_asked(
    bench: TestClient,
) -> None:
    line = load_screen_lines()["intake"].split(":")[0]
    assert line in bench.get(f"{HOME}/intake").text
    sent = bench.post(
        "/hide", data={"line": "intake"}, headers={"referer": f"http://localhost:8756{HOME}/intake"}
    )
    assert sent.url.path == f"{HOME}/intake"
    assert line not in sent.text
    assert load_screen_lines()["next-look"].split(",")[0] in bench.get(f"{HOME}/next-look").text
    assert "1 line at the head of a screen is hidden" in bench.get("/terms").text
    bench.post("/hide", data={})
    assert line in bench.get(f"{HOME}/intake").text
    for wrong in ("nowhere", "<b>", "x" * 41):
        assert bench.post("/hide", data={"line": wrong}).status_code == 422


def test_a_form_leads_back_into_the_bench_wherever_it_says_it_came_from(bench: TestClient) -> None:
    for came in ("https://evil.test//evil.test/x", "//evil.test", "http://x//y", "javascript:x"):
        answer = bench.post(
            "/hide", data={"line": "next-look"}, headers={"referer": came}, follow_redirects=False
        )
        assert answer.headers["location"].startswith("/")
        assert not answer.headers["location"].startswith("//")
    bench.post("/hide", data={})


def test_a_cookie_of_somebody_elses_making_does_no_harm(bench: TestClient) -> None:
    for kept in ("intake..next-look", "x" * 3000, "<script>", "..", "intake;next-look"):
        answer = bench.get(f"{HOME}/intake", headers={"cookie": f"put-away={kept}"})
        assert answer.status_code == 200
        assert "<script>alert" not in answer.text
    assert put_away("intake.nowhere.<b>", ["intake", "next-look"]) == {"intake"}


@pytest.mark.parametrize(
    "document",
    [
        'schema = "other"\nterm = []',
        'schema = "heelstamp/glossary/1"\nterm = [{name = "a"}]',
        'schema = "heelstamp/glossary/1"\nterm = [{name = "a", text = "b", source = "", x = 1}]',
        TWICE,
    ],
)
def test_a_glossary_that_cannot_be_used_is_refused(document: str) -> None:
    with pytest.raises(InputError):
        parse_glossary(tomllib.loads(document), where="glossary.toml")
    with pytest.raises(InputError):
        parse_lines(tomllib.loads(document), where="lines.toml")
