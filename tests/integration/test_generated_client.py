"""A client made by a general tool walks the demonstration's path, and is told what is refused."""

from __future__ import annotations

import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import httpx
import pytest
from starlette.testclient import TestClient

from fakes.generated_client import ToBench, imported, make_client
from fakes.web_shop import bench_of, jpeg
from heelstamp.archive import sha256

TAG, BY = "P-0001", "examiner A"


class Walker:
    """Calls operations of the made client by their names."""

    def __init__(self, load: Any, bench: TestClient) -> None:
        self._load = load
        made = load("shop_client").Client(base_url=str(bench.base_url))
        self._client = made.set_httpx_client(
            httpx.Client(transport=ToBench(bench), base_url=str(bench.base_url))
        )
        self.models = load("shop_client.models")
        self.file = load("shop_client.types").File

    def __call__(self, group: str, name: str, *path: str, **told: Any) -> Any:
        answer = self._load(f"shop_client.api.{group}.{name}").sync_detailed(
            *path, client=self._client, **told
        )
        return answer.status_code, answer.parsed

    def act(self, name: str, **told: Any) -> Any:
        body = getattr(self.models, _model(name))(by=BY, **told)
        status, done = self("acts", f"act_{name}", TAG, body=body)
        assert status == 200, done
        return [one.kind for one in done.entries]


def _model(name: str) -> str:
    return name.title().replace("_", "") + "Act"


@pytest.fixture(scope="module")
def walker(lasting_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Walker]:
    folder = tmp_path_factory.mktemp("client")
    with bench_of(lasting_shop) as bench:
        said = make_client(bench.get("/api.json").text, folder)
        assert "WARNING" not in said, said
        with imported(folder) as load:
            yield Walker(load, bench)


def test_the_path_of_the_demonstration(walker: Walker) -> None:
    models = walker.models
    new = models.NewDossier(
        by=BY,
        tag=TAG,
        kind="guitar",
        maker="Sallowby Instrument Works",
        model="Wherry",
        chronology="sallowby-wherry",
    )
    assert walker("dossiers", "open_new", body=new)[1].kind == "instrument"
    frame = walker.file(payload=io.BytesIO(jpeg()), file_name="a.jpg", mime_type="image/jpeg")
    told = models.NewPhotograph(photo=frame, by=BY, id="f1", part="body")
    status, kept = walker("dossiers", "add_photograph", TAG, body=told)
    assert status == 201, kept
    assert kept.file == sha256(jpeg())
    seen = {"id": "o1", "part": "neck", "kind": "mark", "status": "absent"}
    body = models.EntryInBody.from_dict(seen)
    entries = models.NewEntries(
        by=BY, entries=[models.EntryIn(kind=models.EntryInKind.OBSERVATION, body=body)]
    )
    assert walker("dossiers", "enter", TAG, body=entries)[0] == 201
    finding = walker("dossiers", "date", TAG)[1]
    assert finding.completion.withheld  # of one absent mark alone no date is given, and it says so
    assert walker("dossiers", "next_inspection", TAG)[1].options
    assert walker.act("sale_owner", id="w1", role="consignor", identity="passport seen") == [
        "owner"
    ]
    said = {"party": "enquirer 1", "text": "Is the neck straight?"}
    assert walker.act("enquiries_said", id="n1", event="asked", **said) == ["enquiry"]
    packed = {"weight_g": "9000", "length_mm": "1200", "width_mm": "450", "height_mm": "200"}
    assert walker.act("shipping_packed", id="k1", route="JP", **packed) == ["packing"]
    paper = models.NewPaper(by=BY, id="p1", paper=models.NewPaperPaper.LABELS)
    status, issued = walker("dossiers", "issue_paper", TAG, body=paper)
    assert status == 201, issued
    data = walker("dossiers", "paper", TAG, issued.digest)[1].payload.read()
    assert (data[:5], sha256(data)) == (b"%PDF-", issued.digest)
    known = models.Known()
    tags = [one.tag for one in walker("dossiers", "changes", body=known)[1].changes]
    assert TAG in tags


def test_what_is_refused_is_typed(walker: Walker) -> None:
    models = walker.models
    new = {
        "by": BY,
        "kind": "guitar",
        "maker": "Sallowby Instrument Works",
        "model": "Wherry",
        "chronology": "sallowby-wherry",
    }
    assert walker("dossiers", "open_new", body=models.NewDossier(tag="Q-0001", **new))[0] == 201
    other = {**new, "model": "Skiff"}
    for told, status in ((other, 409), ({**new, "kind": "trumpet"}, 422)):
        tag = "Q-0001" if status == 409 else "Q-0002"
        answer, refused = walker("dossiers", "open_new", body=models.NewDossier(tag=tag, **told))
        assert answer == status
        assert isinstance(refused, models.Problem)
        assert refused.status == status
        assert refused.title
    answer, refused = walker("dossiers", "dossier", "NONE")
    assert (answer, type(refused)) == (404, models.Problem)
    step = models.SaleStepAct(by=BY, event="no such step")
    answer, refused = walker("acts", "act_sale_step", "Q-0001", body=step)
    assert (answer, type(refused)) == (422, models.Problem)
