"""What a listing says of the price at each state of the sale."""

import pytest

from heelstamp.casework.listing.product import _AVAILABLE
from heelstamp.wording import about_listing as about


@pytest.mark.parametrize(
    ("state", "amount", "told", "available"),
    [
        ("offered", "9,900 USD", "Asked: 9,900 USD.", "InStock"),
        ("offered", "", "Price on request.", "InStock"),
        ("held", "9,900 USD", "Held for somebody now. Asked: 9,900 USD.", "Reserved"),
        ("agreed", "", "A price is agreed with a buyer; it is not offered now.", "Reserved"),
        ("sold", "", "Sold.", "SoldOut"),
    ],
)
def test_what_is_agreed_is_neither_offered_nor_sold(
    state: str, amount: str, told: str, available: str
) -> None:
    """Names of schema.org's ItemAvailability (schema.org, from memory)."""
    assert about.price.say(amount=amount, state=state) == told
    assert _AVAILABLE[state] == available
