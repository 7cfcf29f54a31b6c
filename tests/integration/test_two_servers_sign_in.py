"""Several servers of one shop count tries together, and let devices in by each other's codes."""

from __future__ import annotations

from pathlib import Path

import pytest

from fakes.shared_shop import PASSWORDS, Clock, shared_quickly, with_accounts
from heelstamp.archive import sha256
from heelstamp.errors import ConflictError
from heelstamp.shop import create_shop
from heelstamp.shop.sharing import SignInRefusedError, WaitError

pytestmark = pytest.mark.postgres
OWNER = "examiner A"


def test_tries_pairing_and_second_factors_belong_to_the_shop(
    tmp_path: Path, postgres_address: str
) -> None:
    folder, clock = tmp_path / "served", Clock()
    create_shop(folder, name="Served", currency="USD", database=postgres_address).close()
    with_accounts(folder)
    one, other = (shared_quickly(folder, now=clock) for _ in range(2))
    try:
        # a try counts whichever is asked
        for n in range(5):
            with pytest.raises(SignInRefusedError):
                (one, other)[n % 2].sign_in("a reader", "wrong", "192.0.2.1", "x")
        for server in (one, other):
            with pytest.raises(WaitError):
                server.sign_in("a reader", PASSWORDS["a reader"], "192.0.2.1", "x")
        # a code that one shows is asked for, let in and collected at the other
        desk = one.who(one.sign_in(OWNER, PASSWORDS[OWNER], "192.0.2.2", "desk"))
        assert desk is not None
        offer = one.offer(desk)
        claimed = other.claim(offer.code, "a telephone")
        assert other.collect(claimed.claim) is None
        one.confirm(desk, claimed.check)
        token = other.collect(claimed.claim)
        assert token is not None
        assert one.who(token) is not None
        with pytest.raises(ConflictError):
            one.collect(claimed.claim)  # once
        # a secret that one proposed is confirmed at the other
        import pyotp

        secret, _ = one.propose_second_factor(desk)
        code = pyotp.TOTP(secret).at(clock.at)
        assert other.confirm_second_factor(desk, code, PASSWORDS[OWNER], "192.0.2.2")
        # what the next server reads is what stands
        third = shared_quickly(folder, now=clock)
        with pytest.raises(WaitError):
            third.sign_in("a reader", "wrong", "192.0.2.1", "x")
        third.close()
    finally:
        one.close()
        other.close()
    assert sha256(token.encode()) != token
