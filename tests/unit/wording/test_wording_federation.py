"""Sentences about tables exchanged with other shops: limits told, nobody accused."""

from heelstamp.wording import about_federation as about


def test_what_was_made_is_told_with_what_was_blurred_and_withheld() -> None:
    some = about.tables_given.say(number=2, chronology="x", features=16, blurred=3)
    assert "16 change-overs. In 3 of them dates were blurred" in some
    plain = about.tables_given.say(number=1, chronology="x", features=1, blurred=0)
    assert plain == "Tables 1 of x: 1 change-over."
    assert "f01 (7)" in about.tables_withheld.say(groups={"f01": 7})


def test_what_can_be_guessed_is_told() -> None:
    assert "can be guessed" in about.months_can_be_guessed.say()
    assert "all the others together" in about.masked_can_be_found.say()


def test_a_shop_that_does_not_fit_is_asked_and_not_accused() -> None:
    told = about.shops_asked.say(shops=["lock", "weir"])
    assert "lock and weir" in told
    assert "many that err alike elsewhere" in told
    assert "Nothing is left out by itself" in told
    assert "shift of its own" in about.tables_joined.say(others=40, own=True, shifted=True)
    plain = about.tables_joined.say(others=1, own=False, shifted=False)
    assert plain.startswith("Learned from the tables of 1 other. Each shop may follow another")
    assert "lock" in about.one_variant_collected.say(shops=["lock"])


def test_what_was_taken_is_told() -> None:
    told = about.tables_taken.say(
        shop="lock", number=1, chronology="x", features=2, gathered="all that came in"
    )
    assert told == "Tables 1 of x taken from lock: 2 change-overs, from all that came in."
