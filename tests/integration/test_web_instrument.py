"""The instrument's own page, the rack's rows, and taking back what is named."""

from __future__ import annotations

import re

from starlette.testclient import TestClient

from fakes.web_shop import TAG

HOME = f"/dossier/{TAG}"


def test_the_page_says_where_it_stands_and_names_one_next_step(bench: TestClient) -> None:
    text = bench.get(HOME).text
    assert text.count('class="go-on"') == 1
    assert "Not received" in text
    assert "Take it in" in text
    bench.post(f"{HOME}/custody", data={"event": "received", "giver": "a", "receiver": "b"})
    text = bench.get(HOME).text
    assert "In the shop" in text
    assert "Take it in" not in text


def test_what_is_known_stands_in_a_line_each(bench: TestClient) -> None:
    text = bench.get(f"{HOME}?whole=true").text
    assert re.findall(r"<dt>([^<]+)</dt>", text) == [
        "Date",
        "Parts",
        "Finish",
        "Condition",
        "Price",
    ]
    assert "Not graded." in text
    assert "Nothing was entered." in text


def test_five_groups_lead_to_every_page(bench: TestClient) -> None:
    text = bench.get(f"{HOME}/marks").text
    way, within = re.findall(r'<nav class="way[^>]*>(.*?)</nav>', text, re.DOTALL)
    assert re.findall(r">\s*([A-Z][\w -]+?)\s*</a>", way)[1:] == [
        "Intake",
        "Examine",
        "Findings",
        "Work",
        "Sell",
    ]
    assert 'aria-current="page">Marks' in within
    assert "UV lamp" in within


def test_take_back_names_what_it_takes_and_it_can_be_put_back(bench: TestClient) -> None:
    assert "Nothing of yours to take back" in bench.get(HOME).text
    told = {"part": "guard", "kind": "feature", "subject": "f10", "status": "absent"}
    bench.post(f"{HOME}/seen", data=told)
    assert re.search(r"Take back: observation, (pick)?guard", bench.get(HOME).text)
    answer = bench.post(f"{HOME}/undo", data={"screen": "marks"})
    assert "Taken back: observation" in answer.text
    taken = re.search(r'name="taken" value="([^"]+)"', answer.text)
    assert taken is not None
    assert "1 of" not in bench.get("/").text
    bench.post(f"{HOME}/put-back", data={"taken": taken[1], "screen": "marks"})
    assert "1 of" in bench.get("/").text
    again = bench.post(f"{HOME}/put-back", data={"taken": taken[1], "screen": "marks"})
    assert again.status_code == 409
    assert "othing to put back" in again.text


def test_the_rack_finds_by_any_words_and_says_the_place(bench: TestClient) -> None:
    told = {"event": "received", "giver": "A. Consignor", "receiver": "b", "place": "store, rack 7"}
    bench.post(f"{HOME}/custody", data=told)
    for words in ("rack 7", "CONSIGNOR", TAG[:4], "sallowby rack", "store consignor"):
        assert f'class="tag">{TAG}<' in bench.get("/", params={"find": words}).text, words
    for words in ("rack 8", "100%", "_"):
        assert f'class="tag">{TAG}<' not in bench.get("/", params={"find": words}).text, words
    assert "in the shop, store, rack 7" in bench.get("/").text


def test_a_spoilt_dossier_hides_no_other(bench: TestClient) -> None:
    """A row that cannot be folded is named with its reason."""
    journals = bench.app.state.shop.journals  # type: ignore[attr-defined]
    head = journals.head(TAG)
    line = journals.lines(TAG)[-1].replace(b'"instrument"', b'"nonsense"')
    journals.append("H-0009", [line.replace(b'"tag":"W-0001"', b'"tag":"H-0009"')], None)
    assert head is not None
    text = bench.get("/").text
    assert f'class="tag">{TAG}<' in text
    assert 'class="tag">H-0009<' in text
    assert "its record cannot be read" in text
