"""What became known later is entered beside what had been said, and counted on one page."""

from starlette.testclient import TestClient

from fakes.web_shop import TAG, flat, state_in
from heelstamp.catalogue import LaterKnown
from heelstamp.shop.own_record import record_of

HOME = f"/dossier/{TAG}"


def test_a_part_and_the_date_are_entered_once_with_what_had_been_said(bench: TestClient) -> None:
    mark = {"part": "neck", "kind": "mark", "status": "read", "text": "65/05", "id": "o1"}
    told = {"by": "examiner A", "entries": [{"kind": "observation", "body": mark}]}
    assert bench.post(f"/api/dossiers/{TAG}/entries", json=told).status_code == 201
    part = {"about": "part:neck", "fitted_first": "yes", "source": "a bill", "id": "l1"}
    for _ in range(2):
        assert bench.post(f"{HOME}/later", data=part).is_success
    when = {"about": "date", "first": "1965-06", "source": "a photograph of 1965", "id": "l2"}
    assert bench.post(f"{HOME}/later", data=when).is_success
    kept = state_in(bench).of(LaterKnown)
    finding = bench.app.state.shop.finding(TAG).data()  # type: ignore[attr-defined]
    assert list(kept) == ["l1", "l2"]
    assert kept["l1"].original
    assert abs(kept["l1"].stated - finding["parts"]["neck"]["original"]) < 1e-6
    assert list(kept["l2"].months) == ["1965-06", "1965-06"]
    assert list(kept["l2"].nine_tenths) == list(finding["completion"]["interval"]["90"])
    page = flat(bench.get(f"{HOME}/later").text)
    assert "fitted first" in page
    assert "1965-06 to 1965-06" in page
    record = record_of(bench.app.state.shop)  # type: ignore[attr-defined]
    assert (record.parts, record.dates) == (1, 1)
    whole = flat(bench.get("/own-record").text)
    assert "2 cases" in whole
    assert "completed within the 90 % range" in whole


def test_what_was_never_said_or_cannot_be_read_is_refused(bench: TestClient) -> None:
    bad = (
        ({"about": "part:strap", "fitted_first": "yes"}, "nothing is computed of this part"),
        ({"about": "part:neck"}, "whether it was fitted first"),
        ({"about": "date", "first": "1965-13"}, "month"),
        ({"about": "date", "last": "1965-05"}, "a last month needs a first"),
    )
    for told, said in bad:
        answer = bench.post(f"{HOME}/later", data={**told, "source": "a bill"})
        assert answer.status_code == 422, told
        assert said in answer.text.lower()
    assert state_in(bench).of(LaterKnown) == {}


def test_the_rack_and_findings_lead_there(bench: TestClient) -> None:
    assert 'href="/own-record"' in bench.get("/").text
    assert f'href="{HOME}/later"' in bench.get(f"{HOME}/findings").text
    assert "Nothing yet." in bench.get(f"{HOME}/later").text
