"""The JSON face: the same casework, described by OpenAPI and held to its own description."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import schemathesis
from hypothesis import HealthCheck, given, settings
from schemathesis.specs.openapi.checks import positive_data_acceptance
from starlette.testclient import TestClient

from fakes.shared_shop import NAMES_OF_ROLES, opened, shared_of
from heelstamp.casework.dossier import NoSuchDossierError, entries_of
from heelstamp.casework.ports import WrittenBetweenError
from heelstamp.errors import (
    ConflictError,
    HeelstampError,
    InputError,
    IntegrityError,
    NotFoundError,
    StorageError,
)
from heelstamp.shop import open_shop
from heelstamp.shop.jobs import FaultError, NoSuchJobError
from heelstamp.shop.programs import issue_token
from heelstamp.shop.sharing import SignInRefusedError
from heelstamp.web import create_app
from heelstamp.web.permits import ACTS
from heelstamp.web.problems import status_of

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
    with open_shop(lasting_shop) as shop:
        assert [one["digest"] for one in journal] == [one.digest for one in entries_of(shop, TAG)]
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
    "POST /api/dossiers",
    "GET /api/dossiers/{tag}",
    "GET /api/dossiers/{tag}/journal",
    "POST /api/dossiers/{tag}/entries",
    "GET /api/dossiers/{tag}/date",
    "GET /api/dossiers/{tag}/next",
    "GET /api/dossiers/{tag}/price",
    "POST /api/dossiers/{tag}/photographs",
    "GET /api/dossiers/{tag}/photographs/{frame}",
    "GET /api/dossiers/{tag}/papers",
    "POST /api/dossiers/{tag}/papers",
    "GET /api/dossiers/{tag}/papers/{digest}",
    "GET /api/dossiers/{tag}/packs/{reader}",
    "GET /api/dossiers/{tag}/recordings/{recording}",
    "GET /api/work/{key}",
    "POST /api/changes",
)


@pytest.fixture(scope="module")
def described(lasting_shop: Path) -> schemathesis.BaseSchema:
    """The description as a client reads it; such a client calls itself testserver."""
    return schemathesis.openapi.from_asgi(
        "/api.json", create_app(lasting_shop, hosts=("testserver",))
    )


@pytest.fixture(scope="module")
def by_role(
    new_shared: Path, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[tuple[schemathesis.BaseSchema, dict[str, str]]]:
    """The description of a shared shop, and a token of each role that may all it may."""
    folder = shutil.copytree(new_shared, tmp_path_factory.mktemp("roles") / "shop")
    shared = shared_of(folder, hosts=("testserver",))
    with opened(shared):
        tokens = {
            role: issue_token(shared.sharing, name, "x", ("enter", "sums"), 90)[0]
            for role, name in NAMES_OF_ROLES.items()
        }
        with TestClient(shared.app, base_url="https://testserver") as client:
            headers = {"authorization": f"Bearer {tokens['reader']}"}
            told = client.get("/api.json", headers=headers).json()
            schema = schemathesis.openapi.from_dict(told)
            schema.app = shared.app
            yield schema, tokens


def test_the_description_names_every_operation(described: schemathesis.BaseSchema) -> None:
    found = [one.ok().label for one in described.get_all_operations()]
    assert sorted(one for one in found if ACTS not in one) == sorted(OPERATIONS)


def held(operation: schemathesis.APIOperation, examples: int, **sent: Any) -> None:
    """Ask what the description allows, and compare each answer with it."""

    @given(case=operation.as_strategy())
    @settings(
        max_examples=examples,
        deadline=None,
        suppress_health_check=list(HealthCheck),
        database=None,
        derandomize=True,
    )
    def answers(case: schemathesis.Case) -> None:
        if "tag" in case.path_parameters:  # half of them are about the dossier that there is
            case.path_parameters["tag"] = TAG if len(str(case.path_parameters)) % 2 else "W-0009"
        # what a schema allows may still not be of the trade: a part that no guitar has
        case.call_and_validate(excluded_checks=[positive_data_acceptance], **sent)

    answers()


@pytest.mark.parametrize("label", OPERATIONS)
def test_every_answer_is_as_the_description_says(
    described: schemathesis.BaseSchema, label: str
) -> None:
    operation = next(one.ok() for one in described.get_all_operations() if one.ok().label == label)
    held(operation, 12)


def test_every_act_is_answered_as_the_description_says(described: schemathesis.BaseSchema) -> None:
    for one in described.get_all_operations():
        if ACTS in one.ok().label:
            held(one.ok(), 1)


@pytest.mark.parametrize("role", sorted(NAMES_OF_ROLES))
def test_every_role_is_answered_as_the_description_says(
    by_role: tuple[schemathesis.BaseSchema, dict[str, str]], role: str
) -> None:
    schema, tokens = by_role
    for one in schema.get_all_operations():
        if ACTS in one.ok().label:
            continue  # they take the rights of their pages: test_acts_by_programs.py
        headers = {"authorization": f"Bearer {tokens[role]}"}
        held(one.ok(), 4, headers=headers, base_url="https://testserver")


def test_every_refusal_is_one_component(lasting_bench: TestClient) -> None:
    told = lasting_bench.get("/api.json").json()
    place = {"$ref": "#/components/schemas/Problem"}
    for operations in told["paths"].values():
        for one in operations.values():
            refusals = {key: value for key, value in one["responses"].items() if key > "399"}
            assert {"401", "403", "404", "409", "422", "503"} <= set(refusals)
            for value in refusals.values():
                assert value["content"] == {"application/problem+json": {"schema": place}}
            for key, value in one["responses"].items():
                if key < "300":
                    assert all(value["content"].values()), "untyped"


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
        (StorageError, 503),
        (FaultError, 500),
        (SignInRefusedError, 401),
    ],
)
def test_the_class_of_an_error_alone_chooses_the_status(
    kind: type[HeelstampError], status: int
) -> None:
    assert status_of(kind("another process wrote: no such dossier", received="W-0001")) == status
