"""The shop's own record: counted as a general library counts, and silent while small."""

from typing import Any

import numpy as np
import pytest
from statsmodels.stats.proportion import proportion_confint

from fakes.hero_stages import bare
from heelstamp.casework.own_record import LEAST_CASES, OwnRecord, Stated, own_record
from heelstamp.casework.papers.own_record_section import own_record_section
from heelstamp.catalogue import DossierState, parse_body
from heelstamp.errors import InputError
from heelstamp.units import Period

SAID = {
    "digest": "a" * 64,
    "completion": {"interval": {"50": ("1965-06", "1965-08"), "90": ("1965-04", "1965-09")}},
    "parts": {"neck": {"original": 0.97}, "guard": {"original": 0.4}},
}


def part(id_: str, stated: float, original: bool, about: str = "part:neck") -> tuple[str, Any]:
    body = {"id": id_, "about": about, "source": "a bill", "original": original, "stated": stated}
    return "later_known", body


def date(id_: str, *months: str) -> tuple[str, Any]:
    known = Period.parse(list(months))
    return tuple(Stated(SAID).entry(id_, "date", source="a ledger", months=known))  # type: ignore[return-value]


def many(cases: list[tuple[float, bool]]) -> list[DossierState]:
    return [bare(part("k", p, happened)) for p, happened in cases]


def drawn(count: int = 60) -> list[tuple[float, bool]]:
    rng = np.random.default_rng(20261201)
    ps = rng.choice([0.02, 0.1, 0.5, 0.85, 0.97], size=count)
    return [(float(p), bool(rng.random() < p)) for p in ps]


def test_scores_and_intervals_are_those_of_a_general_library() -> None:
    """Wilson of statsmodels; the score by its definition (G. W. Brier, 1950)."""
    cases = drawn()
    found = own_record(many(cases))
    p = np.array([one for one, _ in cases])
    happened = np.array([one for _, one in cases])
    assert found.brier == pytest.approx(float(np.mean((p - happened) ** 2)))
    share = happened.mean()
    assert found.brier_of_share == pytest.approx(float(np.mean((share - happened) ** 2)))
    assert sum(band.cases for band in found.bands) == len(cases)
    for band in found.bands:
        low, high = proportion_confint(band.original, band.cases, alpha=0.1, method="wilson")
        assert (band.low, band.high) == pytest.approx((low, high), abs=1e-9)
        inside = [(q, o) for q, o in cases if abs(q - band.stated) < 1e-9]
        assert len(inside) == band.cases
        assert sum(o for _, o in inside) == band.original


@pytest.mark.parametrize(
    ("p", "words"),
    [
        (0.0, "very probably not original"),
        (0.05, "very probably not original"),
        (0.0501, "probably not original"),
        (0.2, "probably not original"),
        (0.21, "not determined"),
        (0.7999, "not determined"),
        (0.8, "probably original"),
        (0.95, "very probably original"),
        (1.0, "very probably original"),
    ],
)
def test_a_probability_falls_into_the_band_of_its_word(p: float, words: str) -> None:
    (band,) = own_record(many([(p, True)])).bands
    assert band.words == words


def test_of_one_matter_the_last_that_became_known_counts() -> None:
    state = bare(part("a", 0.9, True), part("b", 0.9, False), part("c", 0.3, True, "part:guard"))
    found = own_record([state, bare()])
    assert (found.parts, found.instruments, found.dates) == (2, 1, 0)
    assert [(band.words, band.original) for band in found.bands] == [
        ("not determined", 1),
        ("probably original", 0),
    ]


def test_a_range_holds_a_date_that_lies_in_it_whole() -> None:
    states = [
        bare(date("d", "1965-07", "1965-07")),
        bare(date("d", "1965-05", "1965-09")),
        bare(date("d", "1965-09", "1965-12")),
    ]
    found = own_record(states)
    assert [(one.level, one.held, one.cases) for one in found.ranges] == [(0.5, 1, 3), (0.9, 2, 3)]


def test_the_entry_keeps_what_had_been_said() -> None:
    kind, body = Stated(SAID).entry("k1", "part:guard", source="a photograph", original=False)
    assert kind == "later_known"
    assert body["stated"] == 0.4
    assert body["finding"] == "a" * 64
    parse_body(kind, body)
    _, of_date = date("d1", "1965-06", "1965-06")
    assert of_date["nine_tenths"] == ["1965-04", "1965-09"]
    parse_body("later_known", of_date)


@pytest.mark.parametrize(
    ("about", "given"),
    [
        ("part:neck", {}),
        ("part:neck", {"months": Period.parse("1965-06")}),
        ("part:badge", {"original": True}),
        ("neck", {"original": True}),
        ("date", {"original": True}),
        ("date", {}),
    ],
)
def test_what_does_not_fit_is_refused(about: str, given: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        Stated(SAID).entry("k", about, source="x", **given)


def test_a_date_that_was_withheld_had_no_range_to_hold() -> None:
    withheld = {**SAID, "completion": {"interval": {"50": None, "90": None}}}
    with pytest.raises(InputError, match="nothing was said"):
        Stated(withheld).entry("k", "date", source="x", months=Period.parse("1965-06"))


@pytest.mark.parametrize(
    "body",
    [
        {"about": "date", "original": True, "stated": 0.4},
        {"about": "part:neck", "original": True},
        {"about": "part:neck", "months": ["1965-01", "1965-02"]},
        {
            "about": "date",
            "months": ["1965-03", "1965-02"],
            "half": ["1965-01", "1965-02"],
            "nine_tenths": ["1965-01", "1965-02"],
        },
    ],
)
def test_a_body_that_contradicts_itself_is_refused(body: dict[str, Any]) -> None:
    with pytest.raises(InputError):
        parse_body("later_known", {"id": "k", "source": "x", **body})


def test_few_cases_are_told_as_few_and_no_paper_tells_of_them() -> None:
    few, enough = (own_record(many(drawn(count))) for count in (LEAST_CASES - 1, LEAST_CASES))
    assert (few.stands, enough.stands) == (False, True)
    assert own_record_section(few).statements[0].template == "own record small"
    section = own_record_section(enough)
    assert [one.template for one in section.statements] == [
        "own record of parts",
        "own record limits",
    ]
    assert len(section.rows) == len(enough.bands)
    nothing = own_record([])
    assert isinstance(nothing, OwnRecord)
    assert own_record_section(nothing).rows == ()
