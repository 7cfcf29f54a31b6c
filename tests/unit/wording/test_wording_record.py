import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.units import Quantity
from heelstamp.wording import BannedWordsError, find_banned
from heelstamp.wording import about_record as record
from heelstamp.wording.sentences import Grounds

GROUNDS = Grounds(("o1",), ("f1",))
words = st.text(st.characters(codec="utf-8"), min_size=1, max_size=40).filter(
    lambda text: text.strip() and not find_banned(text)
)


@given(words, words)
def test_the_four_kinds_of_nothing_are_four_sentences(part: str, subject: str) -> None:
    try:
        told = {
            record.unread("u", part=part, subject=subject, status=one, grounds=GROUNDS).text
            for one in record.UNREAD
        }
    except BannedWordsError:
        return  # two honest texts can meet in a banned phrase
    assert len(told) == 4


def test_a_fifth_kind_of_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="kind of nothing"):
        record.unread("u", part="Neck", subject="mark", status="read", grounds=GROUNDS)  # type: ignore[arg-type]


def test_a_measured_value_has_unit_uncertainty_stage_and_temperature() -> None:
    told = record.measured(
        "m",
        part="Neck pickup",
        quantity="DC resistance",
        value=Quantity(6.42, "kΩ", 0.03),
        stage="found",
        temperature_c=24.5,
        grounds=GROUNDS,
    )
    assert told.text == "Neck pickup: DC resistance 6.42 ± 0.03 kΩ, as found, at 24.5 °C."
    assert told.layer == "measured"
    bare = record.measured(
        "m", part="Neck", quantity="relief", value=Quantity(0.46, "mm"), grounds=GROUNDS
    )
    assert "uncertainty not recorded" in bare.text


def test_our_acts_and_our_interest_are_told() -> None:
    told = record.treatment(
        "t",
        part="Tone pot",
        act="cleaned",
        material="contact cleaner",
        amount="0.1 ml",
        minutes=5.0,
        reversible=False,
        reason="19 crackles a turn.",
        grounds=GROUNDS,
    )
    assert told.text == (
        "Tone pot: cleaned, with contact cleaner, 0.1 ml, 5 min; not reversible. Reason: 19 "
        "crackles a turn."
    )
    assert "on commission" in record.interest("i", what="we sell on commission").text
    assert record.no_treatment("n").text.startswith("No act beyond looking")


def test_a_value_has_its_date_and_its_sales_and_law_no_advice() -> None:
    told = record.estimate(
        "v", figure="8,200 to 10,000", date="2026-11-04", sales=20, grounds=GROUNDS
    )
    assert told.text == "8,200 to 10,000, estimated on 2026-11-04 from 20 sales."
    assert told.layer == "opinion"
    with pytest.raises(InputError, match="needs sales"):
        record.estimate("v", figure="1", date="2026-11-04", sales=0, grounds=GROUNDS)
    assert record.legal_note("l", note="Ask first").text.endswith("This is not legal advice.")


def test_a_statement_is_quoted_by_role_and_marked_as_signed() -> None:
    told = record.reported(
        "s",
        role="the consignor",
        about="strings",
        text="ten years ago",
        signed=True,
        grounds=GROUNDS,
    )
    assert told.text == ("The consignor, in a signed statement, about the strings: “ten years ago”")


def test_a_correction_names_both_versions() -> None:
    told = record.correction("c", version=2, replaced=1, reason="a misread code", grounds=GROUNDS)
    assert told.text == (
        "Version 2 replaces version 1: a misread code. The earlier version stays readable."
    )


def test_what_was_seen_is_told_with_its_subject() -> None:
    seen = [
        record.mark_seen("a", part="Neck", mark="“65/03”", reader="examiner B", grounds=GROUNDS),
        record.feature_seen("b", part="Badge", feature="", variant="on pins", grounds=GROUNDS),
        record.serial_seen("c", part="Plate", number="S10•••", grounds=GROUNDS),
        record.sign_seen("d", part="Shim", sign="outline", outcome="pressed in", grounds=GROUNDS),
        record.document_seen(
            "e", part="Case", document="receipt", link="same period", grounds=GROUNDS
        ),
    ]
    assert [one.layer for one in seen] == ["seen"] * 5
    assert seen[0].text == "Neck: “65/03” (read by examiner B)."
    assert "does not name the instrument" in seen[4].text
