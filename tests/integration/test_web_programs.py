"""A program walks the whole job by the API: dossier, entries, photograph, date, papers, changes."""

from __future__ import annotations

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from starlette.testclient import TestClient

from fakes.commands import type_command
from fakes.shared_shop import SharedShop
from fakes.web_shop import TAG, bench_of, jpeg
from heelstamp.archive import sha256
from heelstamp.shop import open_shop
from heelstamp.shop.answers import KeptAnswers

NEW = {
    "by": "examiner A",
    "tag": "P-0001",
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
}
SEEN = {"id": "o1", "part": "neck", "kind": "mark", "status": "absent"}
KEY = {"idempotency-key": '"8e03978e-40d5-43dd-bc93-6894a57f9324"'}


@pytest.fixture(scope="module")
def program(lasting_shop: Path) -> Iterator[TestClient]:
    with bench_of(lasting_shop) as client:
        yield client


def entries(*bodies: dict[str, Any]) -> dict[str, Any]:
    return {"by": "examiner A", "entries": [{"kind": "observation", "body": one} for one in bodies]}


def test_the_whole_job(program: TestClient, lasting_shop: Path) -> None:
    made = program.post("/api/dossiers", json=NEW)
    assert (made.status_code, made.headers["location"]) == (201, "/api/dossiers/P-0001")
    home = made.headers["location"]
    assert program.post("/api/dossiers", json=NEW).json() == made.json()
    other = program.post("/api/dossiers", json={**NEW, "model": "Skiff"})
    assert (other.status_code, other.headers["content-type"]) == (409, "application/problem+json")
    frame, told = jpeg(), {"by": "examiner A", "id": "f1", "part": "body"}
    for _ in range(2):
        kept = program.post(f"{home}/photographs", data=told, files={"photo": ("b.jpg", frame)})
        assert (kept.status_code, kept.json()["file"]) == (201, sha256(frame))
    shown = program.get(f"{home}/photographs/f1", params={"wide": 100})
    assert shown.headers["content-type"] == "image/jpeg"
    assert program.post(f"{home}/entries", json=entries(SEEN)).status_code == 201
    assert program.get(f"{home}/date").json()["said"]["date"]
    asked = {"by": "examiner A", "id": "issue-1", "paper": "report", "reader": "buyer"}
    paper = program.post(f"{home}/papers", json=asked)
    assert paper.status_code == 201, paper.text
    assert program.post(f"{home}/papers", json=asked).json() == paper.json()
    sent = program.get(paper.json()["address"])
    assert (sent.content[:5], sha256(sent.content)) == (b"%PDF-", paper.json()["digest"])
    assert [one["reader"] for one in program.get(f"{home}/papers").json()] == ["buyer"]
    no_price = program.get(f"{home}/price")
    assert (no_price.status_code, no_price.json()["title"]) == (409, "no comparables to price from")
    sales = (Path(__file__).parents[2] / "examples/wherry-sales.csv").resolve()
    words = ("sales", "import", sales, "--as", "sallowby-wherry", "--shop", lasting_shop)
    assert type_command(*words, cwd=lasting_shop).code == 0
    price, told_of = program.get(f"{home}/price").json(), program.get("/api.json").json()
    place = {"$ref": "#/components/schemas/PriceFinding"}
    jsonschema.validate(price, {**place, "components": told_of["components"]})
    assert price["market"]["interval_90"][0] < price["market"]["median"]
    nobody = program.post(f"{home}/papers", json={**asked, "id": "x", "reader": None})
    assert (nobody.status_code, nobody.json()["where"]) == (422, "reader")
    with open_shop(lasting_shop) as shop:
        kinds = [one["kind"] for one in program.get(f"{home}/journal").json()]
        assert len(shop.journals.lines("P-0001")) == len(kinds)
    assert kinds[:3] == ["instrument", "photograph", "observation"]


def test_the_list_names_its_next_page(program: TestClient) -> None:
    for number in range(2, 5):
        assert program.post("/api/dossiers", json={**NEW, "tag": f"P-000{number}"}).is_success
    seen: list[str] = []
    address = "/api/dossiers?count=2"
    while address:
        answer = program.get(address)
        seen += [one["tag"] for one in answer.json()["dossiers"]]
        address = answer.links.get("next", {}).get("url", "")
    assert len(seen) == len(set(seen)) == answer.json()["found"] >= 4


def test_changes_since_a_digest(program: TestClient) -> None:
    """A program that asks until there is no more holds the journals as the shop does."""
    program.post("/api/dossiers", json={**NEW, "tag": "C-0001"})
    known: dict[str, str] = {}
    held: dict[str, list[dict[str, Any]]] = {}

    def follow() -> int:
        rounds = 0
        more = True
        while more:
            told = program.post("/api/changes", json={"known": known, "count": 2}).json()
            for one in told["changes"]:
                held.setdefault(one["tag"], []).extend(one["entries"])
                known[one["tag"]] = one["head"]
            more, rounds = told["more"], rounds + 1
        return rounds

    follow()
    program.post(
        "/api/dossiers/C-0001/entries", json=entries(*({**SEEN, "id": f"c{n}"} for n in range(5)))
    )
    assert follow() >= 3
    assert program.post("/api/changes", json={"known": known}).json() == {
        "changes": [],
        "more": False,
    }
    for tag, mine in held.items():
        assert mine == program.get(f"/api/dossiers/{tag}/journal").json()
    journal = held["C-0001"]
    since = program.get("/api/dossiers/C-0001/journal", params={"since": journal[1]["digest"]})
    assert since.json() == journal[2:]
    wrong = program.post("/api/changes", json={"known": {"C-0001": "0" * 64}})
    assert (wrong.status_code, wrong.json()["title"]) == (
        409,
        "no entry of this dossier has this digest",
    )


def test_a_reader_that_asks_for_changes_sees_no_sum(shared: SharedShop) -> None:
    owner = shared.signed_in("examiner A")
    told = {"about": "insured value", "decided": "7331 USD", "id": "d-insured"}
    assert owner.post(f"/dossier/{TAG}/money/valued", data=told).status_code == 303
    for name, sees in (("examiner A", True), ("a reader", False)):
        answer = shared.signed_in(name).post("/api/changes", json={})
        assert answer.status_code == 200
        assert ("7331" in answer.text) == sees


# --- The same key --------------------------------------------------------------------------------


def test_the_same_key_does_it_once_and_answers_alike(program: TestClient) -> None:
    home = "/api/dossiers/K-0001"
    first = program.post("/api/dossiers", json={**NEW, "tag": "K-0001"}, headers=KEY)
    again = program.post("/api/dossiers", json={**NEW, "tag": "K-0001"}, headers=KEY)
    assert (again.status_code, again.content) == (201, first.content)
    assert again.headers["location"] == first.headers["location"]
    other = program.post("/api/dossiers", json={**NEW, "tag": "K-0002"}, headers=KEY)
    assert (other.status_code, other.json()["where"]) == (422, "Idempotency-Key")
    assert program.get("/api/dossiers/K-0002").status_code == 404
    key = {"idempotency-key": "plain"}
    told = program.post(f"{home}/entries", json=entries(SEEN), headers=key)
    assert len(told.json()) == 1
    assert program.post(f"{home}/entries", json=entries(SEEN)).json() == []
    assert program.post(f"{home}/entries", json=entries(SEEN), headers=key).json() == told.json()


def test_a_photograph_sent_again_is_the_same_whatever_its_boundary(program: TestClient) -> None:
    program.post("/api/dossiers", json={**NEW, "tag": "K-0003"})
    parts = {"data": {"by": "examiner A", "id": "f1"}, "files": {"photo": ("b.jpg", jpeg())}}
    sent = [
        program.post("/api/dossiers/K-0003/photographs", headers={"idempotency-key": "p"}, **parts)
        for _ in range(2)
    ]
    assert sent[0].request.headers["content-type"] != sent[1].request.headers["content-type"]
    assert [one.status_code for one in sent] == [201, 201]


def test_a_refusal_frees_its_key(program: TestClient) -> None:
    key = {"idempotency-key": "refused"}
    bad = {**SEEN, "part": "engine", "id": "o7"}
    home = "/api/dossiers/K-0004"
    program.post("/api/dossiers", json={**NEW, "tag": "K-0004"})
    assert program.post(f"{home}/entries", json=entries(bad), headers=key).status_code == 422
    good = program.post(f"{home}/entries", json=entries({**SEEN, "id": "o7"}), headers=key)
    assert good.status_code == 201


@pytest.mark.parametrize("key", ["", " ", '""', "a" * 300, "with space", "ü".encode()])
def test_what_is_no_key(program: TestClient, key: str | bytes) -> None:
    answer = program.post("/api/dossiers", json=NEW, headers={"idempotency-key": key})
    assert (answer.status_code, answer.json()["where"]) == (422, "Idempotency-Key")


def test_keys_are_an_accounts_own_and_one_at_a_time(lasting_shop: Path) -> None:
    answers = KeptAnswers(lasting_shop)
    assert answers.begin("a", "k", "1" * 64) is None
    assert answers.begin("b", "k", "2" * 64) is None
    with ThreadPoolExecutor(4) as workers:
        waits = list(workers.map(lambda _: _refused(answers), range(4)))
    assert waits == ["what this key was sent with is still worked on"] * 4
    answers.let_go("a", "k")
    assert answers.begin("a", "k", "3" * 64) is None
    answers.close()


def _refused(answers: KeptAnswers) -> str:
    from heelstamp.errors import ConflictError

    with pytest.raises(ConflictError) as caught:
        answers.begin("a", "k", "1" * 64)
    return caught.value.what


def test_the_page_for_programs_names_every_address(program: TestClient) -> None:
    page = program.get("/api").text
    for path, operations in program.get("/api.json").json()["paths"].items():
        for method in operations:
            assert f"{method.upper()} {path}" in page


def test_what_the_guard_refuses_is_a_problem_too(program: TestClient) -> None:
    foreign = program.post("/api/dossiers", json=NEW, headers={"origin": "https://other.example"})
    assert (foreign.status_code, foreign.json()["type"]) == (
        403,
        "urn:heelstamp:problem:not-permitted",
    )
    large = program.post("/api/dossiers", content=b" " * 1_000_001)
    assert (large.status_code, large.headers["content-type"]) == (413, "application/problem+json")
    none = program.get("/api/nothing")
    assert (none.status_code, none.headers["content-type"]) == (404, "application/problem+json")
