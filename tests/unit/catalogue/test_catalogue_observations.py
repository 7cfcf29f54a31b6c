"""Observations: the four facts besides 'read', and every contradiction named."""

from typing import Any

import pytest

from heelstamp.catalogue import STATUSES, Observation, parse_body
from heelstamp.errors import InputError
from heelstamp.units import Period

READ: dict[str, dict[str, Any]] = {
    "mark": {"text": "65/0?", "readings": [{"period": "1965-03", "weight": 0.75}]},
    "feature": {"feature": "f10", "variant": "laminate"},
    "serial": {"text": "S10350"},
    "sign": {"sign": "joint", "outcome": "undisturbed"},
    "document": {"not_before": "1988-01", "reliability": 0.9, "link": "unrelated"},
}
SUBJECT = {"feature": {"feature": "f10"}, "sign": {"sign": "joint"}}


def observe(kind: str, status: str = "read", **content: Any) -> Observation:
    data = {"id": "o3", "part": "neck", "kind": kind, "status": status, **content}
    body = parse_body("observation", data, where='observation 3 (id "o3")')
    assert isinstance(body, Observation)
    return body


@pytest.mark.parametrize("kind", READ)
def test_every_kind_can_be_read(kind: str) -> None:
    assert observe(kind, **READ[kind]).is_read


@pytest.mark.parametrize("kind", READ)
@pytest.mark.parametrize("status", STATUSES[1:])
def test_every_kind_can_be_one_of_the_four_other_facts(kind: str, status: str) -> None:
    seen = observe(kind, status, **SUBJECT.get(kind, {}))
    assert seen.status == status
    assert not seen.is_read


@pytest.mark.parametrize("kind", READ)
@pytest.mark.parametrize("status", STATUSES[1:])
def test_a_status_that_denies_the_content_is_refused(kind: str, status: str) -> None:
    with pytest.raises(InputError) as caught:
        observe(kind, status, **READ[kind])
    assert caught.value.where == 'observation 3 (id "o3"), field status'
    assert f'status "{status}" contradicts' in caught.value.what
    assert caught.value.received == status
    assert caught.value.remedy


@pytest.mark.parametrize("kind", READ)
def test_read_without_anything_read_is_refused(kind: str) -> None:
    with pytest.raises(InputError, match='field status: status "read" without anything read'):
        observe(kind, **SUBJECT.get(kind, {}))


@pytest.mark.parametrize(("kind", "missing"), [("feature", "feature"), ("sign", "sign")])
def test_what_was_looked_for_is_named_even_when_not_looked(kind: str, missing: str) -> None:
    with pytest.raises(InputError, match=f"field {missing}: .* does not say which {missing}"):
        observe(kind, "not looked")


@pytest.mark.parametrize(
    ("kind", "content", "message"),
    [
        ("mark", {"text": "x", "variant": "y"}, "field variant: a mark observation has no such"),
        ("serial", {"text": "S1", "lot": "a"}, "field lot: a serial observation has no such"),
        ("mark", {"readings": [{"weight": 1}]}, r"readings\[0\]: a reading of a mark is a period"),
        (
            "serial",
            {"readings": [{"weight": 1, "period": "1965-03"}]},
            r"readings\[0\]: a reading of a serial is a text",
        ),
        (
            "mark",
            {"readings": [{"weight": 0.5, "period": "1965-03"}, {"weight": 0.5, "period": "65"}]},
            r"readings\[1\]\.period: not a month \(received: 65\)",
        ),
        ("mark", {"readings": [{"weight": 1, "period": "1965-13"}]}, "a year has no such month"),
        (
            "mark",
            {"readings": [{"weight": 1, "period": ["1965-08", "1965-03"]}]},
            "a period ends before it begins",
        ),
        ("mark", {"readings": [{"weight": 0, "period": "1965-03"}]}, r"readings\[0\]\.weight"),
        ("mark", {"readings": [{"weight": 1.5, "period": "1965-03"}]}, "<= 1.0"),
        (
            "mark",
            {"reader": "source-date", "readings": [{"weight": 1, "period": "1965-03"}]},
            "field reader: a reader needs a text",
        ),
        ("sign", {"sign": "j", "outcome": "a", "likelihoods": {"original": 1}}, "both an outcome"),
        ("sign", {"sign": "j", "likelihoods": {"original": 0}}, "nothing can be true"),
        ("sign", {"sign": "j", "likelihoods": {"original": 2}}, "field likelihoods"),
        ("document", {"not_before": "1988-00"}, "field not_before: a year has no such month"),
        ("document", {"not_before": "1988-02", "not_after": "1988-01"}, "lies before not_before"),
        ("document", {"not_before": "1988-02", "reliability": 1.1}, "field reliability"),
        ("document", {"not_before": "1988-02", "link": "mine"}, "names serial, same period"),
    ],
)
def test_content_that_cannot_be_is_refused(kind: str, content: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        observe(kind, **content)


def test_an_unknown_status_lists_the_five_and_guesses() -> None:
    with pytest.raises(InputError) as caught:
        observe("mark", "not lookd", text="x")
    assert "read, not looked, absent, illegible, not applicable" in caught.value.remedy
    assert 'Did you mean "not looked"?' in caught.value.remedy


def test_a_lot_says_nothing_of_legibility() -> None:
    assert observe("mark", "illegible", lot="carton 1").lot == "carton 1"


def test_a_reading_gives_its_months() -> None:
    seen = observe("mark", readings=[{"period": ["1965-03", "1965-08"], "weight": 0.25}])
    assert seen.readings[0].months == Period.parse(["1965-03", "1965-08"])


def test_the_subject_is_what_was_looked_for() -> None:
    assert observe("feature", **READ["feature"]).subject == "f10"
    assert observe("serial", **READ["serial"]).subject == "serial"
