"""What a role may enter it may correct, take back and put back; nothing else, by any address."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient

from fakes.every_kind import BODIES, SUM, acts_before, body_of
from fakes.sealed import chained
from fakes.shared_shop import ROLES, SharedShop, filled, paired, routes
from fakes.web_shop import INSTRUMENT, TAG, state_in
from heelstamp.archive import line_of
from heelstamp.casework.dossier import append, append_all
from heelstamp.casework.sharing import Role
from heelstamp.casework.sharing.rights import right_of
from heelstamp.catalogue import Issue
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
def crowd(shared: SharedShop) -> dict[str, TestClient]:
    """One browser for each role."""
    devices = {role: shared.signed_in(name) for name, role in ROLES.items()}
    devices["paired device"] = paired(shared, devices["owner"])
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
    owner, shared = crowd["owner"], crowd["owner"].app.state.shop  # type: ignore[attr-defined]
    body = body_of(kind, "e1")
    append_all(shared, TAG, acts_before(kind), at=now(), by="examiner A")
    append(shared, TAG, kind, body, at=now(), by="examiner A")
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
    shared = owner.app.state.shop  # type: ignore[attr-defined]
    append(shared, TAG, "photograph", body, at=now(), by="examiner A")
    told = {"frame": frame, "private": "false"}
    assert phone.post(f"{HOME}/private", data=told).status_code == 403
    assert state_in(owner).photographs[frame].private
    assert crowd["examiner"].post(f"{HOME}/private", data=told).status_code == 303
    assert not state_in(owner).photographs[frame].private


def test_no_address_tells_a_sum_to_who_may_not_see_it(crowd: dict[str, TestClient]) -> None:
    owner = crowd["owner"]
    insure(owner)
    for number, price in enumerate((f"{SUM}.25 USD", f"{SUM}.50 USD")):
        told = {"about": "insured value", "decided": price, "id": f"d-again-{number}"}
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


@pytest.mark.parametrize("reader", ["shop", "consignor"])
def test_no_paper_of_the_whole_record_opens_to_who_may_not_see_sums(
    crowd: dict[str, TestClient], reader: str
) -> None:
    """Such a paper carries the journal, with sums and seeds."""
    owner = crowd["owner"]
    insure(owner)
    assert owner.post(f"{HOME}/reports", data={"reader": reader, "id": "p1"}).status_code == 303
    paper = f"{HOME}/paper/{state_in(owner).of(Issue)['p1'].file}.pdf"
    preview = f"{HOME}/preview/{reader}.pdf"
    for role, device in crowd.items():
        wanted = 200 if Role(role).may(Role.EXAMINER) else 403
        assert [device.get(one).status_code for one in (paper, preview)] == [wanted, wanted], role
        assert device.get(f"{HOME}/preview/buyer.pdf").status_code == 200


FORM_1_TAG = "H-0007"


def form_1_journal(opened: SharedShop) -> list[str]:
    """Lay down a journal of form 1 whose third entry is a sum; digests from there on."""
    instrument = {**INSTRUMENT, "tag": FORM_1_TAG}
    said = {"id": "d1", "about": "insured value", "decided": f"{SUM} USD", "reason": "agreed"}
    rows = [
        ("instrument", instrument),
        ("custody", {"id": "k1", **BODIES["custody"]}),
        ("decision", said),
        ("observation", {"id": "o1", **BODIES["observation"]}),
    ]
    entries = chained(rows, forms=1)
    store = opened.app.state.shop.journals
    store.append(FORM_1_TAG, [line_of(one) for one in entries], None)
    return [one["digest"] for one in entries[2:]]


def test_no_address_confirms_a_guess_at_a_sum_of_form_1(
    crowd: dict[str, TestClient], shared: SharedShop
) -> None:
    digests = form_1_journal(shared)
    found: dict[str, int] = {}
    for path, method in routes(crowd["owner"].app):
        if method != "GET" or path.endswith("/live"):
            continue
        asked = filled(path).replace(TAG, FORM_1_TAG)
        for role, device in crowd.items():
            text = device.get(asked).text
            told = [one for one in digests if one in text]
            found[role] = found.get(role, 0) + len(told)
            assert Role(role).may(Role.EXAMINER) or not told, (role, path)
    assert found["owner"] >= 3  # dossier and journal of the API, and the receipt


def test_a_person_s_words_are_marked_for_outsiders_by_an_examiner_alone(
    crowd: dict[str, TestClient],
) -> None:
    said = {"about": "neck", "text": "as bought", "signed": "false", "role": "a consignor"}
    for role, device in crowd.items():
        may = Role(role).may(Role.EXAMINER)
        told = {**said, "id": f"s-{role[:3]}", "public": "true"}
        assert (device.post(f"{HOME}/said", data=told).status_code == 303) == may, role
    assert crowd["paired device"].post(f"{HOME}/said", data=said | {"id": "s-k"}).status_code == 303
    for role, device in crowd.items():
        may = Role(role).may(Role.EXAMINER)
        for public in ("true", "false"):
            told = {"entry": "s-k", "public": public}
            answer = device.post(f"{HOME}/reports/words", data=told)
            assert (answer.status_code == 303) == may, role
            assert state_in(crowd["owner"]).statements["s-k"].public == (may and public == "true")
