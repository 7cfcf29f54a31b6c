"""Accounts: the order of roles, names that sign, passwords that are long enough."""

import unicodedata
from datetime import UTC, datetime, timedelta

import pytest

from heelstamp.casework.sharing import (
    Account,
    Role,
    check_name,
    check_password,
    new_session,
    refreshed,
    role_named,
    stands,
)
from heelstamp.casework.sharing.sessions import IDLE, LASTS, LASTS_PAIRED, NOTED_EVERY
from heelstamp.errors import InputError
from heelstamp.reference.common_passwords import is_common_password

AT = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


def test_each_role_may_what_those_before_it_may_and_no_more() -> None:
    order = [Role.READER, Role.PAIRED_DEVICE, Role.EXAMINER, Role.OWNER]
    for number, role in enumerate(order):
        assert [role.may(least) for least in order] == [n <= number for n in range(4)]


def test_second_hand_is_no_role_of_an_account() -> None:
    assert role_named("owner") is Role.OWNER
    for name in ("paired device", "Owner", "root", ""):
        with pytest.raises(InputError, match="no such role"):
            role_named(name)


def test_an_account_that_enters_is_one_of_the_shops_examiners() -> None:
    assert check_name("  examiner C ", Role.EXAMINER, ()) == "examiner C"
    assert check_name("a reader", Role.READER, ("examiner A",)) == "a reader"
    for role in (Role.EXAMINER, Role.OWNER):
        with pytest.raises(InputError, match="not one of the shop's examiners") as caught:
            check_name("luthier", role, ("examiner A",))
        assert "examiner A" in caught.value.remedy
    for name in ("", "   ", "a\nb", "a\x00", "x" * 61, "a\u202eb"):
        with pytest.raises(InputError, match="named by a role"):
            check_name(name, Role.READER, ())


def test_a_password_is_long_and_says_nothing_of_its_account() -> None:
    assert (
        check_password("seven herons stand", "examiner A", is_common_password)
        == "seven herons stand"
    )
    composed = check_password("Gr\u0065\u0301gory by the lake", "x y", is_common_password)
    assert composed == unicodedata.normalize("NFC", composed)
    assert "\u00e9" in composed
    for password in (
        "short",
        "x" * 11,
        "x" * 300,
        "aaaaaaaaaaaaaaa",
        "abababababab",
        "",
        "I am Examiner A indeed",
    ):
        with pytest.raises(InputError) as caught:
            check_password(password, "examiner A", is_common_password)
        assert password == "" or password not in str(caught.value)


def test_a_session_stands_until_it_is_idle_or_over() -> None:
    account = Account("examiner A", Role.OWNER, "", AT)
    session = new_session(account, "token", "a\x1bbrowser" + "y" * 300, AT)
    assert session.role is Role.OWNER
    assert session.device.startswith("abrowser")
    assert len(session.device) == 120
    assert stands(session, AT + IDLE - timedelta(seconds=1))
    assert not stands(session, AT + IDLE)
    assert refreshed(session, AT + NOTED_EVERY - timedelta(seconds=1)) is None
    used = refreshed(session, AT + LASTS - timedelta(seconds=1))
    assert used is not None
    assert stands(used, AT + LASTS - timedelta(seconds=1))
    assert not stands(used, AT + LASTS)


def test_a_paired_device_is_a_second_hand_for_a_day_whoever_paired_it() -> None:
    for role in (Role.OWNER, Role.EXAMINER):
        session = new_session(Account("x", role, "", AT), "t", "", AT, paired=True)
        assert session.role is Role.PAIRED_DEVICE
        assert session.until == AT + LASTS_PAIRED


@pytest.mark.parametrize(
    "password",
    [
        "password123456",
        "passwordpassword",
        "PASSWORD-2026!!",
        "sunshinesunshine",
        "qwertyuiop1234567",
        "iloveyou99999999!",
    ],
)
def test_a_common_password_is_refused_however_it_is_dressed(password: str) -> None:
    with pytest.raises(InputError, match="easily guessed"):
        check_password(password, "examiner A", is_common_password)


def test_the_list_holds_ten_thousand_and_takes_no_other_word_for_one() -> None:
    assert is_common_password("123456")
    assert is_common_password("Dragon")
    assert not any(is_common_password(f"a word of mine {number}") for number in range(20_000))
