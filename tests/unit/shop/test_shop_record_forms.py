"""Forms are filled once, all of them, before threads share them."""

import msgspec

from heelstamp.shop.record_forms import fill_forms


def test_every_form_is_filled_and_none_twice() -> None:
    fill_forms()
    assert fill_forms() == 0

    class Late(msgspec.Struct):
        name: str

    Late.__module__ = "heelstamp.late"
    assert fill_forms() == 1
    assert fill_forms() == 0
