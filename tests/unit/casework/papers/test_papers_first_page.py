"""The first page whole, marks beside their sentences, and nothing that a layman cannot read."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from fakes.demo_dossier import demo_finding, demo_names, demo_state, guitar_tree
from fakes.doubted import doubts_of, hero, tree
from fakes.plain_language import lix
from fakes.wherry_examinations import wherry
from heelstamp.casework.papers.document import ReportDocument
from heelstamp.casework.papers.examination_report import Issue, examination_report
from heelstamp.casework.papers.key_pictures import KEYS_MAX
from heelstamp.casework.picture_scales import bar_of
from heelstamp.report.payload import payload
from heelstamp.shop.subjects import names_of

LINES = ("When made", "Neck with body", "Finish", "Electronics", "Changed parts", "Condition")
LINES += ("How it plays", "Not seen, and why", "Our interest")


@pytest.fixture(scope="module", params=["buyer", "consignor"])
def document(request: pytest.FixtureRequest) -> ReportDocument:
    state, finding, doubts = doubts_of(hero())
    return examination_report(
        state,
        tree(),
        finding.data(),
        reader=request.param,
        issue=Issue("Heelstamp 0.1.0", "2026-11-04"),
        names=names_of(wherry()),
        doubts=doubts.data(),
    )


def test_the_lines_are_those_that_a_buyer_asks_for(document):
    assert [row.label for row in document.summary] == list(LINES)
    assert all(row.statements for row in document.summary)


def test_no_line_repeats_its_label(document):
    for row in document.summary:
        for one in row.statements:
            assert not one.text.startswith(f"{row.label}:")


def test_it_reads_as_plainly_as_a_newspaper(document):
    told = [one.text for row in document.summary for one in row.statements]
    assert len(told) >= 10
    assert lix(told) <= 45  # a newspaper; see `fakes.plain_language` for the index and its source
    for one in told:
        assert lix([one]) <= 55, one  # an official text


def test_no_sentence_says_a_word_twice(document):
    twice = re.compile(r"\b(\w+) \1\b", re.IGNORECASE)
    for one in document.statements():
        assert not twice.search(one.text), one.text


def test_the_part_found_changed_is_named(document):
    told = {row.label: " ".join(one.text for one in row.statements) for row in document.summary}
    assert "4th-string tuner" in told["Changed parts"]
    assert "output jack" in told["Electronics"]


def test_what_the_owner_refused_is_why_it_was_not_seen(document):
    told = {row.label: " ".join(one.text for one in row.statements) for row in document.summary}
    assert "opened as far as" in told["Not seen, and why"]


def test_no_entry_is_named_to_a_buyer(document):
    if document.reader != "buyer":
        return
    ids = re.compile(r"(?<![\w-])[a-z]+\d+(?![\w-])")
    for one in document.inferred:
        if one.id.startswith("left-out"):
            assert not ids.search(one.text), one.text


def demo() -> ReportDocument:
    return examination_report(
        demo_state(),
        guitar_tree(),
        demo_finding(),
        reader="consignor",
        issue=Issue("Heelstamp 0.1.0", "2026-11-04", examiners=(("examiner A", "ten years"),)),
        names=demo_names(),
    )


def test_key_pictures_are_few_each_once_and_have_a_sentence():
    keys = demo().keys
    assert 0 < len(keys) <= KEYS_MAX
    assert len({one.frame for one in keys}) == len(keys)
    assert all(one.statements for one in keys)


def test_who_examined_is_told_with_the_record_of_competence():
    told = " ".join(one.text for one in demo().method)
    assert "examiner A: ten years" in told


def test_a_bar_is_a_usual_length_and_fits():
    for width in (3.0, 12.0, 55.0, 120.0, 1100.0):
        length, share = bar_of(width)
        assert share == pytest.approx(length / width)
        assert share <= 0.34
    assert bar_of(None) == (0.0, 0.0)


def test_every_mark_joint_and_screw_picture_has_a_scale_or_says_that_there_is_none():
    made = demo()
    close = {one.frame for one in made.pictures if one.close}
    seen = demo_state().observations.values()
    wanted = {
        frame
        for one in seen
        if one.kind in ("mark", "serial") or "joint" in one.subject or "screw" in one.subject
        for frame in one.frames
    }
    assert wanted
    assert wanted <= close
    assert {one.frame for one in made.keys} <= close
    shown = {one["frame"]: one for one in payload(made)["pictures"]}
    assert all(shown[frame]["scale"] for frame in close)


def test_a_bar_on_paper_is_measured_on_the_picture_and_not_on_its_place():
    picture = replace(demo().pictures[0], bar_mm=20.0, bar_share=0.25)
    lengths = {}
    for aspect in (4 / 3, 1.5, 0.75):
        made = replace(demo(), pictures=(replace(picture, aspect=aspect),))
        (one,) = payload(made)["pictures"]
        lengths[aspect] = one["bar"]["length"]
    # the place is 51.33 mm wide and 38 mm high: what is taller is printed narrower
    assert lengths == pytest.approx({4 / 3: 38 / 3, 1.5: 51.33 / 4, 0.75: 28.5 / 4})
