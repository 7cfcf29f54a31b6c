"""Linear light and Lab: worked values, and any array at all."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as hnp

from heelstamp.luminescence.linear import PhotographError, as_code_values, decode, lab, srgb_decode


def test_srgb_curve_at_its_ends_and_joint():
    # IEC 61966-2-1: linear below 0.04045, mid grey 0.5 -> 0.21404
    assert srgb_decode([0.0, 0.04045, 0.5, 1.0]) == pytest.approx(
        [0.0, 0.0031308, 0.2140411, 1.0], abs=1e-6
    )


def test_the_table_is_the_curve():
    code = np.arange(256, dtype=np.uint8).reshape(16, 16, 1).repeat(3, axis=2)
    assert decode(code)[..., 0].ravel() == pytest.approx(
        srgb_decode(np.arange(256) / 255), abs=1e-6
    )


def test_lab_of_white_black_and_red():
    found = lab(np.array([[1.0, 1.0, 1.0], [0.0, 0.0, 0.0], [1.0, 0.0, 0.0]]))
    assert found[0] == pytest.approx([100, 0, 0], abs=0.01)
    assert found[1] == pytest.approx([0, 0, 0], abs=0.01)
    # CIE 15 with the primaries of ITU-R BT.709: 53.24, 80.09, 67.20
    assert found[2] == pytest.approx([53.24, 80.09, 67.20], abs=0.02)


def test_sixteen_bits_and_fractions_give_the_same_codes():
    code = np.arange(0, 256, dtype=np.uint8).reshape(16, 16)
    deep = code.astype(np.uint16) * 257
    assert np.array_equal(as_code_values(code, "x"), as_code_values(deep, "x"))
    assert np.array_equal(as_code_values(code, "x"), as_code_values(code / 255.0, "x"))


@given(
    hnp.arrays(
        dtype=hnp.scalar_dtypes() | hnp.unicode_string_dtypes(),
        shape=hnp.array_shapes(min_dims=0, max_dims=4, min_side=0, max_side=6),
    )
)
def test_any_array_is_read_or_refused(array):
    try:
        code = as_code_values(array, "photograph")
    except PhotographError:
        return
    assert code.dtype == np.uint8
    assert code.shape[2] == 3


@given(st.sampled_from([None, "text", 3, [], [[1, 2], [3]], {}]))
def test_what_is_no_array_is_refused(thing):
    with pytest.raises(PhotographError):
        as_code_values(thing, "photograph")
