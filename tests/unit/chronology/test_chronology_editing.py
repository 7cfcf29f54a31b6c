import copy

import pytest

from heelstamp.chronology.editing import (
    next_edition,
    pairs_of,
    with_change,
    with_row,
    with_table,
    without_row,
)
from heelstamp.errors import ConflictError, InputError

DOCUMENT = {
    "edition": "1",
    "feature": [
        {
            "id": "f1",
            "change": [
                {
                    "first_new": "1960-01",
                    "last_old": "1960-06",
                    "width": 2.0,
                    "learned": {"from": 9},
                }
            ],
        },
        {"id": "p1", "passing": {"first": "1959-05", "last": "1959-12", "share": 0.35}},
    ],
    "serial": {"knot": [{"prefix": "", "number": 1, "month": "1953-01"}], "spread_months": 4},
    "batch": [{"parts": ["a", "b"], "share": 0.5}],
}


def test_an_edit_leaves_the_old_document_as_it_was() -> None:
    before = copy.deepcopy(DOCUMENT)
    new = with_change(DOCUMENT, "f1", 0, {"last_old": "1961-01", "width": None})
    without_row(DOCUMENT, "batch", 0)
    with_row(DOCUMENT, "serial.knot", 0, {"number": 7})
    with_table(DOCUMENT, "serial", {"spread_months": 5})
    assert before == DOCUMENT
    change = new["feature"][0]["change"][0]
    assert change == {"first_new": "1960-01", "last_old": "1961-01", "learned": {"from": 9}}


def test_a_batch_is_the_one_change_of_its_feature() -> None:
    new = with_change(DOCUMENT, "p1", 0, {"share": 0.4})
    assert new["feature"][1]["passing"] == {"first": "1959-05", "last": "1959-12", "share": 0.4}
    with pytest.raises(ConflictError):
        with_change(DOCUMENT, "p1", 1, {"share": 0.4})


def test_rows_are_added_set_and_taken_out() -> None:
    knot = {"prefix": "S", "number": 9, "month": "1962-01"}
    added = with_row(DOCUMENT, "serial.knot", None, knot)
    assert added["serial"]["knot"][1] == knot
    assert with_row(added, "exception", None, {"text": "x"})["exception"] == [{"text": "x"}]
    assert "batch" not in without_row(DOCUMENT, "batch", 0)
    assert without_row(DOCUMENT, "serial.knot", 0)["serial"]["knot"] == []


@pytest.mark.parametrize("place", [-1, 1, 99])
def test_a_row_that_is_not_there_is_a_conflict(place: int) -> None:
    with pytest.raises(ConflictError, match="no such row"):
        with_row(DOCUMENT, "batch", place, {"share": 0.1})
    with pytest.raises(ConflictError, match="no such row"):
        without_row(DOCUMENT, "batch", place)


def test_a_table_that_is_not_there_is_refused() -> None:
    bare = {"edition": "1"}
    with pytest.raises(InputError, match="no table serial"):
        with_row(bare, "serial.knot", None, {})
    with pytest.raises(InputError, match="no table serial"):
        with_table(bare, "serial", {})
    with pytest.raises(InputError, match="no such feature"):
        with_change(bare, "f1", 0, {})


def test_runs_of_numbers() -> None:
    assert pairs_of("6210-6289; 7000 – 7009,") == [[6210, 6289], [7000, 7009]]
    assert pairs_of(" ") == []
    for wrong in ("9-3", "a-b", "5", "1-2-3", "-1-4"):
        with pytest.raises(InputError, match="not a run of numbers"):
            pairs_of(wrong)


def test_editions_of_one_day_never_meet() -> None:
    name, seen = "2026-11", set()
    for _ in range(12):
        name = next_edition(name, "2026-11-25")
        assert name not in seen
        seen.add(name)
    assert next_edition(name, "2026-11-26") == "2026-11-26"
