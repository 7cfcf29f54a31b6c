"""Census rows: evidence kept as a line, conclusions equal to a dating, and how rows differ."""

import json

import msgspec
import numpy as np
import pytest

from fakes.wherry_census import document, edition, tables, wherry_rows
from fakes.wherry_examinations import observed, state_of
from heelstamp.casework.census.conclusions import Concluder, movement, movement_data
from heelstamp.casework.census.evidence_text import EvidenceReader, numbers_of
from heelstamp.casework.census.redating import WORST, Earlier, Redated, Redater, step_names, step_of
from heelstamp.casework.census.rows import (
    CensusRow,
    Conclusion,
    how_dated_by,
    make_row,
    reading_digest,
    row_from_dossier,
    with_present_reading,
)
from heelstamp.casework.dating import date_instrument
from heelstamp.casework.dating.procedure import gather
from heelstamp.casework.dating.translation import translate
from heelstamp.catalogue import DossierState
from heelstamp.chronology import parse_chronology
from heelstamp.errors import ConflictError, InputError

HEROES = ("wherry-s10350", "outside-only")


def hero(name: str) -> DossierState:
    return state_of(observed(name))


def hero_row(name: str = HEROES[0]) -> CensusRow:
    return row_from_dossier(hero(name), edition(), tables(), tag="H-0001", while_open=True)


@pytest.mark.parametrize("name", HEROES)
def test_evidence_comes_back_as_it_was_translated(name: str) -> None:
    found = translate(list(hero(name).observations.values()), edition(), tables())
    evidence, _ = EvidenceReader(edition()).read(hero_row(name).evidence)
    assert evidence == gather(found)[0]


@pytest.mark.parametrize("name", HEROES)
def test_a_conclusion_is_that_of_the_dating(name: str) -> None:
    finding = date_instrument(hero(name), edition(), tables())
    (one,) = Concluder(edition()).conclude([hero_row(name).evidence])
    assert one.median == finding.completion.median
    assert one.interval == dict(finding.completion.interval)
    assert one.withheld is (finding.completion.withheld is not None)
    assert (one.edition, one.digest) == (edition().edition, edition().digest)
    assert one.verdicts.get("body", "assumed") == "assumed"
    assert all(part in finding.parts for part in one.verdicts)


def test_verdicts_are_those_of_the_papers() -> None:
    from heelstamp.casework.papers.part_section import part_section
    from heelstamp.reference.parts_trees import load_parts_tree
    from heelstamp.shop.subjects import names_of

    state = hero(HEROES[0])
    finding = date_instrument(state, edition(), tables())
    rows, _ = part_section(state, load_parts_tree("guitar"), names_of(edition()), finding.data())
    (one,) = Concluder(edition()).conclude([hero_row().evidence])
    printed = {row.key: f"{row.word} {row.verdict}".strip() for row in rows}
    compared = [part for part in one.verdicts if part in printed]
    assert len(compared) > 8
    assert {part: one.verdicts[part] for part in compared} == {
        part: printed[part] for part in compared
    }


def test_verdicts_of_many_are_those_of_one() -> None:
    """The short way for parts first fitted beyond doubt comes to the same words."""
    from fakes.departing_world import draw_world
    from fakes.short_form import short_chronology
    from heelstamp.casework.census.evidence_text import Line
    from heelstamp.wording import probability_word
    from heelstamp.wording.about_parts import part_verdict

    concluder = Concluder(short_chronology())
    rows = [one.seen for one in draw_world(concluder.compiled.model, 8, 200)]
    posterior, _ = concluder.date(rows)
    told = set()
    for part in ("neck", "leads", "tuners", "pot_volume"):
        names = concluder.compiled.model.part(part).states
        for place in range(200):
            p = posterior.states[part][place]
            verdict, share = part_verdict(dict(zip(names, p, strict=True)), examined=True)
            word = "" if verdict == "not determined" else f"{probability_word(share)} "
            assert concluder._verdict(part, p, Line([], [])) == f"{word}{verdict}"
            told.add(verdict)
    assert len(told) > 3


def test_a_date_is_withheld_as_in_a_dating() -> None:
    from fakes.departing_world import draw_world
    from fakes.short_form import short_chronology

    concluder = Concluder(short_chronology())
    model = concluder.compiled.model
    drawn = draw_world(model, 21, 300)
    from heelstamp.dating import judge_identity
    from heelstamp.dating.identity import foreign_bodies, foreign_hypothesis

    rows = [one.seen for one in drawn]
    posterior, withheld = concluder.date(rows)
    prior = short_chronology().prior.foreign_body
    for place in range(0, 300, 10):
        own = posterior.part(slice(place, place + 1))
        alone = judge_identity(concluder.compiled, rows[place], own, prior)
        assert bool(alone.withheld) == bool(withheld[place])
    from heelstamp.dating.identity import foreign_bodies_of
    from heelstamp.dating.posterior import log_evidence_many
    from heelstamp.dating.table import encode

    rival = foreign_hypothesis(concluder.compiled)
    assert rival is not None
    table = encode(concluder.compiled, rows)
    short = foreign_bodies_of(concluder.compiled, table, posterior, prior)
    long = foreign_bodies(posterior, log_evidence_many(rival, rows), prior)
    assert short == pytest.approx(long, abs=1e-12)
    assert long.max() > 0.1
    assert 0 < withheld.sum() < 150
    (nothing,) = concluder.conclude(['{"e":[],"x":[]}'])
    assert nothing.withheld
    assert nothing.median is None


def test_how_a_dossier_was_dated_follows_from_what_was_used() -> None:
    assert hero_row().how_dated == "marks"
    assert hero_row("outside-only").how_dated == "feature only"
    paper = {
        "id": "p",
        "part": "case",
        "kind": "document",
        "status": "read",
        "link": "names serial",
        "not_after": "1965-12",
    }
    state = state_of([*observed("outside-only"), paper])
    found = translate(list(state.observations.values()), edition(), tables())
    assert how_dated_by(found) == "documents"
    assert not hero_row("outside-only").teaches


def test_a_dossier_is_added_when_its_instrument_has_left() -> None:
    from dataclasses import replace

    here = replace(hero(HEROES[0]), custody_state="on the bench")
    with pytest.raises(ConflictError, match="not closed"):
        row_from_dossier(here, edition(), tables(), tag="H-0001")
    gone = replace(here, custody_state="with the buyer")
    assert row_from_dossier(gone, edition(), tables(), tag="H-0001").id == "H-0001"


def test_a_row_says_how_it_was_dated_in_known_words() -> None:
    with pytest.raises(InputError, match="no such way of dating"):
        make_row("1", "by ear", [], edition(), tables())


def test_rows_are_read_anew_only_when_the_ways_of_reading_change() -> None:
    row = wherry_rows()[17]
    moved = document()
    for one in moved["feature"]:
        for change in one.get("change", []):
            change["width"] = 3.0
    moved["serial"]["spread_months"] = 6
    assert reading_digest(parse_chronology(moved, name="x")) == row.read_as
    reread = document()
    reread["writing"] = [one for one in reread["writing"] if one["part"] != "neck"]
    other = parse_chronology(reread, name="x")
    present = reading_digest(other)
    assert present != row.read_as
    again = with_present_reading(row, other, tables(), present)
    assert again.read_as == present
    assert '"m","neck"' not in again.evidence.replace(" ", "")
    assert '"m","neck"' in row.evidence.replace(" ", "")
    assert again.observations == row.observations
    assert with_present_reading(row, edition(), tables(), row.read_as) is row


def test_a_serial_number_follows_the_curve_of_the_edition() -> None:
    line = hero_row().evidence
    later = document()
    for knot in later["serial"]["knot"]:
        if knot["prefix"] == "S":
            knot["month"] = f"{int(knot['month'][:4]) + 1}{knot['month'][4:]}"
    later["production"]["last"] = "1970-06"
    before, told = EvidenceReader(edition()).read(line)
    after, _ = EvidenceReader(parse_chronology(later, name="x")).read(line)
    assert numbers_of(told) == [("S10350", 1.0)]
    assert before != after
    months = [
        one.months[0][0] for side in (before, after) for one in side if hasattr(one, "months")
    ]
    assert months[1] - months[0] == 12


def conclusion(**changes: object) -> Conclusion:
    fields: dict[str, object] = {
        "median": "1965-06",
        "interval": {"50": ("1965-05", "1965-07"), "90": ("1965-03", "1965-09")},
        "verdicts": {"neck": "very probably original"},
    }
    return msgspec.convert({**fields, **changes}, Conclusion)


def test_movements() -> None:
    same = movement("a", conclusion(), conclusion(edition="other"))
    assert not same.moved
    later = conclusion(
        median="1965-08", interval={"50": ("1965-05", "1965-07"), "90": ("1965-02", "1965-12")}
    )
    one = movement("a", conclusion(), later)
    assert (one.median, one.ends, one.half) == (2, (-1, 3), (0, 0))
    assert one.size == (0, 3, 0)
    turned = movement("a", conclusion(), conclusion(verdicts={"neck": "probably original"}))
    assert turned.turned == {"neck": ("very probably original", "probably original")}
    assert turned.moved
    gone = movement("a", conclusion(), conclusion(median=None, interval={}, withheld=True))
    assert (gone.withheld, gone.median) == ("withheld", None)
    back = movement("a", conclusion(median=None, interval={}, withheld=True), conclusion())
    assert back.withheld == "given"
    assert gone.size > one.size
    json.dumps(movement_data(one))


def test_classes_of_movement() -> None:
    assert step_names() == ["0", "1", "2-3", "4-6", "7-12", "13-24", "over 24"]
    assert [step_of(one) for one in (0, -1, 3, 4, -12, 24, 25)] == [
        "0",
        "1",
        "2-3",
        "4-6",
        "7-12",
        "13-24",
        "over 24",
    ]


def earlier(keep_conclusions: bool = True) -> list[Earlier]:
    lines = [row.evidence for row in wherry_rows()]
    made = Concluder(edition()).conclude(lines)
    texts = [msgspec.json.encode(one).decode() if keep_conclusions else None for one in made]
    return [
        Earlier(row.id, row.evidence, text) for row, text in zip(wherry_rows(), texts, strict=True)
    ]


def test_the_same_edition_moves_nothing() -> None:
    result = Redater(edition()).batch(earlier())
    assert (result.count, result.moved, result.worst) == (30, 0, [])
    assert result.median["0"] == result.ends["0"] == 30 - result.withheld


def test_without_a_kept_conclusion_the_earlier_edition_speaks() -> None:
    silent = Redater(edition()).batch(earlier(keep_conclusions=False))
    assert (silent.count, silent.first) == (0, 30)
    asked = Redater(edition(), edition()).batch(earlier(keep_conclusions=False))
    assert (asked.count, asked.first, asked.moved) == (30, 0, 0)


def test_another_edition_moves_some_and_batches_add_up() -> None:
    moved = document()
    moved["edition"] = "moved"
    for row in moved["feature"]:
        for change in row.get("change", []):
            change["width"] = 8.0
    redater = Redater(parse_chronology(moved, name="x"))
    whole = redater.batch(earlier(), keep=True)
    assert whole.moved > 5
    assert len(whole.worst) <= WORST
    sizes = [one.size for one in whole.worst]
    assert sizes == sorted(sizes, reverse=True)
    parts = Redated()
    for begin in range(0, 30, 7):
        parts.add(redater.batch(earlier()[begin : begin + 7]))
    assert parts.data() == whole.data()
    assert set(whole.conclusions) == {row.id for row in wherry_rows()}
    again = [Earlier(one.id, one.evidence, whole.conclusions[one.id]) for one in earlier()]
    assert redater.batch(again).moved == 0
    assert sum(whole.median.values()) + whole.withheld + whole.given <= 30
    assert np.sum(list(whole.ends.values())) == np.sum(list(whole.median.values()))
