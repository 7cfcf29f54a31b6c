"""Every address of the bench against hostile fields: a page that says what to do, never a fault."""

from __future__ import annotations

import random
from collections.abc import Iterator
from random import Random

import pytest
from fastapi.routing import APIRoute
from hypothesis import given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from fakes.carried_parsers import Parser
from fakes.parsers import damaged, tracebacks
from fakes.request_parser import request_parser
from fakes.web_shop import TAG, add_frame, jpeg, state_in
from heelstamp.casework.dossier import entries_of
from heelstamp.web.app import SCREENS

ROUTES = [
    route
    for screen in SCREENS
    for route in screen.router.routes
    if isinstance(route, APIRoute) and not route.path.endswith("/live")  # has no end: test_web_live
]
HOSTILE = (
    "",
    " ",
    "0",
    "-1",
    "1e309",
    "nan",
    "inf",
    "9" * 300,
    "true",
    "null",
    "[]",
    "{}",
    "\x00",
    "\x07",
    "\u202e",
    "é" * 90,
    "<script>",
    "'; drop table entries; --",
    "../../etc/passwd",
    "%s%n",
    "f-plate-120",
    "o1",
    "guard",
    "neck",
    "read",
    "granted",
    "probably",
    "1965-03",
    "1965-03..1960-01",
)
ROUNDS = 12


def fields_of(route: APIRoute) -> list[str]:
    """The fields of a form, which is a model."""
    models = [one.field_info.annotation for one in route.dependant.body_params]
    return [
        one.alias or name
        for model in models
        if hasattr(model, "model_fields")
        for name, one in model.model_fields.items()
    ] + [
        one.alias
        for one, model in zip(route.dependant.body_params, models, strict=True)
        if not hasattr(model, "model_fields")
    ]


@pytest.fixture(scope="module")
def marked_bench(lasting_bench: TestClient) -> TestClient:
    add_frame(lasting_bench, "plate")
    mark = {"part": "neck", "text": "65/0? R", "id": "o1"}
    lasting_bench.post(f"/dossier/{TAG}/mark", data=mark)
    return lasting_bench


@pytest.fixture(scope="module")
def bench_off_the_wire() -> Iterator[Parser]:
    with request_parser() as parser:
        yield parser


@pytest.mark.parametrize("route", [one for one in ROUTES if "POST" in one.methods], ids=str)
def test_no_form_ends_in_a_fault(marked_bench: TestClient, route: APIRoute) -> None:
    dice = random.Random(route.path)
    fields = fields_of(route)
    path = route.path.replace("{tag}", TAG)
    before = entries_of(marked_bench.app.state.shop, TAG)  # type: ignore[attr-defined]
    for _ in range(ROUNDS):
        data = {name: dice.choice(HOSTILE) for name in fields if dice.random() < 0.9}
        data.pop("photo", None)
        photo = dice.choice([b"", b"\xff\xd8\xff", b"GIF89a" * 9, jpeg(64, 48)])
        files = {"photo": (dice.choice(HOSTILE) or "x", photo)} if "photo" in fields else None
        answer = marked_bench.post(path, data=data, files=files)
        assert answer.status_code < 500, (data, answer.text)
        assert "<script>" not in answer.text
    after = entries_of(marked_bench.app.state.shop, TAG)  # type: ignore[attr-defined]
    assert after[: len(before)] == before
    assert state_in(marked_bench).length == len(after)  # whatever was taken in still folds


@pytest.mark.parametrize("route", [one for one in ROUTES if "GET" in one.methods], ids=str)
def test_no_address_ends_in_a_fault(marked_bench: TestClient, route: APIRoute) -> None:
    dice = random.Random(route.path)
    names = [one.alias for one in route.dependant.query_params]
    for _ in range(ROUNDS if names or "{frame}" in route.path else 1):
        path = route.path.replace("{tag}", TAG)
        for gap in ("frame", "opening", "reader", "digest"):
            path = path.replace(
                f"{{{gap}}}", dice.choice(("F9", "f-plate-120", "neck", "%00", "x"))
            )
        answer = marked_bench.get(path, params={name: dice.choice(HOSTILE) for name in names})
        assert answer.status_code < 500, answer.text


def test_half_a_character_is_refused_by_its_place(marked_bench: TestClient) -> None:
    """JSON can write it, and bytes that are no UTF-8 can; the answer tells it by its number."""
    for told in (b'"by": "examiner \\ud83d"', b'"by": "examiner A", "entri\\ud83des": 1'):
        answer = marked_bench.post(
            f"/api/dossiers/{TAG}/entries",
            content=b"{" + told + b', "entries": 1}',
            headers={"content-type": "application/json"},
        )
        assert answer.status_code == 422
        assert r"\ud83d" in answer.json()["received"] + answer.json()["where"]


def test_bytes_that_no_address_holds_are_refused(bench_off_the_wire: Parser) -> None:
    for path in (b"/api/dossiers?find=\xe5", b"/glossary?\xff\xfe=\xed\xa0\xbd"):
        data = b"GET " + path + b"\nHost: localhost:8756\n\n"
        assert tracebacks(bench_off_the_wire, data) is None


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # of the library
@settings(max_examples=40, deadline=None)
@given(chance=st.randoms(use_true_random=False))
def test_a_damaged_request_is_answered_without_a_fault(
    bench_off_the_wire: Parser, chance: Random
) -> None:
    data = damaged(chance.choice(bench_off_the_wire.seeds), chance)
    error = tracebacks(bench_off_the_wire, data)
    assert error is None, f"{error!r} from {data[:300]!r}"
