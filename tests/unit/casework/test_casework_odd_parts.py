"""One odd among six: found, and held against the census. Rates against statsmodels' Wilson."""

from __future__ import annotations

import pytest
from statsmodels.stats.proportion import proportion_confint

from heelstamp.casework.census.rows import CensusRow, Conclusion
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.casework.odd_parts import (
    ALIKE,
    ONE,
    SIGN,
    base_rate,
    materiality,
    odd_sets,
    sign_entries,
)
from heelstamp.catalogue import DossierState, Folding, PartsTree
from heelstamp.errors import InputError
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.market import load_market
from heelstamp.units import Period, parse_month

KNOWN = load_chronology("sallowby-wherry")
STAMP = EntryStamp("o1", "", "2026-11-02T09:00:00Z")
PERIOD = Period(parse_month("1965-03"), parse_month("1965-09"))


def dossier(tree: PartsTree, *, metals: tuple[str, ...] = (), tuners: str = "ppprpp"):  # type: ignore[no-untyped-def]
    folding = Folding(tree)
    body = {"kind": "guitar", "maker": "S", "model": "W", "chronology": KNOWN.id}
    folding.add("instrument", body, where="i")
    covers = {"p": "plain cover", "r": "ribbed cover"}
    for number, one in enumerate(tuners, start=1):
        seen = {
            "id": f"g6-{number}",
            "part": f"tuner_{number}",
            "kind": "feature",
            "status": "read",
            "feature": "g6",
            "variant": covers[one],
        }
        folding.add("observation", seen, where=f"o{number}")
    for number, metal in enumerate(metals, start=1):
        screw = {
            "id": f"s{number}",
            "part": "guard",
            "opening": "guard",
            "number": number,
            "x": 0.1,
            "y": 0.1,
            "head": "oval",
            "metal": metal,
        }
        folding.add("screw", screw, where=f"s{number}")
    return folding.state


def row(number: int, month: str, tuners: str, **sign: str) -> CensusRow:
    covers = {"p": "plain cover", "r": "ribbed cover"}
    seen = [
        {"part": f"tuner_{k}", "feature": "g6", "status": "read", "variant": covers[one]}
        for k, one in enumerate(tuners, start=1)
    ]
    seen += [
        {"part": part, "sign": SIGN, "status": "read", "outcome": outcome}
        for part, outcome in sign.items()
    ]
    return CensusRow(
        id=f"c{number}",
        chronology=KNOWN.id,
        how_dated="marks",
        observations=seen,
        evidence="",
        read_as="",
        conclusion=Conclusion(median=month, interval={}, verdicts={}),
    )


@pytest.fixture
def guitar_state(guitar: PartsTree) -> DossierState:
    return dossier(guitar, metals=("plain steel",) * 5 + ("nickel plated",))


def test_one_plated_screw_among_five_others_and_one_ribbed_tuner_are_found(
    guitar_state: DossierState, guitar: PartsTree
) -> None:
    sets = {one.key: one for one in odd_sets(guitar_state, guitar, KNOWN)}
    assert sets["screws.guard"].odd == (("screw 6", "nickel plated, oval"),)
    assert sets["screws.guard"].outcome == ONE
    assert sets["screws.guard"].usual == "plain steel, oval"
    (name, like) = sets["feature.g6"].odd[0]
    assert "4" in name
    assert like == "ribbed cover"
    alike = odd_sets(dossier(guitar, tuners="pppppp"), guitar, KNOWN)
    assert [one.outcome for one in alike] == [ALIKE]
    assert odd_sets(dossier(guitar, tuners="pr"), guitar, KNOWN) == ()


def test_the_rate_is_that_of_the_period_with_wilsons_interval(
    guitar_state: DossierState, guitar: PartsTree
) -> None:
    tuners = next(one for one in odd_sets(guitar_state, guitar, KNOWN) if one.key == "feature.g6")
    rows = [row(k, "1965-06", "pppppp") for k in range(14)]
    rows += [row(20 + k, "1966-02", "pprppp") for k in range(3)]
    rows += [row(40 + k, "1957-01", "rppppp") for k in range(5)]  # of another time
    rows += [row(60, "1965-06", "pp")]  # not looked over
    found = base_rate(rows, tuners, KNOWN, PERIOD)
    assert (found.odd, found.of) == (3, 17)
    low, high = proportion_confint(3, 17, alpha=0.1, method="wilson")
    assert (found.low, found.high) == pytest.approx((low, high), abs=1e-9)
    assert base_rate(rows, tuners, KNOWN, None).of == 22
    nothing = base_rate([], tuners, KNOWN, PERIOD)
    assert (nothing.of, nothing.low, nothing.high) == (0, 0.0, 1.0)


def test_screws_count_in_the_census_by_what_was_entered_of_them(
    guitar_state: DossierState, guitar: PartsTree
) -> None:
    sets = odd_sets(guitar_state, guitar, KNOWN)
    screws = next(one for one in sets if one.key == "screws.guard")
    rows = [row(1, "1965-06", "", guard=ALIKE), row(2, "1965-07", "", guard=ONE)]
    rows += [row(3, "1965-07", "pppppp")]
    found = base_rate(rows, screws, KNOWN, PERIOD)
    assert (found.odd, found.of) == (1, 2)
    (kind, body) = sign_entries(guitar_state, STAMP, sets, "screws.guard")[0]
    assert kind == "observation"
    assert body["outcome"] == ONE
    assert "screw 6: nickel plated" in str(body["note"])
    with pytest.raises(InputError, match="no such set"):
        sign_entries(guitar_state, STAMP, sets, "screws.neck")


def test_materiality_follows_the_price_model() -> None:
    market = load_market()
    words = {materiality(part, market) for part in ("tuners", "guard", "neck", "plate_screws")}
    assert words <= {"high", "low", "none"}
    assert materiality("neck", market) == "high"
    assert materiality("plate_screws", market) == "low"
    assert materiality("nothing of it", market) == "none"
