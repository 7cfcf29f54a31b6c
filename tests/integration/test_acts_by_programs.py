"""Whatever a form of a page does, a program can do: the same act, the same rights, typed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from typing import Any, get_args, get_type_hints

import pytest
from fastapi.routing import APIRoute
from pydantic import ValidationError
from starlette.testclient import TestClient

from fakes.shared_shop import SharedShop
from fakes.web_shop import TAG, bench_of, jpeg
from heelstamp.shop.programs import issue_token
from heelstamp.web.api.acts import APART, _forms, apart
from heelstamp.web.app import OPENING_SCREENS, SCREENS, SHARED_SCREENS
from heelstamp.web.permits import permit_of

ACTS = f"/api/acts/dossier/{TAG}"
BY = {"by": "examiner A"}


@pytest.fixture(scope="module")
def program(lasting_shop: Path) -> Iterator[TestClient]:
    with bench_of(lasting_shop) as client:
        yield client


def forms() -> set[str]:
    """Paths of every form of the bench."""
    return {
        route.path
        for screen in SCREENS
        for route in screen.router.routes
        if isinstance(route, APIRoute) and "POST" in route.methods
    }


def test_every_form_is_an_operation_or_says_why_not(program: TestClient) -> None:
    described = program.get("/api.json").json()["paths"]
    sent = {path.removeprefix("/api/acts") for path in described if path.startswith("/api/acts/")}
    assert sent == {path for path in forms() if not apart(path)}
    assert len(sent) > 70
    for begins in APART:
        assert any(apart(path) == APART[begins] for path in forms() | {"/begin/x"}), begins
    others = [*OPENING_SCREENS, *SHARED_SCREENS]  # a new shop; signing in, devices, owners
    assert not any(
        f"/api/acts{route.path}" in described
        for screen in others
        for route in screen.router.routes
        if isinstance(route, APIRoute)
    )


def test_an_act_takes_the_rights_of_its_page() -> None:
    for path in forms():
        if not apart(path):
            plain = path.replace("{tag}", TAG)
            page, act = permit_of(plain), permit_of(f"/api/acts{plain}")
            assert (page.look, page.change) == (act.look, act.change), path


def test_each_operation_is_typed_and_named_once(program: TestClient) -> None:
    told = program.get("/api.json").json()
    ids = [one["operationId"] for path in told["paths"].values() for one in path.values()]
    assert len(ids) == len(set(ids))
    for path, operations in told["paths"].items():
        if path.startswith("/api/acts/"):
            (kind,) = operations["post"]["requestBody"]["content"].values()
            name = kind["schema"]["$ref"].rpartition("/")[2]
            fields = told["components"]["schemas"][name]["properties"]
            assert {"by", "hand"} & set(fields), path
            assert {"409", "422"} <= set(operations["post"]["responses"]), path


def act(program: TestClient, path: str, **told: Any) -> Any:
    answer = program.post(f"{ACTS}/{path}", json={**BY, **told})
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_enquiry_sale_packing_and_terms(program: TestClient) -> None:
    asked = act(
        program,
        "enquiries/said",
        id="n1",
        party="enquirer 1",
        event="asked",
        text="Is the neck straight?",
    )
    assert [one["kind"] for one in asked["entries"]] == ["enquiry"]
    # sent twice under one id it is entered once
    again = act(
        program,
        "enquiries/said",
        id="n1",
        party="enquirer 1",
        event="asked",
        text="Is the neck straight?",
    )
    assert again["entries"] == []
    owner = act(program, "sale/owner", id="w1", role="consignor", identity="passport seen")
    assert [one["kind"] for one in owner["entries"]] == ["owner"]
    packed = {"weight_g": "9000", "length_mm": "1200", "width_mm": "450", "height_mm": "200"}
    assert act(program, "shipping/packed", id="k1", route="JP", **packed)["entries"]
    kinds = [one["kind"] for one in program.get(f"/api/dossiers/{TAG}/journal").json()]
    assert kinds.count("enquiry") == 1


def test_a_file_goes_as_a_part_of_a_form(program: TestClient) -> None:
    answer = program.post(
        f"{ACTS}/photographs",
        data={**BY, "id": "f9", "slot": "body-front"},
        files={"photo": ("a.jpg", jpeg(), "image/jpeg")},
    )
    assert answer.status_code == 200, answer.text
    assert [one["kind"] for one in answer.json()["entries"]] == ["photograph"]


def test_what_is_refused_is_a_problem(program: TestClient) -> None:
    for path, told, status in (
        ("sale/step", {**BY, "event": "no such step"}, 422),
        ("sale/step", {**BY}, 422),
        ("sale/step", {"event": "offered"}, 422),
        ("enquiries/answered", {**BY, "party": "nobody"}, None),
        ("work-plan", {**BY, "act": ["no such act"]}, None),
    ):
        answer = program.post(f"{ACTS}/{path}", json=told)
        assert answer.status_code in ((status,) if status else (404, 409, 422)), (path, answer.text)
        assert answer.headers["content-type"] == "application/problem+json", path
    missing = program.post("/api/acts/dossier/NONE/sale/step", json={**BY, "event": "offered"})
    assert missing.status_code == 404


ODD = (None, [], {}, float("inf"), "x" * 5000, -1, True, [None], "\x00", "\ud800", "1e999")


def test_no_form_breaks_at_what_a_program_may_send() -> None:
    """JSON says null, lists and objects where a page's form says texts: each is read or refused."""
    for route in _forms(screen.router for screen in SCREENS):
        told = get_type_hints(route.endpoint, include_extras=True).get("told")
        if told is None:
            continue
        form = get_args(told)[0]
        for name, field in form.model_fields.items():
            for value in ODD:
                with suppress(ValidationError):
                    form.model_validate({field.alias or name: value})


def test_work_is_begun_and_asked_after(program: TestClient) -> None:
    begun = program.post("/api/acts/maker/sallowby-wherry/held", json=BY)
    assert begun.status_code in (200, 409, 422), begun.text
    none = program.get(f"/api/work/{'0' * 24}")
    assert (none.status_code, none.json()["title"]) == (404, "no such work")
    if begun.status_code == 200:
        told = program.get(f"/api/work/{begun.json()['work']}").json()
        assert told["standing"] in ("waiting", "working", "done", "failed")


def test_roles_hold_for_acts(shared: SharedShop) -> None:
    told = {"about": "insured value", "decided": "7331 USD", "id": "d1"}
    for name, scopes, status in (
        ("examiner A", ("enter", "sums"), 200),
        ("examiner A", ("enter",), 403),
        ("examiner B", ("enter", "sums"), 403),
        ("a reader", ("enter", "sums"), 403),
        ("examiner A", (), 403),
    ):
        plain, _ = issue_token(shared.sharing, name, "bookkeeping", scopes, 90)
        device = TestClient(
            shared.app,
            base_url="https://bench.test:8756",
            headers={"authorization": f"Bearer {plain}"},
        )
        answer = device.post(f"{ACTS}/money/valued", json={"by": name, **told})
        assert answer.status_code == status, (name, scopes, answer.text)
        if status == 200:
            other = device.post(f"{ACTS}/money/valued", json={"by": "examiner B", **told})
            assert other.status_code == 422  # signed by who the token is of
