"""A shared bench under attack: nobody gets in, up, or back who should not."""

from __future__ import annotations

import asyncio
import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import quote

import pytest
from fastapi.routing import APIRoute
from starlette.testclient import TestClient

from fakes.shared_shop import (
    ADDRESS,
    PASSWORDS,
    ROLES,
    SHARED,
    SharedShop,
    code_at,
    digits_on,
    filled,
    make_shared,
    opened,
    paired,
    routes,
)
from fakes.web_shop import TAG, bench_of, make_shop
from heelstamp.archive import sha256
from heelstamp.casework.dossier import entries_of, state_of
from heelstamp.casework.sharing import Role
from heelstamp.web.app import SHARED_SCREENS
from heelstamp.web.gate import CLAIM_COOKIE, Gate
from heelstamp.web.paths import SCREENS as SCREENS_OF_A_DOSSIER
from heelstamp.web.permits import PERMITS, least_role

COOKIE = SHARED.cookie
PUBLIC = {
    "/worker.js",
    "/unreachable",
    "/sign-in",
    "/trust",
    "/trust/authority.crt",
    "/pair/{code}",
    "/pairing",
    "/light",
    "/owner/{token}",
    "/owner-sends",
    "/owner-sends/seen/{picture}",
    "/owner-sends/picture",
    "/owner-sends/answers",
    "/owner-sends/done",
}
HOME = f"/dossier/{TAG}"
HOSTILE = (
    "",
    " ",
    "0",
    "9" * 300,
    "\x00",
    "\x07",
    "\u202e",
    "é" * 150,
    "<script>alert(1)</script>",
    "'; drop table account; --",
    "../../etc/passwd",
    "owner",
    "a" * 64,
    "f" * 64,
    "1234",
    "x" * 1500,
    "//evil.test",
    "/pair",
    "examiner Z",
)


@pytest.fixture(scope="module")
def crowd(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, TestClient]]:
    """One browser for each role, for tests that change no account."""
    made = make_shared(tmp_path_factory.mktemp("crowd"))
    with opened(made):
        devices = {role: made.signed_in(name) for name, role in ROLES.items()}
        devices["paired device"] = paired(made, devices["owner"])
        devices["nobody"] = made.device()
        yield devices


# --- Nobody without a session -------------------------------------------------------------------


def test_the_walk_sees_every_address_that_the_application_has(crowd: dict[str, TestClient]) -> None:
    app = crowd["nobody"].app
    told = set(app.openapi()["paths"])  # type: ignore[attr-defined]
    assert told <= {path for path, _ in routes(app)}
    assert len(routes(app)) > 50


def test_every_address_but_the_public_ones_asks_for_a_session(crowd: dict[str, TestClient]) -> None:
    nobody = crowd["nobody"]
    for path, method in routes(nobody.app):
        answer = nobody.request(method, filled(path))
        if path in PUBLIC:
            assert answer.status_code not in (401, 403), path
        elif method == "GET" and not path.startswith(("/api/", "/api.json")):
            assert answer.status_code == 303, path
            assert answer.headers["location"].startswith("/sign-in?to="), path
        else:
            assert answer.status_code == 401, (path, method)
        assert "Sallowby" not in answer.text, path


def test_an_address_nobody_thought_of_is_closed(crowd: dict[str, TestClient]) -> None:
    for path in (
        "/not-there",
        "/dossier",
        "//dossier/x",
        "/static/../dossier/x",
        "/Dossier/x/door",
    ):
        assert crowd["nobody"].get(path).status_code in (303, 404), path
        assert crowd["nobody"].post(path).status_code in (401, 404, 405), path
    assert least_role("/something/new", "POST") is Role.OWNER
    assert least_role("/something/new", "GET") is Role.READER
    assert least_role("/something/new", "TRACE") is Role.OWNER


def test_no_path_leads_out_of_the_static_folder(crowd: dict[str, TestClient]) -> None:
    for path in (
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fgate.py",
        "/static//etc/passwd",
        "/static/%2e%2e%2f%2e%2e%2fpyproject.toml",
    ):
        assert crowd["nobody"].get(path).status_code in (303, 404), path


def test_another_host_name_is_refused_before_anything_is_looked_at(
    crowd: dict[str, TestClient],
) -> None:
    for host in ("evil.test", "bench.test.evil.test", "127.0.0.1", ""):
        assert crowd["owner"].get("/", headers={"host": host}).status_code == 403


def test_a_change_must_say_where_it_comes_from(crowd: dict[str, TestClient]) -> None:
    owner = crowd["owner"]
    for origin in ("https://evil.test", "null", "http://bench.test:8756", "https://bench.test:9"):
        answer = owner.post("/pair", headers={"origin": origin})
        assert answer.status_code == 403, origin
    bare = TestClient(owner.app, base_url=ADDRESS, cookies=owner.cookies)
    assert bare.post("/pair").status_code == 403  # neither Origin nor Fetch Metadata
    told = {"sec-fetch-site": "same-site"}  # another port of this host
    assert bare.post("/pair", headers=told).status_code == 403


# --- Nobody above the own role ------------------------------------------------------------------


def test_a_reader_changes_nothing_whatever_the_address(crowd: dict[str, TestClient]) -> None:
    mine = {
        "/sign-out",
        "/account/password",
        "/account/end",
        "/account/second-factor",
        "/account/second-factor/on",
        "/account/second-factor/off",
        "/account/token",
        "/account/token/end",
        "/api/changes",
        "/hide",
        "/lengths",
    }
    for path, method in routes(crowd["reader"].app):
        if method == "POST" and path not in PUBLIC | mine:
            assert crowd["reader"].post(filled(path)).status_code == 403, path


@pytest.mark.parametrize("role", ["examiner", "paired device", "reader"])
def test_what_is_the_owners_stays_the_owners(crowd: dict[str, TestClient], role: str) -> None:
    device = crowd[role]
    assert device.get("/accounts").status_code == 403
    for path in (
        "/accounts/add",
        "/accounts/password",
        "/accounts/remove",
        "/accounts/end",
        f"{HOME}/reports",
        f"{HOME}/money",
        "/maker/sallowby-wherry",
    ):
        assert device.post(path, data={"name": "examiner A"}).status_code == 403, path


def test_a_paired_device_enters_and_looks_and_no_more(crowd: dict[str, TestClient]) -> None:
    phone = crowd["paired device"]
    assert phone.get(f"{HOME}/intake").status_code == 200
    assert phone.get("/pair").status_code == 403
    assert phone.post("/pair").status_code == 403
    told = {"old": PASSWORDS["examiner A"], "new": "n" * 20, "again": "n" * 20}
    assert phone.post("/account/password", data=told).status_code == 409


def test_pages_of_the_lists_open_for_whom_they_are(crowd: dict[str, TestClient]) -> None:
    assert "examiner B" in crowd["owner"].get("/accounts").text
    for role in ("owner", "examiner", "reader", "paired device"):
        text = crowd[role].get("/account").text
        assert f"Signed in as {role}." in text
        assert ("Pair a device" in text) == (role in ("owner", "examiner"))


def test_prices_are_looked_at_by_examiners_and_owners(crowd: dict[str, TestClient]) -> None:
    for path in (f"{HOME}/money", f"/api/dossiers/{TAG}/next"):
        for role in ("reader", "paired device"):
            assert crowd[role].get(path).status_code == 403, (role, path)
        for role in ("examiner", "owner"):
            assert crowd[role].get(path).status_code == 200, (role, path)


def test_the_first_permit_that_fits_is_the_closest() -> None:
    assert least_role(f"{HOME}/reports", "POST") is Role.OWNER
    assert least_role(f"{HOME}/money/sale", "POST") is Role.OWNER
    assert least_role(f"{HOME}/money", "GET") is Role.EXAMINER
    assert least_role(f"{HOME}/custody", "POST") is Role.PAIRED_DEVICE
    assert least_role("/api/dossiers/x/entries", "POST") is Role.PAIRED_DEVICE
    assert least_role("/api/dossiers/x/other", "POST") is Role.OWNER
    assert least_role("/pair/abc", "POST") is None
    assert least_role("/pair/desk/let-in", "POST") is Role.EXAMINER
    assert len({one.path for one in PERMITS}) == len(PERMITS)


# --- Signing ------------------------------------------------------------------------------------


def test_entries_are_signed_by_who_is_signed_in(crowd: dict[str, TestClient]) -> None:
    device = crowd["examiner"]
    device.cookies.set("hand", "examiner A")
    mark = {"part": "neck", "text": "65/03 R", "id": "o-signed"}
    assert device.post(f"{HOME}/mark", data=mark).status_code == 303
    desk = device.app.state.shop  # type: ignore[attr-defined]
    assert entries_of(desk, TAG)[-1].by == "examiner B"
    assert device.post("/hand", data={"hand": "examiner A"}).status_code in (403, 409)
    sent = {
        "by": "examiner A",
        "entries": [
            {
                "kind": "observation",
                "body": {"id": "o-forged", "part": "body", "kind": "mark", "status": "absent"},
            }
        ],
    }
    answer = device.post(f"/api/dossiers/{TAG}/entries", json=sent)
    assert answer.status_code == 422
    assert "signed by who is signed in" in answer.json()["title"]
    own = device.post(f"/api/dossiers/{TAG}/entries", json={**sent, "by": "examiner B"})
    assert own.status_code == 201, own.text


def test_decisions_come_through_the_api_from_owners_alone(crowd: dict[str, TestClient]) -> None:
    body = {"id": "d-price", "about": "price", "decided": "9,000 USD", "reason": "asked"}
    sent = {"entries": [{"kind": "decision", "body": body}]}
    path = f"/api/dossiers/{TAG}/entries"
    refused = crowd["examiner"].post(path, json={"by": "examiner B", **sent})
    assert refused.status_code == 403
    assert crowd["owner"].post(path, json={"by": "examiner A", **sent}).status_code == 201
    change = {
        "kind": "correction",
        "body": {"id": "c-price", "corrects": "d-price", "reason": "no", "replacement": None},
    }
    again = crowd["examiner"].post(path, json={"by": "examiner B", "entries": [change]})
    assert again.status_code == 403


def test_a_first_reading_is_nowhere_to_be_seen_until_the_second_stands(
    crowd: dict[str, TestClient],
) -> None:
    first, second = crowd["examiner"], crowd["owner"]
    mark = {"part": "body", "text": "BLIND 65", "id": "o-blind"}
    assert first.post(f"{HOME}/mark", data=mark).status_code == 303
    fixed = {"mark": "o-blind", "text": "BLIND 66", "id": "c-blind", "base": ""}
    assert first.post(f"{HOME}/mark", data=fixed).status_code == 303
    second.cookies.set("hand", "examiner B")  # a name chosen on the device opens nothing
    looks = (
        f"{HOME}/marks",
        f"{HOME}/first-look?part=body",
        f"/api/dossiers/{TAG}",
        f"/api/dossiers/{TAG}/journal",
    )
    for path in looks:
        assert "BLIND" not in second.get(path).text, path
        assert "BLIND 66" in first.get(path).text, path
    # with a seed what is withheld could be found by trying
    withheld = {"o-blind", "c-blind"}
    entries = second.get(f"/api/dossiers/{TAG}/journal").json()
    kept = {entry["body"].get("id"): "seed" in entry for entry in entries if entry.get("form") == 2}
    assert not any(kept[id_] for id_ in withheld)
    assert any(kept.values())  # what is not withheld carries its seed
    told_of = {"findings", "wording", "questions", "reports"}  # see the docs
    for one in SCREENS_OF_A_DOSSIER:
        if one.key not in told_of:
            assert "BLIND" not in second.get(f"{HOME}/{one.key}").text, one.key
    told = {"mark": "o-blind", "text": "BLIND 68", "id": "s-blind"}
    assert first.post(f"{HOME}/second-reading", data=told).status_code == 409
    assert second.post(f"{HOME}/second-reading", data=told).status_code == 303
    for path in looks[:1] + looks[2:]:
        assert "BLIND 66" in second.get(path).text, path


def test_what_was_made_under_another_account_waits_for_it(crowd: dict[str, TestClient]) -> None:
    before = len(entries_of(crowd["owner"].app.state.shop, TAG))  # type: ignore[attr-defined]
    headers = {"heelstamp-account": "examiner%20B"}
    told = {"part": "neck", "text": "x", "id": "o-other"}
    answer = crowd["owner"].post(f"{HOME}/mark", data=told, headers=headers)
    assert answer.status_code == 401
    assert "another account is signed in" in answer.text.lower()
    assert len(entries_of(crowd["owner"].app.state.shop, TAG)) == before  # type: ignore[attr-defined]


# --- Sessions -----------------------------------------------------------------------------------


def test_the_cookie_is_out_of_reach_and_the_token_is_not_kept(shared: SharedShop) -> None:
    device = shared.device()
    told = {"name": "examiner A", "password": PASSWORDS["examiner A"], "to": "/accounts"}
    answer = device.post("/sign-in", data=told)
    assert answer.headers["location"] == "/accounts"
    cookie = answer.headers["set-cookie"]
    assert cookie.startswith("__Host-session=")
    assert {"HttpOnly", "Secure", "SameSite=strict", "Path=/"} <= set(cookie.split("; "))
    token = device.cookies[COOKIE]
    assert len(token) >= 43  # 256 bits in base 64
    kept = b"".join(one.read_bytes() for one in shared.folder.rglob("heelstamp.db*"))
    assert token.encode() not in kept
    assert sha256(token.encode()).encode() in kept
    assert PASSWORDS["examiner A"].encode() not in kept


def test_a_token_brought_along_is_never_taken_over(shared: SharedShop) -> None:
    device = shared.device()
    device.cookies.set(COOKIE, "fixed-by-somebody-else-before-signing-in")
    told = {"name": "examiner B", "password": PASSWORDS["examiner B"]}
    device.post("/sign-in", data=told)
    tokens = [one.value for one in device.cookies.jar if one.name == COOKIE and one.value]
    assert "fixed-by-somebody-else-before-signing-in" not in [
        token for token in tokens if shared.sharing.who(token) is not None
    ]
    first = next(token for token in tokens if shared.sharing.who(token) is not None)
    again = shared.device()
    again.cookies.set(COOKIE, first)
    again.post("/sign-in", data=told)
    assert shared.sharing.who(first) is None  # what was signed in before has ended


def test_a_changed_cookie_opens_nothing(shared: SharedShop) -> None:
    device = shared.signed_in("examiner A")
    token = device.cookies[COOKIE]
    digest = sha256(token.encode())
    for other in (token[:-1], token + "A", token[::-1], digest, "", "A" * 5000, "é", "%00"):
        assert shared.sharing.who(other) is None
        stranger = shared.device()
        assert (
            stranger.get("/", headers={"cookie": f"{COOKIE}={other}".encode()}).status_code == 303
        )


def test_a_session_ends_unused_at_its_end_and_by_signing_out(shared: SharedShop) -> None:
    device = shared.signed_in("examiner A")
    shared.clock.turn(hours=7)
    assert device.get("/").status_code == 200
    shared.clock.turn(hours=7)  # seven since the last use
    assert device.get("/").status_code == 200
    shared.clock.turn(hours=8)
    assert device.get("/").status_code == 303
    device = shared.signed_in("examiner A")
    for _ in range(27):
        shared.clock.turn(hours=6)
        assert device.get("/").status_code == 200
    shared.clock.turn(hours=6)  # seven days, in use all the time
    assert device.get("/").status_code == 303
    device = shared.signed_in("examiner A")
    token = device.cookies[COOKIE]
    assert device.post("/sign-out").headers["location"] == "/sign-in"
    stolen = shared.device()
    stolen.cookies.set(COOKIE, token)
    assert stolen.get("/").status_code == 303


def test_a_changed_password_ends_every_session_and_goes_on_in_one(shared: SharedShop) -> None:
    here, elsewhere = shared.signed_in("examiner B"), shared.signed_in("examiner B")
    phone = paired(shared, here)
    other = shared.signed_in("examiner A")
    old = here.cookies[COOKIE]
    told = {"old": PASSWORDS["examiner B"], "new": "a second set of words", "again": "a second set"}
    assert here.post("/account/password", data=told).status_code == 409
    told["again"] = told["new"]
    wrong = here.post("/account/password", data={**told, "old": "not the old one"})
    assert wrong.status_code == 401
    assert (
        here.post("/account/password", data={**told, "new": "short", "again": "short"}).status_code
        == 422
    )
    assert here.get("/").status_code == 200
    assert here.post("/account/password", data=told).status_code == 303
    assert here.get("/").status_code == 200
    assert here.cookies[COOKIE] != old
    assert shared.sharing.who(old) is None
    assert elsewhere.get("/").status_code == phone.get("/").status_code == 303
    assert other.get("/").status_code == 200
    again = {"name": "examiner B", "password": PASSWORDS["examiner B"]}
    assert shared.device().post("/sign-in", data=again).status_code == 401


def test_a_stream_of_events_ends_with_its_session(shared: SharedShop) -> None:
    device = shared.signed_in("examiner B")
    who = shared.sharing.who(device.cookies[COOKIE])
    assert who is not None
    shared.clock.turn(hours=2)
    assert shared.sharing.holds(who.digest)
    unused = shared.sharing.store.session(who.digest)
    assert unused is not None
    assert unused.seen == who.seen  # to listen is no use
    told: list[dict[str, Any]] = []

    async def lines(scope: Any, receive: Any, send: Any) -> None:
        kind = [(b"content-type", b"text/event-stream; charset=utf-8")]
        await send({"type": "http.response.start", "status": 200, "headers": kind})
        for number in range(4):
            if number == 2:
                shared.sharing.end(who.digest, who)
            line = f"{number}".encode()
            await send({"type": "http.response.body", "body": line, "more_body": True})

    async def send(message: dict[str, Any]) -> None:
        told.append(message)

    cookie = f"{COOKIE}={device.cookies[COOKIE]}".encode()
    scope = {
        "type": "http",
        "method": "GET",
        "path": f"{HOME}/live",
        "query_string": b"",
        "headers": [(b"cookie", cookie), (b"host", b"bench.test:8756")],
        "app": shared.app,
    }
    asyncio.run(Gate(lines)(scope, None, send))  # type: ignore[arg-type]
    assert [(one["body"], one["more_body"]) for one in told[1:]] == [
        (b"0", True),
        (b"1", True),
        (b"", False),
    ]


def test_an_owner_ends_any_session_and_others_only_their_own(shared: SharedShop) -> None:
    owner, examiner = shared.signed_in("examiner A"), shared.signed_in("examiner B")
    digest = sha256(owner.cookies[COOKIE].encode())
    assert examiner.post("/account/end", data={"digest": digest}).status_code == 422
    assert examiner.post("/account/end", data={"digest": "../x"}).status_code == 422
    assert owner.get("/").status_code == 200
    digest = sha256(examiner.cookies[COOKIE].encode())
    assert digest in owner.get("/accounts").text
    assert owner.post("/accounts/end", data={"digest": digest}).status_code == 303
    assert examiner.get("/").status_code == 303


def test_accounts_are_added_and_removed_and_the_last_owner_stays(shared: SharedShop) -> None:
    owner = shared.signed_in("examiner A")
    reader = shared.signed_in("a reader")
    new = {"name": "examiner C", "role": "examiner", "password": "quite another set"}
    assert owner.post("/accounts/add", data=new).status_code == 303
    assert owner.post("/accounts/add", data=new).status_code == 409
    for bad in (
        {"role": "paired device"},
        {"role": "root"},
        {"name": " "},
        {"name": "a\x00b"},
        {"password": "short"},
        {"password": "a" * 40},
        {"password": "x examiner C y"},
    ):
        told = {**new, "name": "examiner C", **bad}
        assert owner.post("/accounts/add", data=told).status_code in (409, 422), bad
    assert [one.name for one in shared.sharing.store.accounts()] == [
        "a reader",
        "examiner A",
        "examiner B",
        "examiner C",
    ]
    assert owner.post("/accounts/remove", data={"name": "a reader"}).status_code == 303
    assert reader.get("/").status_code == 303
    assert owner.post("/accounts/remove", data={"name": "examiner A"}).status_code == 409
    assert owner.post("/accounts/remove", data={"name": "nobody"}).status_code == 422
    assert owner.get("/").status_code == 200


# --- Guessing -----------------------------------------------------------------------------------


def test_guessing_is_slowed_for_name_and_address_and_nobody_is_locked_out(
    shared: SharedShop,
) -> None:
    thief = shared.device("192.0.2.66")
    told = {"name": "examiner A", "password": "guess"}
    answers = [thief.post("/sign-in", data=told).status_code for _ in range(6)]
    assert answers == [401] * 5 + [429]
    right = {"name": "examiner A", "password": PASSWORDS["examiner A"]}
    waits = thief.post("/sign-in", data=right)
    assert waits.status_code == 429  # the right one too, so that nothing is learnt by trying
    assert int(waits.headers["retry-after"]) >= 1
    shared.signed_in("examiner A")  # from another address
    shared.clock.turn(seconds=2)
    assert thief.post("/sign-in", data=told).status_code == 401
    assert thief.post("/sign-in", data=told).status_code == 429
    shared.clock.turn(seconds=20)
    assert thief.post("/sign-in", data=right).status_code == 303


def test_an_unknown_name_is_told_in_the_same_words(shared: SharedShop) -> None:
    said = []
    for name in ("examiner A", "examiner Q"):
        answer = shared.device().post("/sign-in", data={"name": name, "password": "guess"})
        assert answer.status_code == 401
        said.append(answer.text.replace(name, "NAME"))
    assert said[0] == said[1]


def test_an_unknown_name_takes_a_hash_too(
    shared: SharedShop, monkeypatch: pytest.MonkeyPatch
) -> None:
    looked: list[bool] = []
    passwords = shared.sharing._passwords
    fits = passwords.fits
    monkeypatch.setattr(
        passwords, "fits", lambda kept, given: looked.append(kept is None) or fits(kept, given)
    )
    for name in ("examiner A", "examiner Q"):
        shared.device().post("/sign-in", data={"name": name, "password": "guess"})
    assert looked == [False, True]


@pytest.mark.parametrize(
    "to",
    [
        "//evil.test",
        "https://evil.test",
        "/\\evil.test",
        "javascript:alert(1)",
        "\t//evil",
        "/a\nb",
        "evil",
    ],
)
def test_signing_in_leads_nowhere_else(crowd: dict[str, TestClient], to: str) -> None:
    page = crowd["nobody"].get("/sign-in", params={"to": to})
    assert 'name="to" value="/"' in page.text


# --- Pairing ------------------------------------------------------------------------------------


def test_a_code_serves_once_and_for_two_minutes(shared: SharedShop) -> None:
    desk = shared.signed_in("examiner B")
    desk.post("/pair")
    code = code_at(desk)
    first, second = shared.device(), shared.device("192.0.2.9")
    assert first.get(f"/pair/{code}").status_code == 200
    assert second.get(f"/pair/{code}").status_code == 200  # a look uses nothing up
    assert first.post(f"/pair/{code}").status_code == 303
    assert second.post(f"/pair/{code}").status_code == 409
    assert second.get(f"/pair/{code}").status_code == 410
    assert second.get("/pairing").status_code == 410
    assert first.get("/pairing").status_code == 200  # nobody has let it in
    assert first.get("/").status_code == 303
    shared.clock.turn(seconds=121)
    assert first.get("/pairing").status_code == 410
    desk.post("/pair")
    code = code_at(desk)
    shared.clock.turn(seconds=120)
    assert first.post(f"/pair/{code}").status_code == 409
    for guess in ("x", code[:-1], code + "A", "desk"):
        assert first.post(f"/pair/{guess}").status_code in (401, 409)


def test_a_used_code_and_a_used_claim_are_not_taken_again(shared: SharedShop) -> None:
    desk = shared.signed_in("examiner B")
    desk.post("/pair")
    code = code_at(desk)
    phone = shared.device()
    phone.post(f"/pair/{code}")
    claim = phone.cookies[CLAIM_COOKIE]
    desk.post("/pair/desk/let-in", data={"check": digits_on(phone)})
    assert "let in" in desk.get("/pair").text
    assert phone.get("/pairing").status_code == 303
    who = shared.sharing.who(phone.cookies[COOKIE])
    assert who is not None
    assert (who.account, who.role) == ("examiner B", Role.PAIRED_DEVICE)
    replay = shared.device()
    replay.cookies.set(CLAIM_COOKIE, claim)
    assert replay.get("/pairing").status_code == 410
    assert replay.post(f"/pair/{code}").status_code == 409
    shared.clock.turn(hours=7)
    assert phone.get("/").status_code == 200
    shared.clock.turn(hours=7)
    assert phone.get("/").status_code == 200
    shared.clock.turn(hours=7)
    assert phone.get("/").status_code == 200
    shared.clock.turn(hours=3)  # a day since it was paired
    assert phone.get("/").status_code == 303


def test_only_the_desk_that_showed_the_code_lets_in_and_only_the_same_digits(
    shared: SharedShop,
) -> None:
    desk, other = shared.signed_in("examiner B"), shared.signed_in("examiner A")
    desk.post("/pair")
    phone = shared.device()
    phone.post(f"/pair/{code_at(desk)}")
    check = digits_on(phone)
    wrong = f"{(int(check) + 1) % 10_000:04d}"
    assert other.post("/pair/desk/let-in", data={"check": check}).status_code == 409
    assert desk.post("/pair/desk/let-in", data={"check": wrong}).status_code == 409
    assert desk.post("/pair/desk/let-in", data={"check": "abcd"}).status_code == 422
    assert phone.get("/pairing").status_code == 200
    assert desk.post("/pair/desk/refuse").status_code == 303
    assert phone.get("/pairing").status_code == 410
    assert phone.get("/").status_code == 303


def test_a_desk_that_has_signed_out_lets_nobody_in_afterwards(shared: SharedShop) -> None:
    desk = shared.signed_in("examiner B")
    desk.post("/pair")
    phone = shared.device()
    phone.post(f"/pair/{code_at(desk)}")
    desk.post("/pair/desk/let-in", data={"check": digits_on(phone)})
    desk.post("/sign-out")
    assert phone.get("/pairing").status_code == 410
    assert phone.get("/").status_code == 303


# --- Hostile fields -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "path",
    [
        one.path
        for screen in SHARED_SCREENS
        for one in screen.router.routes
        if isinstance(one, APIRoute) and "POST" in one.methods and one.path != "/sign-out"
    ],
)
def test_no_form_of_a_shared_bench_ends_in_a_fault(shared: SharedShop, path: str) -> None:
    dice = random.Random(path)
    device = shared.signed_in("examiner A")
    names = ("name", "role", "password", "old", "new", "again", "digest", "check", "to")
    for _ in range(20):
        shared.clock.turn(minutes=20)  # so that tries at passwords are not what answers
        told = {name: dice.choice(HOSTILE) for name in names if dice.random() < 0.9}
        answer = device.post(
            path.replace("{code}", quote(dice.choice(HOSTILE) or "x", safe="")), data=told
        )
        assert answer.status_code < 500, (told, answer.text)
        assert "<script>alert" not in answer.text
    standing = {one.name: one.role.value for one in shared.sharing.store.accounts()}
    assert ROLES.items() <= standing.items()
    shared.clock.turn(hours=2)
    shared.signed_in("examiner A")


# --- Loopback -----------------------------------------------------------------------------------


def test_a_bench_of_its_own_machine_looks_up_no_session_and_has_no_accounts(tmp_path: Path) -> None:
    with bench_of(make_shop(tmp_path)) as bench:
        assert bench.app.state.sharing is None  # type: ignore[attr-defined]
        for path in ("/sign-in", "/accounts", "/pair"):
            assert bench.get(path).status_code == 404
        assert "Entries are signed by" in bench.get("/").text
        told = {"part": "neck", "text": "65/03 R", "id": "o-here"}
        assert bench.post(f"{HOME}/mark", data=told).status_code == 200
        state = state_of(bench.app.state.shop, TAG)  # type: ignore[attr-defined]
        assert "o-here" in state.observations
