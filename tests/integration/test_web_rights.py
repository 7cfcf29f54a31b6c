"""What a role may enter it may correct, take back and put back; nothing else, by any address."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from fakes.every_kind import BODIES, SUM, acts_before, body_of
from fakes.shared_shop import ROLES, SharedShop, filled, make_shared, opened, paired, routes
from fakes.web_shop import TAG, state_in
from heelstamp.casework.dossier import append, append_all
from heelstamp.casework.sharing import Role
from heelstamp.casework.sharing.rights import right_of
from heelstamp.shop import now
from heelstamp.web.permits import UNNAMED, least_role, permit_of

HOME = f"/dossier/{TAG}"
API = f"/api/dossiers/{TAG}"
NAMES = {
    "owner": "examiner A",
    "examiner": "examiner B",
    "reader": "a reader",
    "paired device": "examiner A",
}
OWNERS = {"/hand"}


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SharedShop]:
    """A shop of its own, whose passwords are hashed quickly."""
    for name, quick in (("PASSES", 1), ("MEMORY_KIB", 64), ("LANES", 1)):
        monkeypatch.setattr(f"heelstamp.store.passwords.{name}", quick)
    made = make_shared(tmp_path)
    with opened(made):
        made.sharing.now = made.clock
        yield made


@pytest.fixture
def crowd(shop: SharedShop) -> dict[str, TestClient]:
    """One browser for each role."""
    devices = {role: shop.signed_in(name) for name, role in ROLES.items()}
    devices["paired device"] = paired(shop, devices["owner"])
    return devices


def insure(owner: TestClient) -> None:
    told = {"about": "insured value", "decided": f"{SUM} USD", "id": "d-insured"}
    answer = owner.post(f"{HOME}/money/valued", data=told)
    assert answer.status_code == 303, answer.text


def test_a_paired_device_takes_back_no_sum(crowd: dict[str, TestClient]) -> None:
    owner, phone = crowd["owner"], crowd["paired device"]
    insure(owner)
    for _ in range(3):
        phone.post(f"{HOME}/undo")
    assert state_in(owner).stands("d-insured")
    assert owner.post(f"{HOME}/undo").status_code == 303
    assert not state_in(owner).stands("d-insured")
    put = {"taken": "d-insured"}
    assert phone.post(f"{HOME}/put-back", data=put).status_code == 403
    assert not state_in(owner).stands("d-insured")
    assert owner.post(f"{HOME}/put-back", data=put).status_code == 303
    assert state_in(owner).stands("d-insured")


def test_every_address_is_refused_to_every_role_below_its_own(crowd: dict[str, TestClient]) -> None:
    walked = 0
    for path, method in routes(crowd["owner"].app):
        if path in ("/sign-out", "/account/end") or path.endswith("/live"):
            continue  # they end the session, or never end
        least = least_role(filled(path), method)
        for role, device in crowd.items():
            answer = device.request(method, filled(path))
            refused = least is not None and not Role(role).may(least)
            assert (answer.status_code == 403) == refused, (role, method, path, answer.text[:300])
            walked += 1
    assert walked > 400


def test_every_address_that_changes_something_is_named(crowd: dict[str, TestClient]) -> None:
    left = {path for path, method in routes(crowd["owner"].app) if method not in ("GET", "HEAD")}
    unnamed = {path for path in left if permit_of(filled(path)) == UNNAMED}
    assert unnamed <= OWNERS, unnamed


@pytest.mark.parametrize("kind", sorted(BODIES))
def test_every_kind_by_every_command_and_by_every_role(
    crowd: dict[str, TestClient], kind: str
) -> None:
    owner, shop = crowd["owner"], crowd["owner"].app.state.desk  # type: ignore[attr-defined]
    body = body_of(kind, "e1")
    append_all(shop, TAG, acts_before(kind), at=now(), by="examiner A")
    append(shop, TAG, kind, body, at=now(), by="examiner A")
    for role, device in crowd.items():
        may = Role(role).may(right_of(kind).enter)
        for number, replacement in enumerate((body, None)):
            told = {"id": f"c-{role[:3]}-{number}", "corrects": "e1", "reason": "x"}
            entries = [{"kind": "correction", "body": {**told, "replacement": replacement}}]
            length = state_in(owner).length
            answer = device.post(f"{API}/entries", json={"by": NAMES[role], "entries": entries})
            assert answer.status_code == (201 if may else 403), (role, answer.text)
            assert state_in(owner).length == length + may
        device.post(f"{HOME}/undo")
        length = state_in(owner).length
        put = device.post(f"{HOME}/put-back", data={"taken": "e1"})
        if not may:
            assert put.status_code in (403, 409), role
            assert state_in(owner).length == length


def test_a_private_frame_is_not_made_public_from_a_paired_device(
    crowd: dict[str, TestClient],
) -> None:
    owner, phone = crowd["owner"], crowd["paired device"]
    frame = "f1"
    body = {**body_of("photograph", frame), "private": True}
    shop = owner.app.state.desk  # type: ignore[attr-defined]
    append(shop, TAG, "photograph", body, at=now(), by="examiner A")
    told = {"frame": frame, "private": "false"}
    assert phone.post(f"{HOME}/private", data=told).status_code == 403
    assert state_in(owner).photographs[frame].private
    assert crowd["examiner"].post(f"{HOME}/private", data=told).status_code == 303
    assert not state_in(owner).photographs[frame].private


def test_no_address_tells_a_sum_to_who_may_not_see_it(crowd: dict[str, TestClient]) -> None:
    owner = crowd["owner"]
    insure(owner)
    for number, price in enumerate((f"{SUM}.25 USD", f"{SUM}.50 USD")):
        told = {"about": "sold", "decided": price, "id": f"d-sold-{number}"}
        assert owner.post(f"{HOME}/money/valued", data=told).status_code == 303
    owner.post(f"{HOME}/undo")
    shown = 0
    for path, method in routes(owner.app):
        if method != "GET" or path.endswith("/live"):
            continue
        for role, device in crowd.items():
            text = device.get(filled(path)).text
            told_of = any(one in text for one in (SUM, f"{int(SUM):,}"))
            if Role(role).may(Role.EXAMINER):
                shown += told_of
            else:
                assert not told_of, (role, path)
    assert shown >= 6  # journal, dossier, list and money of the two that may


def test_a_reader_can_compute_no_sum_from_the_journal(crowd: dict[str, TestClient]) -> None:
    insure(crowd["owner"])
    entries = crowd["reader"].get(f"{API}/journal").json()
    price = next(one for one in entries if one["body"].get("id") == "d-insured")
    assert "seed" not in price
    assert set(price["body"]) == {"id", "withheld"}
    assert price["form"] == 2  # its digest is salted by the seed that is left out
