"""Findings over the application: the answer without what is set aside, and what does not fit."""

from __future__ import annotations

import re
from pathlib import Path
from urllib.parse import urlencode

import pytest
from starlette.testclient import TestClient

from fakes.doubted import misread_neck
from fakes.web_shop import INSTRUMENT, TAG, bench_of, flat
from heelstamp.casework.dossier import entries_of, open_with
from heelstamp.shop import create_shop, now
from heelstamp.shop.demonstration import keep_demo_census

HOME = f"/dossier/{TAG}/findings"


@pytest.fixture
def misread_bench(tmp_path: Path) -> TestClient:
    folder = tmp_path / "shop"
    acts = [("observation", {**one, "frames": []}) for one in misread_neck()]
    with create_shop(folder, name="Bench test", currency="USD") as opened:
        open_with(opened, [("instrument", INSTRUMENT), *acts], at=now(), by="examiner A")
    with bench_of(folder) as client:
        yield client


def headline(page: str) -> str:
    found = re.search(r'class="headline">([^<]*)<', page)
    assert found is not None
    return found[1]


def test_a_part_set_aside_changes_the_answer_and_not_the_dossier(misread_bench: TestClient) -> None:
    whole = misread_bench.get(HOME).text
    turns = re.findall(r'name="turn" value="([^"]*)"', whole)
    assert len(turns) == len(set(turns)) > 10
    out = flat(misread_bench.get(f"{HOME}?{urlencode({'turn': turns[0]})}").text)
    assert headline(out) != headline(whole)
    assert "Nothing is changed in the dossier" in out
    assert f"With everything: <strong>{headline(whole)}</strong>" in out
    aside = re.findall(r'name="aside" value="([^"]*)"', out)
    assert sorted(aside) == sorted(turns[0].split())
    back = misread_bench.get(
        f"{HOME}?{urlencode([*(('aside', a) for a in aside), ('turn', turns[0])])}"
    )
    assert headline(back.text) == headline(whole)
    assert "Nothing is changed" not in back.text
    desk = misread_bench.app.state.shop  # type: ignore[attr-defined]
    assert {one.kind for one in entries_of(desk, TAG)} == {"instrument", "observation"}


@pytest.mark.parametrize("told", ["o-99", "<b>", "x" * 399, "'; --"])
def test_a_strange_id_is_refused_in_words(misread_bench: TestClient, told: str) -> None:
    answer = misread_bench.get(f"{HOME}?{urlencode({'turn': told})}")
    assert answer.status_code == 422
    assert "no such observation" in answer.text.lower()
    assert "<b>" not in answer.text.split("<main")[1]


def test_two_stories_stand_side_by_side_on_their_own_page(misread_bench: TestClient) -> None:
    assert f'data-fetch="{HOME}/doubts"' in misread_bench.get(HOME).text
    page = misread_bench.get(f"{HOME}/doubts").text
    assert "Likelier: the " in page
    assert page.count("<h3>The ") == 2
    assert "Likelier: the " in misread_bench.get(HOME).text


def test_change_overs_stand_with_the_census_and_this_one_among_it(
    misread_bench: TestClient,
) -> None:
    keep_demo_census(misread_bench.app.state.shop)  # type: ignore[attr-defined]
    page = misread_bench.get(f"{HOME}/curves").text
    names = re.findall(r'<h2 id="c-(\w+)">', page)
    assert names[0] == "f13"  # changed between Sep 1964 and Feb 1965, nearest to this instrument
    assert "f14" in names[:4]
    section = page[page.index('id="c-f13"') : page.index(f'id="c-{names[1]}"')]
    assert TAG in section
    assert "<svg" in section
    data = {"part": "guard", "kind": "feature", "subject": "f10", "status": "read", "value": "<i>"}
    assert misread_bench.post(f"/dossier/{TAG}/seen", data=data).status_code in (200, 409, 422)
    assert "<i>" not in misread_bench.get(f"{HOME}/curves").text
