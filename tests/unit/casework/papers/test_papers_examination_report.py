from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fakes.demo_dossier import (
    CONSIGNOR,
    PLACE,
    SERIAL,
    demo_finding,
    demo_names,
    demo_state,
    guitar_tree,
)
from heelstamp.casework.feature_names import FeatureNames
from heelstamp.casework.papers.document import READERS, ReportDocument, texts
from heelstamp.casework.papers.examination_report import Issue, audience_of, examination_report
from heelstamp.errors import InputError
from heelstamp.wording import BannedWordsError, find_banned
from heelstamp.wording.about_setup import frets_out_of_place
from heelstamp.wording.sentences import Grounds

ISSUE = Issue("Heelstamp 0.1.0", "2026-11-04", attachments=("examination.json",))
NOT_FINISH = tuple(key for key in demo_finding()["parts"] if key != "finish")


def report(reader="shop", *, more=(), finding=None, issue=ISSUE, **rest) -> ReportDocument:
    return examination_report(
        demo_state(*more),
        guitar_tree(),
        finding or demo_finding(),
        reader=reader,
        issue=issue,
        names=rest.pop("names", demo_names()),
        **rest,
    )


def said(document: ReportDocument, id_: str) -> str:
    return next(one.text for one in document.statements() if one.id == id_)


def test_the_answer_comes_first() -> None:
    document = report()
    assert document.headline == "May to Sep 1965"
    assert document.conclusions[0].text.startswith("Completed between May 1965 and Sep 1965")
    assert 3 <= len(document.conclusions) <= 5
    assert document.timeline is not None


@pytest.mark.parametrize("reader", READERS)
def test_no_text_of_any_copy_holds_a_banned_word(reader) -> None:
    document = report(reader, issue=replace(ISSUE, demonstration=True))
    everything = list(texts(document))
    assert len(everything) > 300
    assert [text for text in everything if find_banned(text)] == []


@pytest.mark.parametrize("reader", ["buyer", "insurer"])
def test_an_outsiders_copy_holds_nothing_that_is_not_theirs(reader) -> None:
    document = report(reader)
    everything = "\n".join(texts(document))
    for secret in (CONSIGNOR, PLACE, SERIAL, "p01", "p02"):
        assert secret not in everything, secret
    assert "S10•••" in everything
    assert not document.frames() & {f"p{n:02d}" for n in range(1, 7)}


def test_the_shops_copy_holds_all() -> None:
    document = report("shop")
    assert {"p01", "f01"} <= {picture.frame for picture in document.pictures}
    assert SERIAL in "\n".join(texts(document))


def test_a_number_once_mistyped_is_masked_too() -> None:
    wrong = (
        "correction",
        {
            "id": "x1",
            "corrects": "o01",
            "reason": "misread",
            "replacement": {
                "part": "neck_plate",
                "kind": "serial",
                "status": "read",
                "text": "S10358",
            },
        },
    )
    audience = audience_of(demo_state(wrong), "buyer")
    assert set(audience.serials) == {"S10350", "S10358", "10350", "10358"}


def test_roles_stay_and_a_name_in_a_field_for_a_role_goes() -> None:
    told = [
        (
            "statement",
            {"id": f"s{n}", "role": role, "about": "strings", "text": "x", "signed": True},
        )
        for n, role in ((5, "second reader"), (6, "Invented Reader"))
    ]
    document = report("buyer", more=told)
    assert said(document, "told:s5").startswith("Second reader, in a signed statement")
    assert said(document, "told:s6").startswith("[name withheld], in a signed statement")


def test_every_conclusion_names_its_frames_or_has_none_to_name() -> None:
    document = report()
    shown = {picture.frame for picture in document.pictures}
    for one in document.statements():
        assert set(one.frames) <= shown, one.id
    # what was seen of the 4th tuner was kept out of this finding: its sentence names the gap
    bare = [one for one in document.conclusions if not one.rests_on]
    assert [(one.id, one.not_examined) for one in bare] == [
        ("answer:part:tuner_4", ("4th-string tuner",))
    ]
    assert "f17" in document.conclusions[1].frames


def test_an_unopened_neck_never_yields_a_state_of_the_neck() -> None:
    closed = [
        (
            "correction",
            {
                "id": f"x{n}",
                "corrects": id_,
                "reason": "neck stays on",
                "replacement": {"part": "neck", "kind": kind, "status": "not looked", **more},
            },
        )
        for n, (id_, kind, more) in enumerate(
            (("o14", "mark", {}), ("o15", "feature", {"feature": "f08"}))
        )
    ]
    document = report(more=closed)
    row = next(row for row in document.parts if row.key == "neck")
    assert (row.verdict, row.word, row.probability) == ("not examined", "", "")
    said = [one for one in document.statements() if one.id.endswith("part:neck")]
    assert said
    assert {one.template for one in said} == {"part not examined"}
    assert all("probably" not in one.text for one in said)
    assert [one for one in document.not_read if (one.status, one.part) == ("not looked", "Neck")]


def test_fluorescence_alone_leaves_the_coating_undetermined() -> None:
    sure = {"original": 0.99, "touched_up": 0.005, "old_refinish": 0.003, "recent_refinish": 0.002}
    finding = demo_finding()
    finding["parts"]["finish"] = sure
    row = next(row for row in report(finding=finding).parts if row.key == "finish")
    assert row.verdict == "not determined"
    names = FeatureNames(covered_area_signs=frozenset({"uv_look"}))
    row = next(row for row in report(finding=finding, names=names).parts if row.key == "finish")
    assert (row.verdict, row.probability) == ("first finish", "99 %")


def test_the_four_kinds_of_nothing_stay_apart() -> None:
    document = report()
    told = {(row.part, row.subject): row.status for row in document.not_read}
    assert told["Neck pickup", "mark"] == "not looked"
    assert told["Body", "mark"] == "absent"
    assert told["Bridge pickup", "mark"] == "illegible"
    assert told["Strap buttons", "felt washers"] == "not applicable"
    assert told["Nut", "no entry at all"] == "not looked"


def test_both_readings_the_influence_and_the_left_out_are_told() -> None:
    document = report()
    assert "Mar 1965 (79 %) or Aug 1965 (21 %): not determined" in said(document, "reading:o14")
    assert "it moves the middle 2 months later" in said(document, "without:o10")
    assert "No bearing on the date (the tuner is a later" in said(document, "left-out:1")
    assert "second heating" in said(document, "seen:o13")
    assert "about once in 250" in said(document, "surprise:o07")


def test_where_parts_are_weighed_whole_they_are_named_instead_of_observations() -> None:
    out = {
        "predictive": 0.01,
        "total_variation": 0.6,
        "median": "1965-04",
        "interval": {"90": ["1965-03", "1965-08"]},
    }
    weak = {**out, "total_variation": 0.01}
    document = report(finding=demo_finding(part_influence={"pot_volume": out, "neck": weak}))
    told = [one for one in document.inferred if one.id.startswith("without:")]
    assert [one.id for one in told] == ["without:pot_volume"]
    assert told[0].text.startswith("Without everything seen on the volume pot the range would be")
    assert told[0].rests_on == ("o10",)


def test_a_withheld_date_gives_reasons_and_the_dates_of_parts() -> None:
    completion = demo_finding()["completion"] | {"withheld": ["Two stories fit"]}
    document = report(finding=demo_finding(completion=completion))
    assert document.timeline is None
    assert document.headline == "No single date"
    assert "Two stories fit." in document.conclusions[0].text
    assert not any("original" in one.text for one in document.conclusions)
    assert document.conclusions[1].text.startswith("The neck, on its own marks alone")
    assert "on its own marks alone" in said(document, "part-date:neck")


def test_a_flat_distribution_names_no_likeliest_month() -> None:
    months = {f"1965-{month:02d}": 0.1 for month in range(1, 11)}
    completion = demo_finding()["completion"] | {
        "months": months,
        "interval": {"50": ["1965-03", "1965-08"], "90": ["1965-01", "1965-10"]},
    }
    document = report(finding=demo_finding(completion=completion))
    assert document.timeline is not None
    assert document.timeline.likeliest is None
    assert "no month standing out" in document.conclusions[0].text


def test_a_note_with_banned_words_is_refused_with_its_place() -> None:
    bad = {
        "id": "o90",
        "part": "nut",
        "kind": "feature",
        "status": "read",
        "feature": "f05",
        "variant": "B",
        "note": "guaranteed first",
    }
    with pytest.raises(BannedWordsError, match="o90"):
        report(more=[("observation", bad)])


def test_a_claim_and_a_quotation_with_banned_words_stay_in_the_dossier() -> None:
    told = {
        "id": "s9",
        "role": "the consignor",
        "about": "finish",
        "signed": False,
        "text": "It is all original, I guarantee it.",
    }
    claim = {
        "kind": "guitar",
        "maker": "Sallowby Instrument Works",
        "model": "Wherry",
        "chronology": "sallowby-wherry",
        "tag": "H-0001",
        "claimed": "flawless time capsule",
    }
    corrected = {"id": "x8", "corrects": "instrument", "reason": "as told", "replacement": claim}
    document = report(more=[("statement", told), ("correction", corrected)])
    assert dict(document.identity)["Claimed"] == "kept in the dossier, not repeated here"
    assert "kept in the dossier, not repeated here" in said(document, "told:s9")


def test_our_acts_and_interest_are_always_told() -> None:
    document = report("buyer")
    assert "0.1 ml" in said(document, "act:t1")
    assert "on commission" in said(document, "interest")


def test_statements_of_other_findings_join_their_layer() -> None:
    board = frets_out_of_place("frets", Grounds(("o15",), ("p01",)))
    document = report("buyer", additional=[board])
    assert [one.text for one in document.opinions] == [board.text]
    assert document.opinions[0].frames == ("kept by the shop",)


def test_a_document_with_two_equal_ids_is_refused() -> None:
    document = report()
    with pytest.raises(InputError, match="statement id"):
        replace(document, told=(document.conclusions[0],))


SHARES = st.lists(st.floats(0.001, 1), min_size=4, max_size=4)


@settings(max_examples=8)
@given(st.lists(SHARES, min_size=len(NOT_FINISH), max_size=len(NOT_FINISH)), st.floats(0, 0.009))
def test_no_posterior_makes_a_banned_sentence(weights: list[list[float]], mid_p: float) -> None:
    """Every part has shares of its own, so that one report tries as many as it has parts."""
    names = ("original", "period_replacement", "later_replacement", "from_another_instrument")
    finding = demo_finding()
    for key, row in zip(NOT_FINISH, weights, strict=True):
        finding["parts"][key] = {n: w / sum(row) for n, w in zip(names, row, strict=True)}
    finding["observations"]["o10"]["surprise"] = mid_p
    document = report("buyer", finding=finding)
    assert not any(find_banned(text) for text in texts(document))
