"""Next look on the bench: an order by money is offered where there is a price to order by."""

from __future__ import annotations

from starlette.testclient import TestClient

from fakes.web_shop import TAG, flat

HOME = f"/dossier/{TAG}/next-look"


def test_without_comparables_no_order_by_money_is_offered_and_a_strange_one_is_refused(
    bench: TestClient,
) -> None:
    page = bench.get(HOME, params={"whole": "1", "order": "money"})
    assert page.status_code == 200
    assert "By money" not in flat(page.text)
    assert "seller's regret" not in flat(page.text)
    assert bench.get(HOME, params={"order": "luck"}).status_code == 422
