"""A second factor, switched on by its owner: what signs in then, and what does not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pyotp
import pytest
from starlette.testclient import TestClient

from fakes.shared_shop import PASSWORDS, SharedShop, make_shared, opened, paired

NAME = "examiner B"


@pytest.fixture
def shop(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[SharedShop]:
    """A shop of its own, whose passwords are hashed quickly."""
    for name, quick in (("PASSES", 1), ("MEMORY_KIB", 64), ("LANES", 1)):
        monkeypatch.setattr(f"heelstamp.store.passwords.{name}", quick)
    made = make_shared(tmp_path)
    with opened(made):
        made.sharing.now = made.clock
        yield made


def switched_on(shop: SharedShop, device: TestClient) -> tuple[pyotp.TOTP, list[str]]:
    """Set it up as a person would; give the authenticator and the codes to recover by."""
    text = device.post("/account/second-factor").text
    found = re.search(r"<code>([A-Z2-7]{32})</code>", text)
    assert found is not None
    assert "<svg" in text
    authenticator = pyotp.TOTP(found[1])
    told = {"code": authenticator.at(shop.clock.at), "password": PASSWORDS[NAME]}
    answer = device.post("/account/second-factor/on", data=told)
    assert answer.status_code == 200, answer.text
    codes = re.findall(r"<code>((?:[A-Z2-7]{4}-){3}[A-Z2-7]{4})</code>", answer.text)
    assert len(set(codes)) == 10
    return authenticator, codes


def sign_in(shop: SharedShop, code: str, password: str = PASSWORDS[NAME]) -> int:
    told = {"name": NAME, "password": password, "code": code}
    return shop.device().post("/sign-in", data=told).status_code


def test_signing_in_takes_password_and_a_code_that_was_not_used(shop: SharedShop) -> None:
    authenticator, _ = switched_on(shop, shop.signed_in(NAME))
    assert sign_in(shop, authenticator.at(shop.clock.at)) == 401  # it confirmed the set-up
    shop.clock.turn(seconds=60)
    code = authenticator.at(shop.clock.at)
    assert sign_in(shop, "") == 401
    assert sign_in(shop, "000000" if code != "000000" else "000001") == 401
    assert sign_in(shop, code, "not the password at all") == 401
    assert sign_in(shop, code) == 303
    assert sign_in(shop, code) == 401
    shop.clock.turn(minutes=5)
    assert sign_in(shop, code) == 401
    assert sign_in(shop, authenticator.at(shop.clock.at)) == 303


def test_a_code_to_recover_by_signs_in_once(shop: SharedShop) -> None:
    _, codes = switched_on(shop, shop.signed_in(NAME))
    assert sign_in(shop, codes[3].lower().replace("-", " ")) == 303
    assert sign_in(shop, codes[3]) == 401
    assert sign_in(shop, codes[4]) == 303
    kept = b"".join(one.read_bytes() for one in shop.folder.rglob("heelstamp.db*"))
    for code in codes:
        assert code.encode() not in kept
        assert code.replace("-", "").encode() not in kept


def test_wrong_codes_are_slowed_down_like_wrong_passwords(shop: SharedShop) -> None:
    switched_on(shop, shop.signed_in(NAME))
    told = {"name": NAME, "password": PASSWORDS[NAME], "code": "111111"}
    device = shop.device("192.0.2.99")
    answers = [device.post("/sign-in", data=told).status_code for _ in range(12)]
    assert answers[0] == 401
    assert answers[-1] == 429


def test_nothing_changes_before_the_first_code_came(shop: SharedShop) -> None:
    device = shop.signed_in(NAME)
    device.post("/account/second-factor")
    assert sign_in(shop, "") == 303
    for told in (
        {"code": "000000", "password": PASSWORDS[NAME]},
        {"code": "000000", "password": "wrong wrong wrong"},
    ):
        assert device.post("/account/second-factor/on", data=told).status_code in (401, 422)
    assert sign_in(shop, "") == 303
    shop.clock.turn(minutes=11)
    late = device.post("/account/second-factor/on", data=told)
    assert late.status_code == 409


def test_it_ends_by_its_owner_and_by_the_shops_and_by_nobody_else(shop: SharedShop) -> None:
    device = shop.signed_in(NAME)
    switched_on(shop, device)
    phone = paired(shop, device)
    off = {"password": PASSWORDS[NAME]}
    assert phone.post("/account/second-factor/off", data=off).status_code == 409
    assert phone.post("/account/second-factor").status_code == 409
    assert device.post("/account/second-factor/off", data={"password": "x"}).status_code == 401
    assert sign_in(shop, "") == 401
    assert device.post("/account/second-factor/off", data=off).status_code == 303
    assert sign_in(shop, "") == 303
    shop.clock.turn(minutes=2)
    switched_on(shop, device)
    assert device.post("/accounts/second-factor-off", data={"name": NAME}).status_code == 403
    owner = shop.signed_in("examiner A")
    assert "sign in without a code" in owner.get("/accounts").text
    assert owner.post("/accounts/second-factor-off", data={"name": NAME}).status_code == 303
    assert sign_in(shop, "") == 303


def test_an_account_that_is_removed_takes_its_factor_along(shop: SharedShop) -> None:
    switched_on(shop, shop.signed_in(NAME))
    shop.sharing.store.remove(NAME)
    assert shop.sharing.store.second_factor(NAME) is None
