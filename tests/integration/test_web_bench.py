"""The bench's server without a browser: pages, entries, refusals, what foreign pages may not do."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from fakes.web_shop import state_in
from heelstamp.casework.dossier import entries_of, state_of
from heelstamp.casework.new_entry import NewEntry

TAG = "W-0001"
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": TAG,
}
GUARD_READ = {
    "part": "guard",
    "kind": "feature",
    "subject": "f10",
    "status": "read",
    "value": "three-layer laminate",
}


def variant(bench: TestClient, part: str = "guard") -> dict[str, str]:
    """The first question of a part that has choices, as its form sends it."""
    text = bench.get(f"/dossier/{TAG}/first-look?part={part}").text
    form = text[text.index("data-entry") :]
    fields = dict(re.findall(r'type="hidden" name="(\w+)" value="([^"]*)"', form)[:5])
    choice = re.search(r'name="value" value="([^"]*)"', form)
    assert choice is not None
    return {**fields, "value": choice.group(1)}


def observed(bench: TestClient) -> dict:
    shop = bench.app.state.shop  # type: ignore[attr-defined]
    return dict(state_of(shop, TAG).observations)


def test_the_rack_shows_where_each_instrument_stands(bench: TestClient) -> None:
    text = bench.get("/").text
    assert TAG in text
    assert "not received" in text
    assert "opened as far as: nothing moved" in text
    assert "due" in text
    assert TAG not in bench.get("/?find=nothing").text.split("<main")[1]


def test_a_feature_entered_on_the_part_where_it_is_seen_is_corrected_there(
    bench: TestClient,
) -> None:
    adjuster = {"kind": "feature", "subject": "f13", "status": "read", "part": "rod"}
    bench.post(f"/dossier/{TAG}/seen", data={**adjuster, "value": "head, 5.5 mm square key"})
    for part in ("rod", "neck"):
        text = bench.get(f"/dossier/{TAG}/first-look?part={part}").text
        form = text[text.index("Truss rod adjuster") :]
        assert 'name="part" value="rod"' in form[: form.index("</form>")]
    other = {**adjuster, "value": "heel, capstan for a 2.5 mm pin", "shown": "neck"}
    answer = bench.post(f"/dossier/{TAG}/seen", data=other)
    assert "<h2>Neck</h2>" in answer.text
    (seen,) = observed(bench).values()
    assert (seen.part, seen.variant) == ("rod", "heel, capstan for a 2.5 mm pin")


def test_every_part_begins_as_not_looked(bench: TestClient) -> None:
    text = bench.get(f"/dossier/{TAG}/first-look").text
    assert "not looked" in text
    assert "partly looked" not in text
    for part in ("guard", "tuner_4", "neck_plate"):
        assert f'data-part="{part}"' in text


def test_one_tap_is_one_entry(bench: TestClient) -> None:
    answer = bench.post(f"/dossier/{TAG}/seen", data=variant(bench), follow_redirects=False)
    assert answer.status_code == 303
    (seen,) = observed(bench).values()
    assert (seen.part, seen.status, seen.kind) == ("guard", "read", "feature")


@pytest.mark.parametrize("status", ["absent", "illegible", "not looked", "not applicable"])
def test_the_four_other_facts_are_kept_apart(bench: TestClient, status: str) -> None:
    fields = {**variant(bench), "status": status}
    del fields["value"]
    assert bench.post(f"/dossier/{TAG}/seen", data=fields).status_code == 200
    (seen,) = observed(bench).values()
    assert seen.status == status
    assert seen.variant is None


def test_sent_twice_is_entered_once(bench: TestClient) -> None:
    fields = {**variant(bench), "id": "o-77aa"}
    for _ in range(2):
        assert bench.post(f"/dossier/{TAG}/seen", data=fields).status_code == 200
    mark = {"part": "neck", "kind": "mark", "status": "read", "value": "65/0? R", "id": "o-88bb"}
    for _ in range(2):
        assert bench.post(f"/dossier/{TAG}/seen", data=mark).status_code == 200
    assert list(observed(bench)) == ["o-77aa", "o-88bb"]


def test_looking_again_corrects_and_keeps_both(bench: TestClient) -> None:
    fields = variant(bench)
    bench.post(f"/dossier/{TAG}/seen", data={**fields, "id": "o-1"})
    again = {**fields, "status": "illegible", "id": "o-2", "base": "2"}
    assert bench.post(f"/dossier/{TAG}/seen", data=again).status_code == 200
    shop = bench.app.state.shop  # type: ignore[attr-defined]
    assert [entry.kind for entry in entries_of(shop, TAG)] == [
        "instrument",
        "observation",
        "correction",
    ]
    assert state_of(shop, TAG).observations["o-1"].status == "illegible"


def test_an_answer_of_another_device_is_not_written_over_unseen(bench: TestClient) -> None:
    fields = variant(bench)  # both devices show the question
    theirs = {**fields, "status": "absent", "id": "o-theirs"}
    bench.post(f"/dossier/{TAG}/seen", data=theirs, headers={"cookie": "hand=examiner B"})
    mine = bench.post(f"/dossier/{TAG}/seen", data={**fields, "id": "o-mine"})
    assert mine.status_code == 409
    assert "another answer was entered in the meantime: absent" in mine.text.lower()
    assert "examiner B" in mine.text
    after_all = bench.post(f"/dossier/{TAG}/seen", data={**fields, "id": "o-mine", "base": ""})
    assert after_all.status_code == 200
    assert observed(bench)["o-theirs"].status == "read"


def test_what_was_kept_on_a_device_says_when_it_was_taken(bench: TestClient) -> None:
    fields = {**variant(bench), "made": "2026-01-05T09:30:00+01:00"}
    bench.post(f"/dossier/{TAG}/seen", data=fields)
    (seen,) = observed(bench).values()
    assert seen.made == "2026-01-05T08:30:00Z"


def test_the_last_entry_is_taken_back_and_stays_in_the_journal(bench: TestClient) -> None:
    bench.post(f"/dossier/{TAG}/seen", data=variant(bench))
    assert bench.post(f"/dossier/{TAG}/undo", data={"screen": "first-look"}).status_code == 200
    assert observed(bench) == {}
    shop = bench.app.state.shop  # type: ignore[attr-defined]
    assert len(entries_of(shop, TAG)) == 3
    nothing_left = bench.post(f"/dossier/{TAG}/undo", data={})
    assert nothing_left.status_code == 409
    assert 'aria-label="Work on' in nothing_left.text  # a refusal is no dead end


def test_pressed_again_the_entry_before_is_taken_back(bench: TestClient) -> None:
    for part, value in (("guard", "three-layer laminate"), ("badge", "pressed badge on two pins")):
        subject = {"guard": "f10", "badge": "f07"}[part]
        data = {"part": part, "kind": "feature", "subject": subject, "status": "read"}
        bench.post(f"/dossier/{TAG}/seen", data={**data, "value": value})
    first = bench.post(f"/dossier/{TAG}/undo", data={})
    assert "Taken back: observation, maker" in first.text
    assert [one.part for one in observed(bench).values()] == ["guard"]
    bench.post(f"/dossier/{TAG}/undo", data={})
    assert observed(bench) == {}


def test_a_serial_read_again_corrects_the_first_reading(bench: TestClient) -> None:
    data = {"part": "neck_plate", "kind": "serial", "status": "read"}
    for value in ("S103?0", "S10350"):
        bench.post(f"/dossier/{TAG}/seen", data={**data, "value": value})
    (seen,) = observed(bench).values()
    assert seen.text == "S10350"
    assert bench.get(f"/dossier/{TAG}/findings").status_code == 200


@pytest.mark.parametrize("screen", ["first-look", "next-look", "findings"])
def test_screens_answer_for_a_dossier_with_nothing_in_it(bench: TestClient, screen: str) -> None:
    answer = bench.get(f"/dossier/{TAG}/{screen}")
    assert answer.status_code == 200
    assert 'aria-current="page"' in answer.text


@pytest.mark.parametrize(
    ("asked", "data", "status", "told"),
    [
        ("GET /dossier/none/first-look", None, 404, "no such dossier"),
        (f"GET /dossier/{TAG}/first-look?part=engine", None, 422, "no such part"),
        ("GET /nowhere", None, 404, "there is no such page"),
        (f"GET /dossier/{TAG}/frame/F1", None, 404, "no such photograph"),
        (f"POST /dossier/{TAG}/seen", {}, 422, "a field that cannot be read"),
        (f"POST /dossier/{TAG}/seen", {**GUARD_READ, "part": "engine"}, 422, "no such part"),
        (f"POST /dossier/{TAG}/seen", {**GUARD_READ, "kind": "rumour"}, 422, "kind of look"),
        (f"POST /dossier/{TAG}/seen", {**GUARD_READ, "status": "maybe"}, 422, "status"),
        (f"POST /dossier/{TAG}/seen", {**GUARD_READ, "made": "yesterday"}, 422, "time"),
        (f"POST /dossier/{TAG}/seen", {**GUARD_READ, "id": "../o"}, 422, "id"),
        (f"POST /dossier/{TAG}/undo", {}, 409, "to take back"),
        ("POST /light", {"light": "blinding"}, 422, "no such light"),
        ("POST /hand", {"hand": "\x07"}, 422, "plain text"),
    ],
)
def test_refusals_are_pages_that_say_what_to_do(
    bench: TestClient, asked: str, data: dict | None, status: int, told: str
) -> None:
    method, path = asked.split(" ")
    answer = bench.request(method, path, data=data)
    assert answer.status_code == status
    assert told in answer.text.lower()
    assert 'role="alert"' in answer.text


def test_written_text_is_shown_and_never_run(bench: TestClient) -> None:
    hostile = "<script>alert(1)</script>"
    mark = {"part": "neck", "kind": "mark", "status": "read", "value": hostile}
    assert bench.post(f"/dossier/{TAG}/seen", data=mark).status_code == 200
    text = bench.get(f"/dossier/{TAG}/first-look?part=neck").text
    assert hostile not in text
    assert "&lt;script&gt;" in text


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://elsewhere.example"},
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"origin": "http://localhost:9999"},
        {"origin": "null"},
        {"host": "elsewhere.example"},
    ],
)
def test_a_foreign_page_cannot_enter(bench: TestClient, headers: dict[str, str]) -> None:
    fields = variant(bench)
    assert bench.post(f"/dossier/{TAG}/seen", data=fields, headers=headers).status_code == 403
    assert observed(bench) == {}


def test_a_name_pointed_here_by_an_outsider_is_not_answered(bench: TestClient) -> None:
    assert bench.get("/", headers={"host": "elsewhere.example:8756"}).status_code == 403


def test_every_page_forbids_code_and_styles_of_others(bench: TestClient) -> None:
    for path in ("/", f"/dossier/{TAG}/first-look", "/nowhere", "/static/bench.css"):
        policy = bench.get(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy
        assert "script-src 'self';" in policy
        assert "unsafe" not in policy
    text = bench.get(f"/dossier/{TAG}/findings").text
    assert "style=" not in text
    assert not re.search(r"<script(?![^>]*\bsrc=)", text)
    assert not re.search(r"\son\w+=", text)


def test_a_page_weighs_little(bench: TestClient) -> None:
    """The goal is 250 kB with styles, scripts and type, before photographs."""
    page = bench.get(f"/dossier/{TAG}/first-look")
    wanted = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page.text))
    parts = {page.url.path: page}
    while left := wanted - parts.keys():
        path = left.pop()
        parts[path] = bench.get(path)
        if path.endswith((".js", ".css")):
            below = re.findall(r'(?:from|url\()\s*"(?:\./)?([\w.-]+)"', parts[path].text)
            wanted |= {f"/static/{one}" for one in below}
    assert len(parts) > 10
    carried = sum(
        int(one.headers.get("content-length", len(one.content))) for one in parts.values()
    )
    assert carried < 250_000


def test_nobody_takes_back_what_another_hand_entered(bench: TestClient) -> None:
    theirs = {**variant(bench), "id": "o-theirs"}
    bench.post(f"/dossier/{TAG}/seen", data=theirs, headers={"cookie": "hand=examiner B"})
    mine = bench.post(f"/dossier/{TAG}/undo", data={})
    assert mine.status_code == 409
    assert "of examiner A to take back" in mine.text
    assert list(observed(bench)) == ["o-theirs"]


def test_take_back_takes_back_what_the_page_named_and_nothing_else(bench: TestClient) -> None:
    for id_ in ("o1", "o2"):
        seen = {"part": "neck", "kind": "mark", "status": "absent", "id": id_}
        assert bench.post(f"/dossier/{TAG}/seen", data=seen).status_code == 200
    assert 'name="last" value="o2"' in bench.get(f"/dossier/{TAG}/marks").text
    named = {"last": "o1", "id": "c-1"}
    refused = bench.post(f"/dossier/{TAG}/undo", data=named)
    assert refused.status_code == 409
    assert "since this page was shown" in refused.text
    assert state_in(bench).stands("o2")
    for _ in range(2):  # a device that sends twice takes back once
        assert bench.post(f"/dossier/{TAG}/undo", data={"last": "o2"}).status_code == 200
    assert not state_in(bench).stands("o2")
    assert state_in(bench).stands("o1")


def test_a_clock_that_ran_back_is_told_on_the_instruments_page(bench: TestClient) -> None:
    shop = bench.app.state.shop  # type: ignore[attr-defined]
    assert "not sure: the clock" not in bench.get(f"/dossier/{TAG}").text
    shop.enter(TAG, [NewEntry("observation", {"id": "o9", "part": "neck", "kind": "mark",
               "status": "absent"})], by="examiner A", at="2020-01-01T00:00:00Z")  # fmt: skip
    assert "not sure: the clock ran back" in bench.get(f"/dossier/{TAG}").text
