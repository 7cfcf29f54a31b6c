"""What a consignor's words claim, and how the date is held against them."""

import pytest

from heelstamp.casework.claimed_months import claimed_months
from heelstamp.units import Period
from heelstamp.wording.about_dates import claim_compared


def years(first: int, last: int) -> Period:
    return Period.parse([f"{first}-01", f"{last}-12"])


@pytest.mark.parametrize(
    ("text", "period", "about"),
    [
        ("1965, everything as it left the factory", (1965, 1965), (1965, 1965)),
        ("about 1964", (1964, 1964), (1963, 1965)),
        ("ca. 1964", (1964, 1964), (1963, 1965)),
        ("Circa '64, he says", (1964, 1964), (1963, 1965)),
        ("1964-66", (1964, 1966), (1964, 1966)),
        ("between 1964 and 1966", (1964, 1966), (1964, 1966)),
        ("1964 to 1966", (1964, 1966), (1964, 1966)),
        ("about 1964–1966", (1964, 1966), (1963, 1967)),
        ("a 1960s guitar", (1960, 1969), (1960, 1969)),
        ("mid-1960s", (1964, 1966), (1964, 1966)),
        ("early 60s", None, None),
        ("late '50s", (1957, 1959), (1957, 1959)),
        ("1965; sold as a 1965", (1965, 1965), (1965, 1965)),
    ],
)
def test_a_claim_is_read(
    text: str, period: tuple[int, int] | None, about: tuple[int, int] | None
) -> None:
    found = claimed_months(text)
    if period is None or about is None:
        assert found is None
    else:
        assert found is not None
        assert found.period == years(*period)
        assert found.about == years(*about)


def test_a_month_is_read() -> None:
    found = claimed_months("made in May 1965")
    assert found is not None
    assert found.period == Period.parse("1965-05")


@pytest.mark.parametrize(
    "text", ["", "all first", "bought 1972, made 1965", "number S1965", "0171-1965-22", "1966-64"]
)
def test_what_names_no_month_or_several_is_not_compared(text: str) -> None:
    assert claimed_months(text) is None


def test_the_sentence_names_both_spans_where_about_was_said() -> None:
    text = claim_compared.say(
        claimed=years(1964, 1964), held=0.00001, about=years(1963, 1965), held_about=0.9995
    )
    assert text == (
        "Claimed is about 1964. Probability that it was completed in 1964: < 1 %; "
        "from 1963 to 1965: > 99 %."
    )
    plain = claim_compared.say(
        claimed=years(1965, 1965), held=0.97, about=years(1965, 1965), held_about=0.97
    )
    assert plain == "Claimed is 1965. Probability that it was completed in 1965: 97 %."
