"""Digests: of values in canonical form, and what has the form of one."""

import pytest

from heelstamp.archive import canonical_json, digest_of, is_digest, sha256


def test_a_digest_is_that_of_the_canonical_bytes() -> None:
    value = {"b": 1, "a": [1.50, None]}
    assert (
        digest_of(value) == sha256(canonical_json(value)) == digest_of({"a": [1.5, None], "b": 1})
    )


@pytest.mark.parametrize("text", ["", "a" * 63, "a" * 65, "A" * 64, "g" * 64, None, 5])
def test_what_is_no_digest(text: object) -> None:
    assert not is_digest(text)


def test_what_is_one() -> None:
    assert is_digest(sha256(b""))
