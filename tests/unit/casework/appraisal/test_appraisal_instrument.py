"""What an instrument may be, the mixture over it, and what certainty is worth in money."""

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from heelstamp.casework.appraisal.consignment import parse_terms
from heelstamp.casework.appraisal.figure import open_money
from heelstamp.casework.appraisal.instrument import Given, given_by, shares_of
from heelstamp.casework.appraisal.market import EFFECTS
from heelstamp.casework.appraisal.procedure import (
    Fitted,
    Request,
    Sources,
    fit_instrument,
    price_instrument,
)
from heelstamp.casework.appraisal.sales_table import comparables_from
from heelstamp.casework.inspections import plan_inspections
from heelstamp.catalogue import parse_body
from heelstamp.dating import CompiledModel, infer
from heelstamp.errors import InputError
from heelstamp.reference.demonstration import demo_sales, demo_terms
from heelstamp.reference.market import consumer_index, load_market
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.reference.tables import mark_context
from heelstamp.shop.opened import load_subject
from heelstamp.shop.prices import money_gain
from heelstamp.shop.subjects import Subject
from heelstamp.units import parse_month
from heelstamp.valuation.money import Money

ROOT = Path(__file__).parents[4]
AS_OF = parse_month("2026-11")
GIVEN = Given(grade=1.0, colour="standard", case=True)


@cache
def subject(name: str) -> Subject:
    return load_subject(str(ROOT / "examples" / name), ROOT)


@cache
def sources() -> Sources:
    return Sources(
        subject("wherry-s10350.toml").chronology,
        mark_context(),
        comparables_from(demo_sales()),
        load_market(),
        consumer_index(),
    )


def fitted(name: str = "wherry-s10350.toml", **changes: Any) -> Fitted:
    request = Request(**{"given": GIVEN, "as_of": AS_OF, "currency": "USD", **changes})
    return fit_instrument(subject(name).state, sources(), request)


def test_probabilities_of_states_are_those_of_the_dating() -> None:
    from heelstamp.shop.subjects import date_subject

    finding = date_subject(subject("wherry-s10350.toml"))
    may_be = fitted().may_be
    assert may_be.probabilities.sum() == pytest.approx(1)
    assert set(may_be.states) == {"finish", "neck", "pickup_neck", "pickup_bridge"}
    for part, states in may_be.states.items():
        for state, p in finding.parts[part].items():
            own = sum(
                q for one, q in zip(states, may_be.probabilities, strict=True) if one == state
            )
            assert own == pytest.approx(p, abs=0.01), (part, state)


def test_joint_states_are_not_taken_as_independent() -> None:
    # both pickups share the history of the electronics: replaced together more often than apart
    may_be = fitted("outside-only.toml").may_be
    first, second = may_be.states["pickup_neck"], may_be.states["pickup_bridge"]
    p = may_be.probabilities
    one = sum(q for a, q in zip(first, p, strict=True) if a != "original")
    other = sum(q for b, q in zip(second, p, strict=True) if b != "original")
    both = sum(q for a, b, q in zip(first, second, p, strict=True) if "original" not in {a, b})
    assert both > 1.3 * one * other


def test_the_mixture_is_wider_and_lower_than_taking_everything_as_first() -> None:
    found = fitted()
    layout = found.priced.layout
    sure: dict[str, float | None] = dict.fromkeys(
        (
            "touched_up",
            "refinished",
            "recent_refinish",
            "pickup",
            "neck_later",
            "neck_not_seen",
            "no_case",
            "rare_colour",
        ),
        0.0,
    )
    from heelstamp.valuation.predictive import predict

    row = layout.row({**sure, "grade": 1.0}, (1965, 1965))
    certain = predict(found.priced.fit, row)
    assert found.whole.quantile(0.5) < certain.quantile(0.5)
    assert found.whole.sd > 1.05 * certain.sd


def test_an_unlooked_neck_lowers_the_price_and_says_so() -> None:
    request = Request(given=GIVEN, as_of=AS_OF, currency="USD")
    labels = {part.key: part.label for part in subject("outside-only.toml").tree}
    outside = price_instrument(
        subject("outside-only.toml").state, sources(), request, labels=labels
    )
    (one,) = outside.without_inspection
    assert one.examined is False
    assert any(text.startswith("Not examined: the date of the neck") for text in outside.sentences)
    assert fitted("outside-only.toml").unseen == ("neck_not_seen",)
    assert fitted().unseen == ()


def said(*bodies: tuple[str, dict[str, Any]]) -> Any:
    state, others = subject("wherry-s10350.toml").state, {}
    for number, (kind, body) in enumerate(bodies):
        read = parse_body(kind, {"id": f"e{number}", "reason": "seen", **body})
        others.setdefault(type(read), {})[f"e{number}"] = read
    return given_by(replace(state, others=others), load_market())


def test_what_the_record_decides() -> None:
    assert said() == Given()
    found = said(
        ("grade", {"grade": "D"}),
        ("grade", {"grade": "B"}),
        ("grade", {"grade": "E", "aspect": "frets"}),
        ("colour", {"colour": "rare"}),
        ("case_included", {"included": False}),
        ("changed_parts", {"count": 2}),
    )
    assert (found.grade, found.colour, found.case, found.others) == (1.0, "rare", False, 2)


def test_aspects_make_the_grade_when_there_is_no_whole_one() -> None:
    aspects = [
        ("grade", {"grade": "C", "aspect": "frets"}),
        ("grade", {"grade": "A", "aspect": "case"}),
    ]
    assert said(*aspects).grade == 1.0


def test_shares_of_states() -> None:
    market = load_market()
    assert shares_of(market, "finish", "recent_refinish") == {
        "refinished": 1.0,
        "recent_refinish": 1.0,
    }
    assert shares_of(market, "neck", "original") == {}
    assert shares_of(market, "pickup", "later_replacement") == {"pickup": 1.0}


def test_the_money_figure_is_the_spread_of_the_middle_price() -> None:
    # of the enumerated parts alone: those that bear lightly are no rows
    from msgspec.structs import replace as changed

    market = load_market()
    heavy = [row for row in market.state if row.effect not in ("other_part", "no_case")]
    one = subject("wherry-s10350.toml")
    found = fit_instrument(
        one.state,
        replace(sources(), market=changed(market, state=heavy)),
        Request(given=GIVEN, as_of=AS_OF, currency="USD"),
    )
    from heelstamp.casework.dating.procedure import gather
    from heelstamp.casework.dating.translation import translate_dossier
    from heelstamp.chronology import dating_model

    compiled = CompiledModel(dating_model(one.chronology))
    evidence, _ = gather(translate_dossier(one.state, one.chronology, mark_context()))
    infer(compiled, evidence)
    money = open_money(found.priced, found.middle, found.unseen)
    (spread,) = money.figure(compiled, [evidence])
    mean = found.priced.fit.coefficients()[0]
    logs = found.may_be.rows @ mean
    p = found.may_be.probabilities
    direct = found.middle * float(np.sqrt(p @ (logs - p @ logs) ** 2))
    # the enumeration leaves out states of less than one in two thousand
    assert spread == pytest.approx(direct, rel=0.04)
    hidden = open_money(found.priced, found.middle, ("neck_not_seen",))
    (with_mark,) = hidden.figure(compiled, [evidence])
    assert with_mark == pytest.approx(spread)  # the neck's mark is among the evidence
    (without,) = hidden.figure(compiled, [()])
    (bare,) = money.figure(compiled, [()])
    assert without - bare == pytest.approx(found.middle * 0.064, rel=0.05)


def test_without_a_shop_no_money_is_weighed() -> None:
    assert money_gain(None, subject("outside-only.toml")) is None


def test_the_next_inspection_knows_what_it_is_worth_in_money() -> None:
    found = fitted("outside-only.toml")
    one = subject("outside-only.toml")
    money = open_money(found.priced, found.middle, found.unseen)
    plan = plan_inspections(
        one.state,
        one.tree,
        one.chronology,
        mark_context(),
        table=load_stop_table(),
        value=money,
        draws=8,
    )
    gains = {option.inspection: option.gain.money for option in plan.options}
    assert all(gain is not None for gain in gains.values())
    # the neck takes the discount for an unlooked date away, besides what it tells
    assert gains["open:neck"] > 0.5 * found.middle * 0.06
    told = " ".join(text for option in plan.options for text in option.reasons)
    assert "USD" in told


def test_the_schedule_of_a_finding_runs_from_the_first_offer_to_the_floor() -> None:
    import tomllib

    terms = parse_terms(tomllib.loads(demo_terms()), where="consignment.toml")
    request = Request(given=GIVEN, as_of=AS_OF, currency="USD", terms=terms)
    one = subject("wherry-s10350.toml")
    found = price_instrument(one.state, sources(), request, labels={})
    assert found.schedule[0] == ("the day of the first offer", "9,900 USD")
    assert found.schedule[1][0] == "30 days after the first offer"
    assert found.schedule[-1][1] == "8,200 USD"
    assert found.settlement.basis == ", the middle of the market, not a price anyone has paid"


def test_the_statement_of_an_offer_below_the_reserve() -> None:
    import tomllib

    terms = parse_terms(tomllib.loads(demo_terms()), where="consignment.toml")
    settled, word = terms.offer(Money.parse("8,000", "USD"))
    assert word.startswith("below the reserve of 8,200 USD")
    assert settled.net == Money.parse("6167", "USD")  # 8,000 - 1,100 - 420 - 313
    assert terms.offer(Money.parse("9,100", "USD"))[1] == "at or above reserve and floor"


def asked_for(rows: list[Any], name: str = "wherry-s10350.toml") -> Any:
    one = subject(name)
    others = Sources(one.chronology, mark_context(), rows, load_market(), consumer_index())
    request = Request(given=Given(), as_of=AS_OF, currency="USD")
    return price_instrument(one.state, others, request, labels={})


def test_rows_with_any_id_are_told_and_asking_prices_alone_say_so() -> None:
    from msgspec.structs import replace as changed

    rows = list(sources().rows)
    rows[3] = changed(rows[3], id="one of the best, guaranteed", minor=rows[3].minor * 6)
    told = asked_for(rows)
    assert told.comparables.outliers[0].id == "one of the best, guaranteed"
    assert any("Comparable […], […]" in text for text in told.cautions)
    alone = asked_for([changed(one, kind="asking") for one in rows])
    assert any("only believed" in text for text in alone.cautions)
    assert "from 0 sales and 24 asking prices" in alone.sentences[0]
    assert not any("only believed" in text for text in told.cautions)


def test_three_comparables_give_a_wide_range_and_the_reason() -> None:
    found = asked_for(list(sources().rows[:3]))
    low, high = found.market.interval_90
    assert high / low > 2
    assert any(text.startswith("Only 3 comparables: the range is wide") for text in found.cautions)
    five = asked_for(list(sources().rows[:5])).cautions
    assert any("5 comparables are few" in text for text in five)
    with pytest.raises(InputError, match="too few"):
        asked_for(list(sources().rows[:2]))


def with_seen(*seen: dict[str, Any]) -> Any:
    """The demonstration's state with observations added."""
    state = subject("wherry-s10350.toml").state
    more = {
        f"n{number}": parse_body("observation", {"id": f"n{number}", **one})
        for number, one in enumerate(seen)
    }
    return replace(state, observations={**state.observations, **more})


ALTERED = [
    ("body", "routing", "cut_later", "routed", 0.70, 0.05),
    ("neck", "break", "repaired", "repaired_break", 0.61, 0.05),
    ("frets", "fret_work", "refretted", "refretted", 0.93, 0.02),
    ("bridge", "other_model", "of_another_model", "other_model_part", 0.94, 0.02),
]


@pytest.mark.parametrize("row", ALTERED, ids=lambda row: row[3])
def test_an_alteration_found_is_priced_without_another_entry(
    row: tuple[str, str, str, str, float, float],
) -> None:
    part, sign, outcome, effect, ratio, close = row
    # ratios: exp of the stated priors, -.35, -.50, -.07, -.06; common practice, no source
    market = load_market()
    look = {"part": part, "kind": "sign", "sign": sign}
    medians = []
    for more in ({"status": "absent"}, {"status": "read", "outcome": outcome}):
        state = with_seen({**look, **more})
        given = replace(GIVEN, altered=given_by(state, market).altered)
        found = fit_instrument(state, sources(), Request(given, AS_OF, "USD"))
        medians.append(found.middle)
        amount = found.may_be.mean_row[1 + EFFECTS.index(effect)]
        assert amount == pytest.approx(1.0 if "outcome" in more else 0.0)
    assert medians[1] / medians[0] == pytest.approx(ratio, abs=close)
    assert given_by(with_seen({**look, "status": "not looked"}), market).altered == {}


def test_a_tuner_found_exchanged_is_charged_once_and_a_clear_one_is_not() -> None:
    state = subject("outside-only.toml").state
    place = 1 + EFFECTS.index("other_part")

    def amount(likelihoods: dict[str, float]) -> float:
        seen = parse_body(
            "observation",
            {
                "id": "look",
                "part": "bridge",
                "kind": "sign",
                "status": "read",
                "sign": "own look",
                "likelihoods": likelihoods,
            },
        )
        told = replace(state, observations={**state.observations, "look": seen})
        found = fit_instrument(told, sources(), Request(GIVEN, AS_OF, "USD"))
        return float(found.may_be.mean_row[place])

    exchanged = amount({"original": 0.001, "later_replacement": 1.0})
    clear = amount({"original": 1.0, "later_replacement": 0.001})
    assert 0.9 < exchanged - clear < 1.2
    assert clear < 0.1


def test_unsold_offers_and_pieces_asked_and_sold_are_told_apart() -> None:
    from msgspec.structs import replace as changed

    rows = list(sources().rows)
    rows[0] = changed(rows[0], kind="unsold", minor=rows[0].minor * 5 // 4)
    rows[1] = changed(rows[1], kind="asking", piece="the red one")
    rows[2] = changed(rows[2], kind="sold", piece="the red one")
    found = asked_for(rows)
    assert found.comparables.unsold == 1
    assert "1 offer that found no buyer" in found.sentences[0]
    assert any(text.startswith("1 offer found no buyer") for text in found.sentences)
    assert (rows[1].id, f"the same piece was sold: {rows[2].id}") in found.comparables.left_out


def test_the_insured_value_covers_the_upper_part_of_replacement_prices() -> None:
    found = asked_for(list(sources().rows))
    asked = fitted(given=Given())
    rows = asked.may_be.rows.copy()
    rows[:, 1 + EFFECTS.index("asking")] = 1.0
    from heelstamp.valuation.predictive import predict

    spread = predict(asked.priced.fit, rows, asked.may_be.probabilities)
    below = spread.below(float(np.log(found.insured)))
    step = spread.below(float(np.log(found.insured - 500)))
    assert step < 0.75 <= below
    assert "75 %" in found.insured_value.basis
    assert "Nov 2026" in found.insured_value.basis


def test_a_small_effect_beside_far_middles_is_explained() -> None:
    found = asked_for(list(sources().rows), "outside-only.toml")
    told = [text for text in found.sentences if "both figures say the same" in text]
    coat = next(one for one in found.uncertainties if one.part == "finish")
    gap = coat.medians["original"][0] - coat.medians["old_refinish"][0]
    assert any(f"about {gap:,.0f} USD apart" in text for text in told)
    assert len(told) == len(set(told))


def test_a_bass_has_one_pickup_and_is_priced_the_same_way(tmp_path: Path) -> None:
    bass = tmp_path / "bass.toml"
    bass.write_text(
        'schema = "heelstamp/examination/1"\n[instrument]\nkind = "bass"\n'
        'maker = "Sallowby Instrument Works"\nmodel = "Lockkeeper"\n'
        'chronology = "sallowby-lockkeeper"\n',
        "utf-8",
    )
    one = load_subject(str(bass), ROOT)
    market = load_market()
    found = fit_instrument(
        one.state,
        Sources(one.chronology, mark_context(), sources().rows, market, consumer_index()),
        Request(given=Given(), as_of=AS_OF, currency="USD"),
    )
    assert set(found.may_be.states) == {"finish", "neck", "pickup"}
    assert found.unseen == ("neck_not_seen",)
    assert found.dated is False
