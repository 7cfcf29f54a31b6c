"""The JSON face: the same casework, described by OpenAPI and held to its own description."""

from __future__ import annotations

from pathlib import Path

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from starlette.testclient import TestClient

from heelstamp.casework.dossier import NoSuchDossierError, entries_of
from heelstamp.casework.ports import WrittenBetweenError
from heelstamp.errors import (
    ConflictError,
    HeelstampError,
    InputError,
    IntegrityError,
    NotFoundError,
)
from heelstamp.shop import open_shop
from heelstamp.shop.jobs import FaultError, NoSuchJobError
from heelstamp.shop.sharing import SignInRefusedError
from heelstamp.web import create_app
from heelstamp.web.app import status_of

TAG = "W-0001"
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": TAG,
}
SEEN = {
    "id": "o1",
    "part": "neck",
    "kind": "mark",
    "status": "read",
    "text": "65/03 R",
    "reader": "written:year2 month2 letter",
}


def test_entered_once_dated_and_read_back(lasting_bench: TestClient, lasting_shop: Path) -> None:
    sent = {"by": "examiner A", "entries": [{"kind": "observation", "body": SEEN}]}
    first = lasting_bench.post(f"/api/dossiers/{TAG}/entries", json=sent)
    assert first.status_code == 201
    assert first.json()[0]["seq"] == 2
    again = lasting_bench.post(f"/api/dossiers/{TAG}/entries", json=sent)
    assert (again.status_code, again.json()) == (201, [])
    assert lasting_bench.get(f"/api/dossiers/{TAG}").json()["observation"] == [SEEN]
    journal = lasting_bench.get(f"/api/dossiers/{TAG}/journal").json()
    with open_shop(lasting_shop) as opened:
        assert [one["digest"] for one in journal] == [one.digest for one in entries_of(opened, TAG)]
    found = lasting_bench.get(f"/api/dossiers/{TAG}/date").json()
    assert found["observations"]["o1"]["used"]
    assert lasting_bench.get(f"/api/dossiers/{TAG}/next").json()["options"]
    assert lasting_bench.get("/api/dossiers").json()["dossiers"][0]["tag"] == TAG


@pytest.mark.parametrize(
    ("path", "sent", "status", "told"),
    [
        ("none/entries", {"kind": "observation", "body": SEEN}, 404, "no such dossier"),
        (f"{TAG}/entries", {"kind": "rumour", "body": {}}, 422, "a field that cannot be read"),
        (f"{TAG}/entries", {"kind": "observation", "body": {"id": "o2"}}, 422, "part"),
        (
            f"{TAG}/entries",
            {
                "kind": "treatment",
                "body": {
                    "id": "t1",
                    "act": "take neck off",
                    "part": "neck",
                    "reason": "r",
                    "reversible": True,
                },
            },
            409,
            "take neck off",
        ),
    ],
)
def test_refusals_are_problem_documents(
    lasting_bench: TestClient, path: str, sent: dict, status: int, told: str
) -> None:
    answer = lasting_bench.post(
        f"/api/dossiers/{path}", json={"by": "examiner A", "entries": [sent]}
    )
    assert answer.status_code == status
    assert answer.headers["content-type"] == "application/problem+json"
    assert told in answer.json()["detail"]


def test_all_or_none(lasting_bench: TestClient) -> None:
    before = len(lasting_bench.get(f"/api/dossiers/{TAG}/journal").json())
    good = {"kind": "observation", "body": {**SEEN, "id": "o9"}}
    bad = {"kind": "observation", "body": {**SEEN, "id": "o10", "part": "engine"}}
    answer = lasting_bench.post(
        f"/api/dossiers/{TAG}/entries", json={"by": "examiner A", "entries": [good, bad]}
    )
    assert answer.status_code == 422
    assert len(lasting_bench.get(f"/api/dossiers/{TAG}/journal").json()) == before


OPERATIONS = (
    "GET /api/dossiers",
    "GET /api/dossiers/{tag}",
    "GET /api/dossiers/{tag}/journal",
    "POST /api/dossiers/{tag}/entries",
    "GET /api/dossiers/{tag}/date",
    "GET /api/dossiers/{tag}/next",
)


@pytest.fixture(scope="module")
def described(lasting_shop: Path) -> schemathesis.BaseSchema:
    """The description as a client reads it; such a client calls itself testserver."""
    return schemathesis.openapi.from_asgi(
        "/api.json", create_app(lasting_shop, hosts=("testserver",))
    )


def test_the_description_names_every_operation(described: schemathesis.BaseSchema) -> None:
    found = [one.ok().label for one in described.get_all_operations()]
    assert sorted(found) == sorted(OPERATIONS)


@pytest.mark.parametrize("label", OPERATIONS)
def test_every_answer_is_as_the_description_says(
    described: schemathesis.BaseSchema, label: str
) -> None:
    operation = next(one.ok() for one in described.get_all_operations() if one.ok().label == label)

    @given(case=operation.as_strategy())
    @settings(
        max_examples=15,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        database=None,
        derandomize=True,
    )
    def answers(case: schemathesis.Case) -> None:
        case.call_and_validate()

    answers()


@pytest.mark.parametrize(
    ("kind", "status"),
    [
        (NoSuchDossierError, 404),
        (NoSuchJobError, 404),
        (NotFoundError, 404),
        (WrittenBetweenError, 409),
        (ConflictError, 409),
        (InputError, 422),
        (IntegrityError, 500),
        (FaultError, 500),
        (SignInRefusedError, 401),
    ],
)
def test_the_class_of_an_error_alone_chooses_the_status(
    kind: type[HeelstampError], status: int
) -> None:
    assert status_of(kind("another process wrote: no such dossier", received="W-0001")) == status
