"""Other shops, without a browser: keys entered, files taken and handed out, tables joined."""

import html
import re
import shutil
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from fakes.shared_shop import SharedShop
from fakes.web_shop import bench_of
from fakes.wherry_shops import WHERRY, shop_of
from heelstamp.shop.federation import give
from heelstamp.shop.known_shops import known_shops
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.signing import key_of

HOME = f"/maker/{WHERRY}/shops"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A shop with its census, and what another handed out."""
    root = tmp_path_factory.mktemp("shops")
    shop_of(root / "here", "Here")
    with OpenShop(shop_of(root / "lock", "Lock")) as lock:
        (root / "key").write_text(key_of(lock).fingerprint)
        (root / "lock.json").write_bytes(give(lock, WHERRY, gathered="all that came in").data)
    return root


@pytest.fixture
def bench(made: Path, tmp_path: Path) -> Any:
    with bench_of(shutil.copytree(made / "here", tmp_path / "shop")) as client:
        yield client


def words(answer: Any) -> str:
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html.unescape(answer.text)))


def know(bench: TestClient, made: Path, called: str = "the lock") -> Any:
    return bench.post(f"{HOME}/know", data={"key": (made / "key").read_text(), "called": called})


def take(bench: TestClient, *files: tuple[str, bytes]) -> Any:
    return bench.post(
        f"{HOME}/take", files=[("files", (name, data, "application/json")) for name, data in files]
    )


def test_tables_are_taken_joined_accepted_and_forgotten(bench: TestClient, made: Path) -> None:
    data = (made / "lock.json").read_bytes()
    refused = take(bench, ("lock.json", data))
    assert refused.status_code == 422
    assert "signed by nobody who is known here" in words(refused)
    assert "the lock is known by its key" in words(know(bench, made))
    some = take(bench, ("lock.json", data), ("odd.json", b"{}"))
    assert some.status_code == 422
    assert "taken from the lock: 16 change-overs" in words(some)
    assert "odd.json: not a signed file of another shop" in words(some)
    assert "16 change-overs, from all that came in, dated by marks" in words(bench.get(HOME))
    learned = bench.post(f"{HOME}/join", data={"edition": "together"})
    told = words(learned)
    assert "What the shops taught" in told
    assert "this shop's census and the tables of 1 other" in told
    assert "the lock 16 fits the others" in told
    key = str(learned.url).rsplit("/", 1)[1]
    again = bench.post(f"/maker/{WHERRY}/redate", data={"learned": key})
    assert again.status_code == 200
    accepted = bench.post(f"/maker/{WHERRY}/accept", data={"key": key})
    assert "edition together, learned" in words(accepted)
    assert "no longer known" in words(
        bench.post(f"{HOME}/forget", data={"key": (made / "key").read_text()})
    )
    alone = bench.post(f"{HOME}/join", data={})
    assert "No other shop's tables of this maker are here" in words(alone)


def test_tables_are_handed_out_with_what_can_be_guessed(bench: TestClient) -> None:
    page = words(bench.get(HOME))
    assert "Months of single instruments can be guessed" in page
    assert "No tables were handed out yet" in page
    file = bench.post(f"{HOME}/give", data={"gathered": "only what was sold"})
    assert file.headers["content-disposition"].endswith('"sallowby-wherry-tables-1.json"')
    assert file.json()["content"]["gathered"] == "only what was sold"
    assert "Tables were handed out before" in words(bench.get(HOME))
    assert bench.post(f"{HOME}/give", data={"gathered": "the best"}).status_code == 422


def test_a_sum_is_entered_and_needs_others(bench: TestClient) -> None:
    entry = bench.post(f"{HOME}/sum/enter", data={"sum": "spring"})
    assert entry.json()["content"]["sum"] == "spring"
    files = [("files", ("a.json", entry.content, "application/json"))]
    told = {"sum": "spring", "shops": "5"}
    alone = bench.post(f"{HOME}/sum/mask", data=told, files=files)
    assert alone.status_code == 422
    assert "0 of 4 entries of other shops are here" in words(alone)
    added = bench.post(f"{HOME}/sum/add", data={"sum": "spring"}, files=files)
    assert "masked nothing in this sum" in words(added)
    assert bench.post(f"{HOME}/sum/enter", data={"sum": "../x"}).status_code == 422


def test_a_key_with_markup_in_its_name_is_shown_as_text(bench: TestClient, made: Path) -> None:
    know(bench, made, "<b>lock</b>")
    assert "<b>lock</b>" not in bench.get(HOME).text
    assert "&lt;b&gt;lock" in bench.get(HOME).text
    assert bench.post(f"{HOME}/know", data={"key": "12", "called": "x"}).status_code == 422
    assert bench.get("/maker/nobody/shops").status_code == 404


def test_owners_alone_see_other_shops(shared: SharedShop) -> None:
    for name, code in (("examiner A", 200), ("examiner B", 403), ("a reader", 403)):
        assert shared.signed_in(name).get(HOME).status_code == code


def test_the_maker_leads_there(bench: TestClient) -> None:
    assert f'href="{HOME}"' in bench.get(f"/maker/{WHERRY}").text
    assert known_shops(bench.app.state.shop) == {}  # type: ignore[attr-defined]
