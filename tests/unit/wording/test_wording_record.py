from heelstamp.units import Quantity
from heelstamp.wording import about_record as record
from heelstamp.wording.sentences import Grounds

GROUNDS = Grounds(("o1",), ("f1",))


def test_a_measured_value_has_unit_uncertainty_stage_and_temperature() -> None:
    told = record.measured(
        "m",
        GROUNDS,
        part="Neck pickup",
        quantity="DC resistance",
        value=Quantity(6.42, "kΩ", 0.03),
        stage="found",
        temperature_c=24.5,
    )
    assert told.text == "Neck pickup: DC resistance 6.42 ± 0.03 kΩ, as found, at 24.5 °C."
    assert told.layer == "measured"
    bare = record.measured("m", GROUNDS, part="Neck", quantity="relief", value=Quantity(0.46, "mm"))
    assert "uncertainty not recorded" in bare.text


def test_our_acts_and_our_interest_are_told() -> None:
    told = record.treatment(
        "t",
        GROUNDS,
        part="Tone pot",
        act="cleaned",
        material="contact cleaner",
        amount="0.1 ml",
        minutes=5.0,
        reversible=False,
        reason="19 crackles a turn.",
    )
    assert told.text == (
        "Tone pot: cleaned, with contact cleaner, 0.1 ml, 5 min; not reversible. Reason: 19 "
        "crackles a turn."
    )
    assert "on commission" in record.interest("i", what="we sell on commission").text
    assert record.no_treatment("n").text.startswith("No act beyond looking")


def test_a_statement_is_quoted_by_role_and_marked_as_signed() -> None:
    told = record.reported(
        "s", GROUNDS, role="the consignor", about="strings", text="ten years ago", signed=True
    )
    assert told.text == ("The consignor, in a signed statement, about the strings: “ten years ago”")


def test_what_was_seen_is_told_with_its_subject() -> None:
    seen = [
        record.mark_seen("a", GROUNDS, part="Neck", mark="“65/03”"),
        record.feature_seen("b", GROUNDS, part="Badge", feature="", variant="on pins"),
        record.serial_seen("c", GROUNDS, part="Plate", number="S10•••"),
        record.sign_seen("d", GROUNDS, part="Shim", sign="outline", outcome="pressed in"),
        record.document_seen("e", GROUNDS, part="Case", document="receipt", link="same period"),
    ]
    assert [one.layer for one in seen] == ["seen"] * 5
    assert seen[0].text == "Neck: “65/03”."
    assert "does not name the instrument" in seen[4].text
