"""The section of doubts, and *not settled* wherever a paper says what turns over."""

from dataclasses import replace
from functools import cache

import pytest

from fakes.doubted import (
    body_marked,
    close_marks,
    doubts_of,
    flag,
    hero,
    misread_neck,
    older_neck,
    told,
    tree,
    wear,
    without_screws,
)
from fakes.wherry_examinations import Body, look, wherry
from heelstamp.casework.feature_names import heading
from heelstamp.casework.papers.document import READERS, ReportDocument, texts
from heelstamp.casework.papers.examination_report import Issue, examination_report
from heelstamp.report.payload import payload
from heelstamp.shop.subjects import names_of
from heelstamp.wording import find_banned
from heelstamp.wording.about_unsettled import assumption_words

ISSUE = Issue("Heelstamp 0.1.0", "2026-11-04", demonstration=True)
EVERYTHING = {
    "hero": hero,
    "misread": misread_neck,
    "older": older_neck,
    "close": close_marks,
    "flags": lambda: [
        *close_marks(),
        flag("sharp_bare_wood"),
        flag("mark_too_crisp", "neck"),
        wear("body", "heavy"),
        wear("neck", "none"),
        wear("guard", "light"),
    ],
    "foreign": lambda: body_marked("1959-03"),
    "withheld": lambda: without_screws(body_marked("1964-01")),
    "turning": lambda: without_screws(body_marked("1964-03")),
    "open": lambda: hero(without=("g6-tuner-4",)),
    "nothing": lambda: [look("o", "neck", "mark", "not looked")],
}
CHANGED = 27
"""Changed tables; one that a dossier has no use for (no screws, no reading in question) is none."""


@cache
def case(name: str):
    state, finding, doubts = doubts_of(EVERYTHING[name]())
    return state, finding.data(), doubts.data()


def paper(name: str, reader: str = "shop", doubts: bool = True) -> ReportDocument:
    state, finding, found = case(name)
    return examination_report(
        state,
        tree(),
        finding,
        reader=reader,  # type: ignore[arg-type]
        issue=ISSUE,
        names=names_of(wherry()),
        doubts=found if doubts else None,
    )


def text_of(name: str) -> str:
    return "\n".join(one.text for one in paper(name).doubts)


@pytest.mark.parametrize("name", EVERYTHING)
@pytest.mark.parametrize("reader", READERS)
def test_no_text_holds_a_banned_word(name: str, reader: str) -> None:
    everything = list(texts(paper(name, reader)))
    assert [text for text in everything if find_banned(text)] == []
    doubted = "\n".join(one.text for one in paper(name, reader).doubts).lower()
    for word in ("fake", "someone", "artificial", "intent", "suspicio", "honest", "deliberate"):
        assert word not in doubted


@pytest.mark.parametrize("name", EVERYTHING)
def test_every_sentence_stands_on_something_and_names_its_frames(name: str) -> None:
    document = paper(name)
    frames = {picture.frame for picture in document.pictures}
    for one in document.doubts:
        assert one.rests_on or one.not_examined
        assert set(one.frames) <= frames
        assert "{" not in one.text
    tried = case(name)[2]["sensitivity"]["rows"]
    assert len(document.changes) == len(tried)
    assert 20 <= len(tried) <= CHANGED
    assert all(row.change and row.span and row.middle for row in document.changes)


def test_the_hero_has_no_conflict_and_the_volume_pot_is_named() -> None:
    text = text_of("hero")
    assert "no two parts exclude each other" in text
    assert "The date hangs most on the volume pot" in text
    assert "Two accounts" not in text
    assert "Unexplained" not in text


def test_without_doubts_nothing_of_the_report_changes() -> None:
    before, after = paper("hero", doubts=False), paper("hero")
    assert before.doubts == ()
    assert before.changes == ()
    assert before.inferred == after.inferred
    assert before.headline == after.headline
    assert after.headline_note.startswith(before.headline_note)
    assert "With any one assumption changed the range holds 7" in after.headline_note
    pairs = list(zip(before.conclusions, after.conclusions, strict=False))
    assert [one.id for one, _ in pairs] == [one.id for _, one in pairs]
    other = {one.id.removeprefix("answer:"): one.template for was, one in pairs if one != was}
    unsettled = case("hero")[2]["sensitivity"]["unsettled"]
    assert other == {"part:tuner_4": "part replaced"}
    assert set(other) <= {key for key, one in unsettled.items() if one["wider"] == "replaced"}
    assert len(after.conclusions) == len(before.conclusions)
    assert "not settled" not in [row.verdict for row in before.parts]
    assert {row.words for row in after.scale} - {row.words for row in before.scale} == {
        "not settled"
    }


def test_a_part_that_turns_over_is_not_settled_in_table_drawing_and_sentence() -> None:
    before = {row.key: row for row in paper("open", doubts=False).parts}
    document = paper("open")
    found = case("open")[2]["sensitivity"]["unsettled"]
    turned = {key.removeprefix("part:") for key, one in found.items() if not one["holds"]}
    wider = {key.removeprefix("part:") for key, one in found.items() if one["wider"]}
    lower = {key.removeprefix("part:") for key, one in found.items() if one["holds"]} - wider
    assert turned
    assert lower
    assert wider
    assert [one.template for one in document.conclusions][-1] == "turns over"
    for row in document.parts:
        if row.key in turned:
            assert row.verdict == "not settled"
            assert row.word == ""
            assert (row.probability, row.prior) == (
                before[row.key].probability,
                before[row.key].prior,
            )
            said = next(s for s in document.part_statements if s.id == f"part:{row.key}")
            assert "is not settled" in said.text
            assert f"{before[row.key].word} {before[row.key].verdict}" in said.text
        elif row.key in lower:
            assert (before[row.key].word, row.word) == ("very probably", "probably")
            said = next(s for s in document.part_statements if s.id == f"part:{row.key}")
            assert " probably original" in said.text
            assert "gives “very probably”; that does not hold when" in said.text
            assert row.note in said.text
        elif row.key in wider:
            assert row.verdict == found[f"part:{row.key}"]["wider"]
            assert row.word == found[f"part:{row.key}"]["holds"]
            said = next(s for s in document.part_statements if s.id == f"part:{row.key}")
            assert f"gives “{found[f'part:{row.key}']['verdict']}”; that does not" in said.text
        else:
            assert replace(row, least="", most="") == before[row.key]
        if row.word:
            assert row.least
            assert row.most
    shown = {row["label"]: row for row in payload(document)["parts"]}  # type: ignore[union-attr]
    for row in document.parts:
        if row.key in turned:
            assert shown[heading(row.label)]["verdict"] == "not settled"
            assert "is not settled" in shown[heading(row.label)]["said"]


def test_a_part_found_changed_keeps_its_place_on_the_first_page_in_what_holds() -> None:
    """The tuner is later by itself; under each change it is replaced, and that is said."""
    document = paper("hero")
    (said,) = [one for one in document.part_statements if one.id == "part:tuner_4"]
    assert said.template == "part replaced"
    assert said.strength == "very probably"
    assert "By itself" in said.text
    assert "By itself" not in said.plain
    assert [one.text for one in document.conclusions if one.id == "answer:part:tuner_4"] == [
        said.text
    ]
    (line,) = [row for row in document.summary if row.label == "Changed parts"]
    assert said.plain in [one.text for one in line.statements]  # in words alone, on every copy


def test_a_date_that_turns_over_is_said_so_on_the_first_page() -> None:
    given = paper("turning")
    assert given.conclusions[0].template == "completion not settled"
    assert "no date is given" in given.conclusions[0].text
    assert "Not settled" in given.headline_note
    withheld = paper("withheld")
    assert withheld.conclusions[0].template == "withheld not settled"
    turn = case("withheld")[2]["sensitivity"]["unsettled"]["date"]["turns"][0]
    change = assumption_words(turn["assumption"], turn["factor"])
    assert f"a date would be given when {change}" in withheld.conclusions[0].text
    assert any(one.template == "turns over" for one in withheld.conclusions)


def test_two_accounts_of_a_misread_heel() -> None:
    text = text_of("misread")
    assert "The mark “7 3” on the neck does not fit the rest" in text
    assert "Either the neck was fitted first and the reading of the mark" in text
    assert "is mistaken" in text
    assert "a second, blind look at the mark “7 3” on the neck" in text


def test_two_accounts_of_an_older_neck() -> None:
    text = text_of("older")
    assert "Either the neck comes from another instrument" in text
    assert (
        "or the neck was fitted first and the reading of the mark “7 3” on the neck is mistaken"
        in text
    )
    assert "paint across the joint of neck and body" in text
    assert "more than 1000 to 1 for the former" in text
    assert "Apr 1965" in text or "Mar 1965" in text


def test_two_accounts_of_a_foreign_body() -> None:
    assert "Either the body comes from another instrument" in text_of("foreign")


def test_close_agreement_is_told_only_beside_what_is_unexplained() -> None:
    assert "Unexplained" not in text_of("close")
    assert "lie as close" not in text_of("close")
    text = text_of("flags")
    assert text.count("Unexplained:") == 3
    assert text.index("Unexplained:") < text.index("lie as close")
    assert "the back of the body heavy" in text


def test_an_agreement_in_the_data_is_not_told_without_its_company() -> None:
    """A finding put together by other hands is held to the same rule."""
    state, finding, found = case("flags")
    alone = {**found, "wear": {**found["wear"], "unexplained": []}}
    document = examination_report(
        state, tree(), finding, reader="shop", issue=ISSUE, names=names_of(wherry()), doubts=alone
    )
    assert found["agreement"] is not None
    assert "lie as close" not in "\n".join(one.text for one in document.doubts)


def test_an_open_reading_stays_open_and_a_likely_one_that_turns_is_not_settled() -> None:
    state, finding, found = case("hero")
    id_ = "reading:mark-neck"
    open_ = next(one for one in paper("hero").inferred if one.id == id_)
    assert open_.template == "reading open"
    turns = [{"assumption": "lag", "factor": 0.5, "verdict": "open"}]
    changed = {
        **found,
        "sensitivity": {
            **found["sensitivity"],
            "unsettled": {id_: {"verdict": "Mar 1965", "holds": "", "turns": turns}},
        },
    }
    document = examination_report(
        state, tree(), finding, reader="shop", issue=ISSUE, names=names_of(wherry()), doubts=changed
    )
    said = next(one for one in document.inferred if one.id == id_)
    assert said.template == "reading not settled"
    assert "then: not determined" in said.text
    assert any(one.template == "reading not settled" for one in document.conclusions)
    assert (
        "the mark"
        not in next(one.text for one in document.doubts if one.template == "turns over").split(":")[
            0
        ]
    )


def test_an_outsider_gets_the_section_masked() -> None:
    document = paper("hero", "buyer")
    everything = "\n".join(texts(document))
    assert "S10350" not in everything
    assert len(document.doubts) == len(paper("hero").doubts)


def test_the_template_gets_plain_rows() -> None:
    rows: list[Body] = payload(paper("hero"))["changes"]  # type: ignore[assignment]
    assert len(rows) == CHANGED
    assert {"nothing"} < {row["turned"] for row in rows}
    assert payload(paper("hero", doubts=False))["changes"] == []


def test_section_and_report_say_the_same() -> None:
    _, section = told(hero())
    assert section.statements == paper("hero").doubts
    assert section.changes == paper("hero").changes
