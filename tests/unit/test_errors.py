"""Errors carry what, where, received and remedy in one line."""

from heelstamp.errors import ConflictError, HeelstampError, InputError


def test_a_message_says_what_where_received_and_remedy() -> None:
    error = InputError("not a month", where="marks 2", received="1965-13", remedy="Use 01 to 12.")
    assert str(error) == "marks 2: not a month (received: 1965-13). Use 01 to 12."
    assert str(HeelstampError("nothing to do")) == "nothing to do."


def test_a_long_value_is_shortened() -> None:
    assert len(str(InputError("too long", received="x" * 5000))) < 200


def test_a_place_is_put_in_front_and_the_kind_of_error_kept() -> None:
    error = ConflictError("taken", where="field id", received="a").at("file.toml, line 3")
    assert isinstance(error, ConflictError)
    assert error.where == "file.toml, line 3, field id"
    assert error.received == "a"
