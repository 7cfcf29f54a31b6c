"""First calls on the bench: a link that opens once, and what its device never sees."""

from __future__ import annotations

import re

from starlette.testclient import TestClient

from fakes.first_calls import picture
from fakes.shared_shop import ADDRESS, SharedShop
from fakes.web_shop import flat
from heelstamp.shop import first_call

OPEN_TO_ALL = ("/sign-in", "/owner/", "/owner-sends", "/static", "/worker.js", "/unreachable")


def begun(device: TestClient) -> str:
    told = {"about": "attic find, sister of a regular", "chronology": "sallowby-wherry"}
    answer = device.post("/calls", data=told)
    assert answer.status_code == 303, answer.text
    return answer.headers["location"]


def link_of(device: TestClient, call: str) -> str:
    page = device.post(f"{call}/link", data={"days": "7"}).text
    found = re.search(rf"{ADDRESS}(/owner/[\w-]+)", page)
    assert found is not None
    return found[1]


def opened(shared: SharedShop, link: str) -> TestClient:
    phone = shared.device("198.51.100.9")
    assert phone.get(link).status_code == 200
    assert phone.post(link).headers["location"] == "/owner-sends"
    return phone


def send(phone: TestClient, slot: str, data: bytes):  # type: ignore[no-untyped-def]
    file = {"photo": (f"{slot}.jpg", data, "image/jpeg")}
    return phone.post("/owner-sends/picture", data={"slot": slot}, files=file)


def test_an_owner_sends_answers_and_is_told_what_to_take_again(shared: SharedShop) -> None:
    desk = shared.signed_in("examiner B")
    call = begun(desk)
    phone = opened(shared, link_of(desk, call))
    page = phone.get("/owner-sends").text
    order = [page.index(word) for word in ("Touch nothing", "Empty no case", "Ten pictures")]
    assert order == sorted(order)
    assert (
        send(phone, "overall-front", picture()).headers["location"] == "/owner-sends#overall-front"
    )
    assert send(phone, "overall-back", picture(blur=6)).status_code == 303
    page = flat(phone.get("/owner-sends").text)
    assert "Good: it can be used." in page
    assert "Please take it again.</strong> Soft or shaken" in page
    told = {"serial": "S10350", "case": "yes", "feature.f13": "I cannot tell"}
    assert phone.post("/owner-sends/answers", data=told).status_code == 303
    assert phone.post("/owner-sends/answers", data={"case": "maybe"}).status_code == 422
    seen = flat(desk.get(call).text)
    assert "1 of 10 frames can be used." in seen
    assert "As told, completed between" in seen
    assert 'value="S10350"' in seen
    assert phone.post("/owner-sends/done").status_code == 200
    assert phone.get("/owner-sends").status_code == 409
    assert send(phone, "heel", picture()).status_code == 409


def test_the_page_of_an_owner_tells_no_range_no_word_of_the_shop_and_no_other_page(
    shared: SharedShop,
) -> None:
    desk = shared.signed_in("examiner A")
    call = begun(desk)
    phone = opened(shared, link_of(desk, call))
    phone.post("/owner-sends/answers", data={"serial": "S10350"})
    page = phone.get("/owner-sends").text
    assert "attic find" not in page
    for word in ("between", "USD", "90 %", "likely"):
        assert word not in page
    for path in re.findall(r'(?:href|src|action)="(/[^"#?]*)', page):
        answer = phone.get(path)
        own = path.startswith(OPEN_TO_ALL) or path == "/"
        assert own, path
        assert path != "/" or answer.status_code == 303
    for path in ("/", "/calls", call, "/dossier/W-0001", "/api/dossiers", "/money"):
        assert phone.get(path).status_code in (303, 401), path
    id_ = call.rpartition("/")[2]
    kept = first_call.call_at(shared.app.state.shop, id_)
    other = begun(desk)
    desk.post(f"{other}/picture", data={"slot": "heel"}, files={"photo": ("a.jpg", picture())})
    theirs = first_call.call_at(shared.app.state.shop, other.rpartition("/")[2]).sent[0].id
    assert phone.get(f"/owner-sends/seen/{theirs}").status_code == 404
    assert kept.answers == {"serial": "S10350"}


def test_a_link_serves_one_device_and_ends_when_the_shop_says_so(shared: SharedShop) -> None:
    desk = shared.signed_in("examiner A")
    call = begun(desk)
    link = link_of(desk, call)
    phone = opened(shared, link)
    assert phone.get(link).headers["location"] == "/owner-sends"  # the same mail again
    other = shared.device("198.51.100.10")
    assert other.get(link).status_code == 410
    assert other.post(link).status_code == 409
    assert other.get("/owner-sends").status_code == 409
    cookie = phone.cookies.jar._cookies  # type: ignore[attr-defined]
    assert "__Host-owner" in str(cookie)
    assert desk.post(f"{call}/end-link").status_code == 303
    assert phone.get("/owner-sends").status_code == 409
    assert other.get("/owner/not-a-link").status_code == 410


def test_what_is_no_picture_or_too_large_is_told_and_nothing_kept(shared: SharedShop) -> None:
    desk = shared.signed_in("examiner A")
    call = begun(desk)
    phone = opened(shared, link_of(desk, call))
    answer = send(phone, "heel", b"%PDF-1.7 a bill")
    assert answer.status_code == 422
    assert "refusal" in answer.text
    assert send(phone, "my-dog", picture()).status_code == 422
    assert phone.post("/owner-sends/picture", data={"slot": "heel"}).status_code == 422
    assert send(phone, "heel", b"x" * 32_000_000).status_code == 413
    assert first_call.call_at(shared.app.state.shop, call.rpartition("/")[2]).sent == []
    stranger = shared.device("198.51.100.11")
    assert send(stranger, "heel", picture()).status_code == 409


def test_it_comes_in_and_only_an_owner_of_the_shop_lets_a_call_go(shared: SharedShop) -> None:
    desk, helper = shared.signed_in("examiner A"), shared.signed_in("examiner B")
    reader = shared.signed_in("a reader")
    call = begun(helper)
    assert reader.get(call).status_code == 403
    helper.post(f"{call}/picture", data={}, files={"photo": ("IMG_1.jpg", picture())})
    page = helper.get(call).text
    assert "Which frame is it?" in page
    id_ = re.search(r'name="picture" value="([^"]+)"', page)
    assert id_ is not None
    helper.post(f"{call}/name", data={"picture": id_[1], "slot": "heel"})
    helper.post(f"{call}/answers", data={"owned": "since 1971, from a dance band"})
    narrowed = flat(helper.get(f"{call}?narrow=true").text)
    assert "What would narrow it, nothing opened" in narrowed
    assert helper.post(f"{call}/let-go").status_code == 403
    answer = helper.post(f"{call}/arrive", data={"tag": "H-0100"})
    assert answer.headers["location"] == "/dossier/H-0100/intake"
    state = shared.app.state.shop.subject("H-0100").state
    assert state.photographs[id_[1]].slot == "sent-heel"
    assert "came in as" in flat(helper.get("/calls").text)
    assert helper.post(f"{call}/link", data={}).status_code == 409
    assert desk.post(f"{call}/let-go").headers["location"] == "/calls"
    assert desk.get(call).status_code == 404


def test_a_bench_of_one_machine_offers_the_mail_and_no_link(bench: TestClient) -> None:
    page = bench.post("/calls", data={"about": "by mail"})
    assert page.status_code == 200
    assert "heelstamp triage REPLY.eml --call call-0001" in flat(page.text)
    assert "Make a link" not in page.text
    assert bench.get("/owner/x").status_code == 404
