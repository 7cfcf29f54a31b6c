"""Tokens: a program comes in by one, to the JSON API alone, for what its scopes allow."""

from __future__ import annotations

import re

import pytest
from starlette.testclient import TestClient

from fakes.commands import Run
from fakes.every_kind import BEFORE, BODIES, SUM, body_of
from fakes.shared_shop import ADDRESS, NAMES_OF_ROLES, PASSWORDS, SharedShop
from fakes.web_shop import TAG, state_in
from heelstamp.casework.dossier import append
from heelstamp.casework.sharing import Role
from heelstamp.casework.sharing.rights import right_of
from heelstamp.errors import InputError
from heelstamp.shop import now
from heelstamp.shop.programs import end_token, issue_token, tokens_of

API = f"/api/dossiers/{TAG}"
SEEN = {"id": "o1", "part": "neck", "kind": "mark", "status": "absent"}


def entry(by: str, kind: str = "observation", body: dict | None = None) -> dict:
    return {"by": by, "entries": [{"kind": kind, "body": SEEN if body is None else body}]}


def program(shared: SharedShop, account: str, *scopes: str) -> TestClient:
    """A program of its own: no cookie, no Origin, a token."""
    plain, _ = issue_token(shared.sharing, account, "bookkeeping", scopes, 90)
    return TestClient(shared.app, base_url=ADDRESS, headers={"authorization": f"Bearer {plain}"})


def test_what_a_token_may(shared: SharedShop) -> None:
    looks, enters = (program(shared, "examiner A", *one) for one in ((), ("enter",)))
    assert looks.get(API).status_code == 200
    refused = looks.post(f"{API}/entries", json=entry("examiner A"))
    assert refused.status_code == 403
    assert 'error="insufficient_scope"' in refused.headers["www-authenticate"]
    assert enters.post(f"{API}/entries", json=entry("examiner A")).status_code == 201
    for path in ("/", "/accounts", "/account", f"/dossier/{TAG}/money"):
        assert enters.get(path, follow_redirects=False).status_code in (303, 401), path
    assert enters.post("/accounts/remove", data={"name": "a reader"}).status_code in (401, 403)


@pytest.mark.parametrize("sent", ["nothing-of-this-shop", "", "ü", "a" * 500])
def test_a_token_that_opens_nothing(shared: SharedShop, sent: str) -> None:
    client = shared.device()
    answer = client.get(API, headers={"authorization": f"Bearer {sent}".encode()})
    assert answer.status_code == 401
    assert "www-authenticate" in answer.headers or not sent


def test_a_token_ends(shared: SharedShop) -> None:
    by_day, by_hand, by_password, by_removal = (
        program(shared, name) for name in ("examiner A", "examiner A", "examiner B", "a reader")
    )
    assert by_day.get(API).status_code == 200
    sharing = shared.sharing
    *_, newest = sorted(tokens_of(sharing, "examiner A"), key=lambda one: one.digest)
    end_token(sharing, newest.digest)
    assert sorted(one.get(API).status_code for one in (by_day, by_hand)) == [200, 401]
    sharing.set_password("examiner B", "another long password 3")
    assert by_password.get(API).status_code == 401
    sharing.store.remove("a reader")
    assert by_removal.get(API).status_code == 401
    shared.clock.turn(days=91)
    assert by_day.get(API).status_code == 401
    assert tokens_of(sharing) == ()


def test_only_a_digest_is_kept_and_it_stands_in_the_ledger(shared: SharedShop) -> None:
    from heelstamp.shop.soundness import shop_faults

    plain, made = issue_token(shared.sharing, "examiner A", "x", ("enter",), 1)
    database = b"".join(one.read_bytes() for one in shared.folder.glob("heelstamp.db*"))
    assert plain.encode() not in database
    assert made.digest.encode() in database
    assert shop_faults(shared.folder) == ()


def test_a_token_without_sums_sees_none(shared: SharedShop) -> None:
    owner = shared.signed_in("examiner A")
    told = {"about": "insured value", "decided": f"{SUM} USD", "id": "d-insured"}
    assert owner.post(f"/dossier/{TAG}/money/valued", data=told).status_code == 303
    for scopes, sees in (((), False), (("enter",), False), (("sums",), True)):
        text = program(shared, "examiner A", *scopes).get(f"{API}/journal").text
        assert (SUM in text) == sees, scopes


@pytest.mark.parametrize("scopes", [("enter",), ("enter", "sums")])
@pytest.mark.parametrize("role", sorted(NAMES_OF_ROLES))
def test_every_kind_by_a_token_of_every_role(
    shared: SharedShop, role: str, scopes: tuple[str, ...]
) -> None:
    """The table of rights holds for programs as it does for people, within their scopes."""
    owner = shared.signed_in("examiner A")
    shop = owner.app.state.shop  # type: ignore[attr-defined]
    name = NAMES_OF_ROLES[role]
    client = program(shared, name, *scopes)
    acts = Role(role) if "sums" in scopes or role == "reader" else Role.PAIRED_DEVICE
    one_of_each = {right_of(kind): kind for kind in sorted(set(BODIES) - set(BEFORE))}
    assert len(one_of_each) >= 5
    for number, kind in enumerate(one_of_each.values()):
        id_ = f"e{number}"
        body = body_of(kind, id_)
        append(shop, TAG, kind, body, at=now(), by="examiner A")
        taken = {"id": f"c{number}", "corrects": id_, "reason": "x", "replacement": None}
        answer = client.post(f"{API}/entries", json=entry(name, "correction", taken))
        may = acts.may(right_of(kind).enter)
        assert answer.status_code == (201 if may else 403), (kind, answer.text)
        assert state_in(owner).stands(id_) != may


def test_on_the_accounts_page(shared: SharedShop) -> None:
    device = shared.signed_in("examiner B")
    page = device.post("/account/token", data={"name": "shelf labels", "scope": "enter"})
    assert page.status_code == 200
    assert page.headers["cache-control"] == "no-store"
    found = re.search(r"<code>([\w-]{43})</code>", page.text)
    assert found is not None
    client = TestClient(shared.app, base_url=ADDRESS)
    sent = {"authorization": f"Bearer {found[1]}"}
    assert client.post(f"{API}/entries", json=entry("examiner B"), headers=sent).status_code == 201
    assert "shelf labels" in device.get("/account").text
    owner = shared.signed_in("examiner A")
    assert "shelf labels" in owner.get("/accounts").text
    (token,) = tokens_of(shared.sharing)
    ended = {"digest": token.digest}
    assert shared.signed_in("a reader").post("/account/token/end", data=ended).status_code == 422
    assert owner.post("/accounts/token/end", data=ended).status_code == 303
    assert client.get(API, headers=sent).status_code == 401
    assert PASSWORDS


@pytest.mark.parametrize(
    ("name", "scopes", "days", "told"),
    [
        ("", (), 1, "named by what uses it"),
        ("x", ("entre",), 1, "no such scope"),
        ("x", (), 0, "lasts some days"),
        ("x", (), 10_000, "lasts some days"),
    ],
)
def test_what_cannot_be_a_token(
    shared: SharedShop, name: str, scopes: tuple[str, ...], days: int, told: str
) -> None:
    with shared.device() as _, pytest.raises(InputError, match=told):
        issue_token(shared.sharing, "examiner A", name, scopes, days)
    assert tokens_of(shared.sharing) == ()


def test_by_command(run: Run, new_shared: object, shared: SharedShop) -> None:
    shop = shared.folder
    made = run(
        *("account", "token", "add", "examiner A", "--for", "books", "--scope", "sums"),
        *("--days", 3, "--shop", shop),
    )
    assert made.code == 0, made.err
    assert re.match(r"[\w-]{43}\n", made.out)
    listed = run("account", "token", "list", "--shop", shop)
    assert "look sums" in listed.out
    begins = listed.out.splitlines()[1].split()[0]
    assert run("account", "token", "end", begins, "--shop", shop).code == 0
    assert "There are none." in run("account", "token", "list", "--shop", shop).out
    assert run("account", "token", "end", begins, "--shop", shop).code == 2
