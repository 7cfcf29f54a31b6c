"""Codes of an authenticator against the published examples, and codes to recover by."""

from __future__ import annotations

import base64
from datetime import UTC, datetime, timedelta

import pytest

from heelstamp.casework.sharing.second_factor import (
    STEP_S,
    address_for,
    in_groups,
    recovery_digest,
    step_of,
)

SECRET = base64.b32encode(b"12345678901234567890").decode()
PUBLISHED = (
    (59, "94287082"),
    (1_111_111_109, "07081804"),
    (1_111_111_111, "14050471"),
    (1_234_567_890, "89005924"),
    (2_000_000_000, "69279037"),
    (20_000_000_000, "65353130"),
)
"""RFC 6238, appendix B, SHA-1, eight digits; the last six of them are the code of six."""


@pytest.mark.parametrize(("seconds", "code"), PUBLISHED)
def test_the_published_codes_are_taken(seconds: int, code: str) -> None:
    at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)
    assert step_of(SECRET, code[-6:], at) == seconds // STEP_S
    assert step_of(SECRET, f" {code[-6:-3]} {code[-3:]}", at) == seconds // STEP_S


def test_a_code_serves_a_step_early_or_late_and_no_more() -> None:
    seconds, code = PUBLISHED[3]
    at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)
    taken = [
        step_of(SECRET, code[-6:], at + timedelta(seconds=STEP_S * late)) is not None
        for late in (-2, -1, 0, 1, 2)
    ]
    assert taken == [False, True, True, True, False]


def test_a_used_step_and_all_before_it_are_not_taken_again() -> None:
    seconds, code = PUBLISHED[3]
    at = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=seconds)
    step = seconds // STEP_S
    assert step_of(SECRET, code[-6:], at, after=step - 1) == step
    assert step_of(SECRET, code[-6:], at, after=step) is None


@pytest.mark.parametrize(
    "code", ["", "12345", "1234567", "abcdef", "-12345", "１２３４５６", "1e5 00"]
)
def test_what_is_no_code_is_not_taken(code: str) -> None:
    assert step_of(SECRET, code, datetime(2026, 1, 1, tzinfo=UTC)) is None


def test_the_address_names_account_and_issuer() -> None:
    told = address_for(SECRET, "examiner A", "the shop")
    assert told.startswith("otpauth://totp/")
    assert f"secret={SECRET}" in told
    assert "examiner%20A" in told


def test_a_recovery_code_is_the_same_however_it_is_written() -> None:
    code = "ABCDEFGH234567AB"
    assert in_groups(code) == "ABCD-EFGH-2345-67AB"
    kept = recovery_digest("examiner A", code)
    assert recovery_digest("examiner A", " abcd efgh-2345 67ab ") == kept
    assert recovery_digest("examiner B", code) != kept
