"""Accounts and sessions kept alike by SQLite and PostgreSQL, and passwords by Argon2id."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from argon2 import extract_parameters

from fakes.databases import accounts_on
from heelstamp.casework.sharing import Account, Role, Session, new_session
from heelstamp.errors import ConflictError, InputError
from heelstamp.shop import create_shop
from heelstamp.shop.sharing import Sharing
from heelstamp.store.accounts import DatabaseAccounts
from heelstamp.store.passwords import Argon2Passwords

AT = datetime(2026, 11, 2, 9, 0, tzinfo=UTC)


@pytest.fixture
def store(database: str) -> Iterator[DatabaseAccounts]:
    opened = accounts_on(database)
    yield opened
    opened.close()


def account(name: str, role: Role = Role.EXAMINER) -> Account:
    return Account(name, role, f"hash of {name}", AT)


def opened(store: DatabaseAccounts, name: str, token: str, **later: float) -> Session:
    owner = store.account(name)
    assert owner is not None
    session = new_session(owner, token, "schräg 😀", AT + timedelta(**later))
    store.keep(session)
    return session


def test_accounts_come_back_as_they_were_added(store: DatabaseAccounts) -> None:
    assert store.accounts() == ()
    added = [
        account("examiner B"),
        account("Prüfer Ä", Role.OWNER),
        account("a reader", Role.READER),
    ]
    for one in added:
        store.add(one)
    assert set(store.accounts()) == set(added)
    assert [one.name for one in store.accounts()] == sorted(one.name for one in added)
    assert store.account("examiner B") == added[0]
    assert store.account("examiner b") is None
    for name in ("examiner B\x00", "a\nb", "\ud800"):
        assert store.account(name) is None
        for act in (store.remove, lambda one: store.set_password(one, "x")):
            with pytest.raises(InputError, match="no such account"):
                act(name)
    with pytest.raises(ConflictError, match="already"):
        store.add(account("examiner B", Role.OWNER))
    assert store.account("examiner B") == added[0]


def test_sessions_come_back_and_are_found_by_their_digest_alone(store: DatabaseAccounts) -> None:
    store.add(account("examiner B"))
    first, second = opened(store, "examiner B", "t1"), opened(store, "examiner B", "t2", hours=1)
    assert store.session(first.digest) == first
    assert store.session("t1") is None
    assert store.sessions() == (second, first)
    later = AT + timedelta(hours=2)
    store.used(first.digest, later)
    kept = store.session(first.digest)
    assert kept is not None
    assert kept.seen == later
    assert store.sessions()[0] == kept
    store.end(first.digest)
    store.end(first.digest)
    assert store.sessions() == (second,)


def test_a_new_password_and_the_end_of_the_sessions_are_one(store: DatabaseAccounts) -> None:
    for name in ("examiner B", "examiner C"):
        store.add(account(name))
    opened(store, "examiner B", "t1")
    other = opened(store, "examiner C", "t2")
    store.set_password("examiner B", "another")
    assert store.sessions() == (other,)
    changed = store.account("examiner B")
    assert changed is not None
    assert changed.password == "another"
    with pytest.raises(InputError, match="no such account"):
        store.set_password("nobody", "another")


def test_removing_takes_the_sessions_along_and_leaves_an_owner(store: DatabaseAccounts) -> None:
    store.add(account("one", Role.OWNER))
    store.add(account("two", Role.OWNER))
    opened(store, "two", "t")
    store.remove("two")
    assert store.sessions() == ()
    with pytest.raises(ConflictError, match="last owner"):
        store.remove("one")
    with pytest.raises(InputError, match="no such account"):
        store.remove("two")
    assert [one.name for one in store.accounts()] == ["one"]


def test_a_session_of_a_removed_account_is_not_kept(store: DatabaseAccounts) -> None:
    with pytest.raises(InputError, match="no such account"):
        store.keep(new_session(account("gone"), "t", "", AT))
    assert store.sessions() == ()


def test_what_has_ended_is_forgotten(store: DatabaseAccounts) -> None:
    store.add(account("examiner B"))
    opened(store, "examiner B", "old")
    fresh = opened(store, "examiner B", "fresh", days=6)
    store.forget(AT + timedelta(days=6), AT + timedelta(days=5))
    assert store.sessions() == (fresh,)


def test_a_password_is_kept_by_the_second_recommended_option_of_rfc_9106() -> None:
    """RFC 9106, section 4: Argon2id, t = 3, p = 4, m = 2^16 KiB, salt 128 bits, tag 256 bits."""
    passwords = Argon2Passwords()
    kept = passwords.hashed("seven herons stand quietly")
    found = extract_parameters(kept)
    assert kept.startswith("$argon2id$v=19$m=65536,t=3,p=4$")
    assert (found.salt_len, found.hash_len) == (16, 32)
    assert kept != passwords.hashed("seven herons stand quietly")
    assert passwords.fits(kept, "seven herons stand quietly")
    assert not passwords.fits(kept, "seven herons stand quietly ")
    assert not passwords.fits(None, "the password of a name that nobody has")
    assert not passwords.fits("no hash at all", "x")


@pytest.mark.postgres
def test_a_shop_on_postgresql_is_signed_in_to_as_any_other(
    tmp_path: Path, postgres_address: str
) -> None:
    shop = tmp_path / "shop"
    create_shop(shop, name="Own", currency="USD", database=postgres_address).close()
    sharing = Sharing(shop)
    sharing.add("examiner A", "owner", "seven herons stand quietly")
    token = sharing.sign_in("examiner A", "seven herons stand quietly", "192.0.2.1", "a desk")
    who = sharing.who(token)
    assert who is not None
    assert (who.account, who.role) == ("examiner A", Role.OWNER)
    sharing.set_password("examiner A", "a kettle under the stairs")
    assert sharing.who(token) is None
    sharing.close()


def test_the_database_refuses_a_role_that_no_account_has(tmp_path: Path) -> None:
    store = accounts_on(str(tmp_path / "x.db"))
    with pytest.raises(ConflictError):
        store.add(Account("x", Role.PAIRED_DEVICE, "h", AT))
    assert store.accounts() == ()
    store.close()
