from hypothesis import given
from hypothesis import strategies as st

from heelstamp.casework.papers.audience import NAME_WITHHELD, Audience, is_name, mask_serial

BUYER = Audience("buyer", ("S10350",), ("Invented Person",), frozenset({"p01"}))
serials = st.from_regex(r"[A-Z]{0,2}[0-9]{2,8}", fullmatch=True)


@given(serials)
def test_at_least_half_of_a_serial_or_three_places_are_hidden(serial: str) -> None:
    masked = mask_serial(serial)
    assert len(masked) == len(serial)
    assert masked.count("•") >= min(3, len(serial))
    assert serial.startswith(masked.rstrip("•"))


@given(serials, st.text(max_size=20), st.text(max_size=20))
def test_a_serial_never_reaches_a_buyer(serial: str, before: str, after: str) -> None:
    audience = Audience("buyer", (serial,))
    told = audience.text(f"{before} {serial} {after}")
    assert f" {serial} " not in told


def test_a_serial_is_masked_in_any_spelling() -> None:
    for text in ("s10350", "S 10350", "S-10350", "no. S10350.", "“S10350”", "S.10350"):
        assert "•••" in BUYER.text(text), text
    assert BUYER.text("S10351") == "S10351"
    assert BUYER.text("S110350") == "S110350"  # another number that only holds it
    assert BUYER.text("xS10350A") == "xS10•••A"
    assert BUYER.text("S10\u200b350") == "S10•••"


def test_a_digest_is_not_mistaken_for_a_serial() -> None:
    digest = "ab0501cd" * 8
    assert Audience("buyer", ("0501",)).text(digest) == digest


def test_names_go_and_roles_stay() -> None:
    assert (
        BUYER.text("from invented person, the consignor") == f"from {NAME_WITHHELD}, the consignor"
    )
    assert is_name("Invented Person")
    assert not is_name("The consignor")


def test_consignor_and_shop_see_all() -> None:
    for reader in ("consignor", "shop"):
        audience = Audience(reader, ("S10350",), ("Invented Person",), frozenset({"p01"}))
        assert audience.text("S10350 of Invented Person") == "S10350 of Invented Person"
        assert audience.frames(["f1", "p01"]) == ("f1", "p01")


def test_a_number_with_an_unread_digit_is_masked_where_it_stands_whole() -> None:
    audience = Audience("buyer", ("S103?0", "103?0"))
    for text in ("S103?0", "receipt, S10350", "no. 10370", "S 103 9 0"):
        assert "•••" in audience.text(text), text
    assert audience.text("S10450") == "S10450"
