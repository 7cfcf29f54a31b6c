"""Doubts of the invented guitar: as it is, with a misread heel, with an older neck, with flags."""

import math
from functools import cache

import pytest

from fakes.doubted import (
    body_marked,
    close_marks,
    doubts_afresh,
    doubts_of,
    flag,
    hero,
    misread_neck,
    older_neck,
    state_of,
    tree,
    wear,
    without_screws,
)
from fakes.wherry_examinations import dated, look, tables, wherry
from heelstamp import __version__
from heelstamp.archive import digest_of
from heelstamp.casework.dating.procedure import gather, of_sets
from heelstamp.casework.dating.translation import translate
from heelstamp.casework.doubts import DoubtFinding
from heelstamp.casework.doubts.verdicts import leaves_true
from heelstamp.casework.papers.part_section import CLAIMED, part_claims
from heelstamp.chronology import dating_model
from heelstamp.dating import central_interval, infer
from heelstamp.dating.changed_tables import assumptions
from heelstamp.reference.wear import load_wear_table
from heelstamp.shop.subjects import names_of
from heelstamp.units import format_month
from heelstamp.wording import probability_word

WORDS = ("not determined", "probably", "very probably")


@cache
def of(name: str) -> DoubtFinding:
    observations = {"hero": hero, "misread": misread_neck, "older": older_neck}[name]
    return doubts_of(observations())[2]


def test_the_hero_has_no_conflict_and_hangs_on_the_volume_pot() -> None:
    found = of("hero")
    assert found.conflicts == []
    assert found.hangs_on[0].part == "pot_volume"
    assert found.hangs_on[0].months in (1, 2, 3)
    assert [one.total_variation for one in found.hangs_on] == sorted(
        (one.total_variation for one in found.hangs_on), reverse=True
    )
    assert found.wear.unexplained == []
    assert found.agreement is None


def test_its_digest_is_that_of_finding_table_and_program() -> None:
    found, finding = of("hero"), dated(hero())
    assert found.finding == finding.digest
    assert found.digest == digest_of(
        {"finding": finding.digest, "wear": load_wear_table().digest, "program": __version__}
    )


def test_every_row_is_a_dating_of_its_own() -> None:
    """Intervals and words of two rows, worked out without the doubts."""
    observations = hero()
    found = translate(list(state_of(observations).observations.values()), wherry(), tables())
    evidence, _ = gather(found)
    model = dating_model(wherry())
    base = dated(observations).data()
    rows = {(one.assumption, one.factor): one for one in of("hero").sensitivity.rows}
    assert len(rows) == 27
    names = names_of(wherry())
    claims = part_claims(state_of(observations), tree(), names, base)
    for one in assumptions(model, evidence):
        if (one.name, one.factor) not in {("lag", 0.5), ("disturbed", 2.0)}:
            continue
        posterior = infer(one.model, one.evidence)
        span = central_interval(posterior.months[0], model.completion, 0.9)
        row = rows[one.name, one.factor]
        assert row.interval["90"] == (format_month(span.first), format_month(span.last))
        parts = {
            part.name: dict(zip(part.states, posterior.states[part.name][0].tolist(), strict=True))
            for part in model.parts
        }
        parts |= {one: parts[whole] for one, whole in of_sets(found).items()}
        fallen = set()
        for key, claim in claims.items():
            if claim.states:
                p = sum(parts[key][state] for state in claim.states)
                if WORDS.index(probability_word(p)) < WORDS.index(
                    probability_word(claim.probability)
                ):
                    fallen.add(f"part:{key}")
        assert {key for key in row.turned if key.startswith("part:")} == fallen
        assert fallen or one.name == "lag"


def test_the_word_that_holds_is_that_of_the_least_probability() -> None:
    """From ``very probably`` to ``probably`` is a fall of the printed word, and told as one."""
    found = of("hero").sensitivity
    base = dated(hero()).data()
    claims = part_claims(state_of(hero()), tree(), names_of(wherry()), base)
    seen = set()
    for key, (least, most) in found.claims.items():
        claim, turned = claims[key], found.unsettled.get(f"part:{key}")
        word, lowest = probability_word(claim.probability), probability_word(least)
        if turned is not None and turned.wider:
            wide = sum(base["parts"][key][state] for state in CLAIMED[turned.wider])
            assert least <= wide <= most
            assert set(CLAIMED[turned.wider]) > set(claim.states)
            assert turned.holds == lowest != "not determined"
            seen.add(turned.wider)
            continue
        assert least <= claim.probability <= most
        assert (turned is None) == (word == lowest)
        if turned is not None:
            assert turned.verdict == f"{word} {claim.verdict}"
            assert turned.holds == ("" if lowest == "not determined" else lowest)
            seen.add(turned.holds)
    assert {"probably", "replaced"} <= seen


def test_even_readings_move_the_range_of_the_hero_as_the_method_page_has_it() -> None:
    rows = {one.assumption: one for one in of("hero").sensitivity.rows}
    assert rows["readings"].interval["90"] == ("1965-05", "1965-10")


def test_the_range_as_printed_is_tried_too() -> None:
    found, finding = of("hero").sensitivity, dated(hero())
    assert found.date is not None
    least, most = found.date
    assert least < 0.9 < most
    ends = finding.completion.interval["90"]
    assert ends is not None
    held = sum(p for month, p in finding.completion.months.items() if ends[0] <= month <= ends[1])
    assert least <= held <= most


def test_ranges_hold_every_row_and_the_finding() -> None:
    found, finding = of("hero").sensitivity, dated(hero())
    spans = [one.interval["90"] for one in found.rows]
    assert finding.completion.interval["90"] is not None
    spans.append(finding.completion.interval["90"])
    assert found.lower == (min(a for a, _ in spans), max(a for a, _ in spans))
    assert found.upper == (min(b for _, b in spans), max(b for _, b in spans))
    for part, states in found.parts.items():
        for state, (least, most) in states.items():
            assert least - 1e-12 <= finding.parts[part][state] <= most + 1e-12


def test_what_turns_over_is_listed_with_its_changes_and_nothing_else() -> None:
    found = of("hero").sensitivity
    assert "part:frets" in found.unsettled
    assert "part:neck" not in found.unsettled
    assert "date" not in found.unsettled
    for key, one in found.unsettled.items():
        changes = {(turn.assumption, turn.factor) for turn in one.turns}
        assert changes == {(r.assumption, r.factor) for r in found.rows if key in r.turned}
        assert all(turn.verdict != one.verdict for turn in one.turns)
        assert one.holds in (("probably", "very probably") if one.wider else ("", "probably"))
    assert all(key in found.unsettled for row in found.rows for key in row.turned)


@pytest.mark.parametrize(
    ("word", "base", "stands"),
    [
        ("given", "given", True),
        ("elsewhere", "given", False),
        ("withheld", "given", False),
        ("given", "withheld", False),
        ("open", "Mar 1965", False),
        ("Aug 1965", "Mar 1965", False),
        ("Mar 1965", "open", True),
    ],
)
def test_a_date_and_a_reading_stand_by_the_same_word_or_claim_nothing(
    word: str, base: str, stands: bool
) -> None:
    assert leaves_true(word, base) is stands


def test_a_misread_heel_is_told_as_that_first() -> None:
    (conflict,) = of("misread").conflicts
    assert conflict.parts == ["neck"]
    assert "mark-neck" in conflict.observations
    assert conflict.surprise is not None
    assert conflict.surprise < 0.01
    assert conflict.first.states == {"neck": "original"}
    assert conflict.first.mistaken == ["mark-neck"]
    assert conflict.second.states["neck"] != "original"
    assert conflict.second.mistaken == []
    assert conflict.deciding[0].inspection == "mark-neck"
    assert conflict.deciding[0].again
    shares = conflict.first.share + conflict.second.share + conflict.others
    assert shares == pytest.approx(1)
    assert conflict.odds == pytest.approx(conflict.first.share / conflict.second.share)


def test_an_older_neck_comes_from_elsewhere_and_heel_seats_and_joint_decide() -> None:
    heads, conflict = of("older").conflicts
    # a neck from elsewhere was off, and two of four screws say that it was not
    assert heads.observations == ["heads-plate"]
    assert conflict.first.states == {"neck": "from_another_instrument"}
    assert conflict.first.mistaken == []
    assert conflict.second.states == {"neck": "original"}
    assert conflict.second.mistaken == conflict.observations
    assert conflict.odds > 1000
    deciding = [(one.inspection, one.again) for one in conflict.deciding[:3]]
    assert deciding[0] == ("mark-neck", True)
    assert ("seats of the neck plate screws", False) in deciding
    assert ("paint across the joint of neck and body", False) in deciding
    assert conflict.deciding[0].share > conflict.deciding[1].share > 0.01
    # the marks of body and electronics date it all the same
    first, last = conflict.first.interval["90"]
    assert "1964-06" < first < last < "1966-06"


@pytest.mark.parametrize(
    ("month", "said", "instead"),
    [("1964-01", "withheld", "given"), ("1964-03", "given", "withheld")],
)
def test_a_date_that_stands_on_one_table_turns_over(month: str, said: str, instead: str) -> None:
    found = doubts_of(without_screws(body_marked(month)))[2]
    turned = found.sensitivity.unsettled["date"]
    assert turned.verdict == said
    assert {one.verdict for one in turned.turns} == {instead}


def test_a_body_beneath_screws_that_were_never_turned_is_no_foreign_one() -> None:
    _, finding, _ = doubts_of(body_marked("1964-01"))
    assert finding.foreign_body is not None
    assert finding.foreign_body < 0.01


def test_a_body_that_may_be_foreign_is_one_of_two_accounts() -> None:
    """The share of its stories is the probability that the date finding gives."""
    for month in ("1964-01", "1965-10"):
        _, finding, found = doubts_of(without_screws(body_marked(month)))
        (conflict,) = found.conflicts
        assert conflict.parts == ["body"]
        assert conflict.observations == ["mark-body"]
        accounts = [(one.states["body"], one.mistaken) for one in (conflict.first, conflict.second)]
        foreign = ("from_another_instrument", [])
        assert sorted(accounts) == [foreign, ("original", ["mark-body"])]
        assert finding.foreign_body is not None
        told = conflict.first if accounts[0] == foreign else conflict.second
        assert told.share <= finding.foreign_body
        assert told.share == pytest.approx(finding.foreign_body, abs=conflict.others + 1e-9)


def test_wear_that_fits_and_wear_that_does_not() -> None:
    fits = doubts_of(hero(wear("neck", "moderate"), wear("body", "moderate")))[2]
    assert fits.wear.unexplained == []
    fit = {one.parts: one.fit for one in fits.wear.pairs}
    assert fit["body", "neck"] == "fits"
    assert fit["frets", "neck"] == "not seen"
    odd = doubts_of(hero(wear("neck", "none"), wear("body", "heavy")))[2]
    (one,) = odd.wear.unexplained
    assert one.parts == ["body", "neck"]
    assert one.observations == ["wear-body-1", "wear-neck-1"]
    assert one.frames == ["w-body-1", "w-neck-1"]


def test_close_agreement_is_kept_back_until_something_is_unexplained() -> None:
    alone = doubts_of(close_marks())[2]
    assert alone.agreement is None
    beside = doubts_of([*close_marks(), flag("sharp_bare_wood")])[2]
    assert beside.agreement is not None
    assert beside.agreement.spread == 0
    assert set(beside.agreement.parts) >= {"bridge", "guard", "neck"}
    assert 0 < beside.agreement.at_most <= 0.05
    loose = doubts_of(hero(flag("sharp_bare_wood")))[2]
    assert loose.wear.unexplained
    assert loose.agreement is None


def test_nothing_seen_has_nothing_to_hang_on_and_nothing_that_turns() -> None:
    found = doubts_of([look("o", "neck", "mark", "not looked")])[2]
    assert found.conflicts == []
    assert found.hangs_on == []
    assert found.sensitivity.unsettled == {}


def test_it_is_the_same_twice_and_plain() -> None:
    again = doubts_afresh(hero())[2]
    assert again == of("hero")
    data = again.data()
    assert data["digest"] == again.digest
    assert math.isfinite(sum(row["factor"] for row in data["sensitivity"]["rows"]))
