"""Canonical JSON and SHA-256 against the values printed in their standards.

RFC 8785, June 2020: the example of 3.2.2 with its canonical form (3.2.3) and bytes (3.2.4), the
sorting example of 3.2.3, and the number table of Appendix B. The rows were written down from
memory and then found identical in several public test suites that quote the RFC, and (20 rows) in
the first draft of the document; the RFC's own page was not at hand.

FIPS 180-4 examples: the one-block and two-block messages of NIST's example file for SHA-256
("abc" and the 448-bit message), the empty message and a million times "a"; from memory.
"""

import json
import struct

import pytest
import rfc8785
from hypothesis import example, given, settings
from hypothesis import strategies as st

from heelstamp.archive import canonical_json, read_json, sha256
from heelstamp.errors import InputError

SAMPLE = r"""{
  "numbers": [333333333.33333329, 1E30, 4.50,
              2e-3, 0.000000000000000000000000001],
  "string": "\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/",
  "literals": [null, true, false]
}"""
SAMPLE_BYTES = """
7b 22 6c 69 74 65 72 61 6c 73 22 3a 5b 6e 75 6c 6c 2c 74 72 75 65 2c 66 61 6c 73 65 5d 2c 22 6e
75 6d 62 65 72 73 22 3a 5b 33 33 33 33 33 33 33 33 33 2e 33 33 33 33 33 33 33 2c 31 65 2b 33 30
2c 34 2e 35 2c 30 2e 30 30 32 2c 31 65 2d 32 37 5d 2c 22 73 74 72 69 6e 67 22 3a 22 e2 82 ac 24
5c 75 30 30 30 66 5c 6e 41 27 42 5c 22 5c 5c 5c 5c 5c 22 2f 22 7d
"""

SORTING = r"""{
  "\u20ac": "Euro Sign", "\r": "Carriage Return", "\ufb33": "Hebrew Letter Dalet With Dagesh",
  "1": "One", "\ud83d\ude00": "Emoji: Grinning Face", "\u0080": "Control",
  "\u00f6": "Latin Small Letter O With Diaeresis"
}"""
SORTED = [
    "Carriage Return",
    "One",
    "Control",
    "Latin Small Letter O With Diaeresis",
    "Euro Sign",
    "Emoji: Grinning Face",
    "Hebrew Letter Dalet With Dagesh",
]

NUMBERS = {
    "0000000000000000": "0",
    "8000000000000000": "0",
    "0000000000000001": "5e-324",
    "8000000000000001": "-5e-324",
    "7fefffffffffffff": "1.7976931348623157e+308",
    "ffefffffffffffff": "-1.7976931348623157e+308",
    "4340000000000000": "9007199254740992",
    "c340000000000000": "-9007199254740992",
    "4430000000000000": "295147905179352830000",
    "44b52d02c7e14af5": "9.999999999999997e+22",
    "44b52d02c7e14af6": "1e+23",
    "44b52d02c7e14af7": "1.0000000000000001e+23",
    "444b1ae4d6e2ef4e": "999999999999999700000",
    "444b1ae4d6e2ef4f": "999999999999999900000",
    "444b1ae4d6e2ef50": "1e+21",
    "3eb0c6f7a0b5ed8c": "9.999999999999997e-7",
    "3eb0c6f7a0b5ed8d": "0.000001",
    "41b3de4355555553": "333333333.3333332",
    "41b3de4355555554": "333333333.33333325",
    "41b3de4355555555": "333333333.3333333",
    "41b3de4355555556": "333333333.3333334",
    "41b3de4355555557": "333333333.33333343",
    "becbf647612f3696": "-0.0000033333333333333333",
    "43143ff3c1cb0959": "1424953923781206.2",
}


def double(bits: str) -> float:
    (value,) = struct.unpack(">d", bytes.fromhex(bits))
    return float(value)


def test_the_example_of_section_3_2_2_gives_the_bytes_of_section_3_2_4() -> None:
    assert canonical_json(read_json(SAMPLE)) == bytes.fromhex(SAMPLE_BYTES)


def test_properties_sort_by_utf_16_code_unit() -> None:
    canonical = canonical_json(read_json(SORTING))
    assert list(json.loads(canonical).values()) == SORTED
    assert canonical.startswith(b'{"\\r":"Carriage Return","1":"One","\xc2\x80":"Control"')


@pytest.mark.parametrize(("bits", "written"), NUMBERS.items())
def test_appendix_b(bits: str, written: str) -> None:
    assert canonical_json(double(bits)).decode() == written


@pytest.mark.parametrize(("bits", "written"), NUMBERS.items())
def test_a_number_of_appendix_b_is_read_back_as_the_same_value(bits: str, written: str) -> None:
    assert canonical_json(read_json(written)).decode() == written
    assert float(read_json(written)) == double(bits)


@pytest.mark.parametrize("bits", ["7fffffffffffffff", "7ff0000000000000", "fff0000000000000"])
def test_appendix_b_has_no_form_for_nan_and_infinity(bits: str) -> None:
    with pytest.raises(InputError, match="not finite"):
        canonical_json({"value": double(bits)})


@pytest.mark.parametrize(
    ("message", "digest"),
    [
        (b"abc", "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
        (
            b"abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
        (b"", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        (b"a" * 1_000_000, "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
    ],
)
def test_sha_256_examples(message: bytes, digest: str) -> None:
    assert sha256(message) == digest


PLAIN = st.recursive(
    st.none()
    | st.booleans()
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.sampled_from([1e-4, 9.999e-5, 1e16, 1e15 + 0.5, 4.0, -0.0, 1e21, 0.1, 5e-324])
    | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner) | st.tuples(inner, inner),
    max_leaves=12,
)


@settings(max_examples=400)
@given(value=PLAIN)
@example(value={"a\x7f\u2028": '\0\x1f\x7f\u2028\ud7ff\uffff\U0001f3b8/\\"\b\f\n\r\t'})
@example(value={"\U0001f3b8": 1, "\ufb33": 2, "a": 3, "A": 4, "": 5})
def test_it_is_what_the_package_for_the_standard_writes(value: object) -> None:
    """Against the package ``rfc8785``, also where the standard library writes the text."""
    assert canonical_json(value) == rfc8785.dumps(value)  # type: ignore[arg-type]
