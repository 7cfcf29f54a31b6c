"""Throttling: what a guesser gets in a day, and what others are spared."""

from datetime import UTC, datetime, timedelta

from heelstamp.casework.sharing import Throttle
from heelstamp.casework.sharing.held_state import in_process
from heelstamp.casework.sharing.throttle import COUNTS_MAX, Tries

AT = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


def tries_in(span: timedelta, address: str = "a", names: int = 1) -> int:
    """Count the tries that one who never rests gets."""
    throttle, at, made = Throttle(), AT, 0
    while at < AT + span:
        wait = throttle.attempt(f"n{made % names}", address, at)
        made += not wait
        at += timedelta(seconds=wait or 0.2)
    return made


def test_one_address_gets_about_a_hundred_tries_a_day_at_one_name() -> None:
    assert 95 <= tries_in(timedelta(days=1)) <= 120


def test_an_address_that_changes_names_is_slowed_as_well() -> None:
    assert tries_in(timedelta(days=1), names=1000) <= 140


def test_the_wait_doubles_and_is_told() -> None:
    throttle = Throttle()
    for _ in range(5):
        assert throttle.attempt("n", "a", AT) == 0
    waits, at = [], AT
    for _ in range(6):
        wait = throttle.attempt("n", "a", at)
        waits.append(wait)
        at += timedelta(seconds=wait)
        assert throttle.attempt("n", "a", at) == 0
    assert waits == [1, 2, 4, 8, 16, 32]


def test_many_at_once_count_before_they_are_looked_at() -> None:
    throttle = Throttle()
    assert sum(throttle.attempt("n", "a", AT) == 0 for _ in range(100)) == 5


def test_whoever_knows_the_password_waits_half_a_minute_at_most_while_others_guess() -> None:
    throttle, at = Throttle(), AT
    for number in range(2000):  # a guesser with an address for each try
        throttle.attempt("owner", f"address {number}", at)
        at += timedelta(seconds=1)
    throttle.attempt("owner", "one more", at)
    assert 0 < throttle.attempt("owner", "the desk", at) <= 30


def test_a_desk_that_has_signed_in_before_does_not_wait_for_what_others_try() -> None:
    throttle, at = Throttle(), AT
    assert throttle.attempt("owner", "the desk", at) == 0
    throttle.passed("owner", "the desk")
    for number in range(2000):
        throttle.attempt("owner", f"address {number}", at)
        at += timedelta(seconds=1)
    assert throttle.attempt("owner", "the desk", at) == 0
    throttle.passed("owner", "the desk")
    tried = sum(throttle.attempt("owner", "the desk", at) == 0 for _ in range(50))
    assert tried == 5  # its own tries are counted as ever


def test_a_right_password_clears_its_own_tries_and_no_others() -> None:
    throttle = Throttle()
    for _ in range(5):
        throttle.attempt("mine", "a", AT)
    throttle.passed("mine", "a")
    assert throttle.attempt("mine", "a", AT) == 0
    made = 0
    for number in range(100):  # an account of one's own does not clear the tries of the address
        if throttle.attempt(f"other {number}", "a", AT) == 0:
            made += 1
        if throttle.attempt("mine", "a", AT) == 0:
            throttle.passed("mine", "a")
    assert made <= 20


def test_what_was_counted_is_forgotten_after_an_hour_and_bounded() -> None:
    tries = Tries()
    throttle = Throttle(in_process(tries))
    for _ in range(5):
        throttle.attempt("n", "a", AT)
    assert throttle.attempt("n", "a", AT) > 0
    assert throttle.attempt("n", "a", AT + timedelta(hours=1, seconds=1)) == 0
    for number in range(COUNTS_MAX):
        throttle.attempt(f"n{number}", f"a{number}", AT)
    assert len(tries.counts) <= COUNTS_MAX
