"""Lengths typed in millimetres and inches; the inch of 1959 is 25.4 mm exactly."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from heelstamp.errors import InputError
from heelstamp.units import read_length, show_length, with_inches


@pytest.mark.parametrize(
    ("text", "unit", "mm", "typed"),
    [
        ("1.6", "mm", 1.6, ""),
        ("0.010", "in", 0.254, "0.010 in"),
        (".009", "in", 0.2286, ".009 in"),
        ("4/64", "in", 1.5875, "4/64 in"),
        ("25 1/4", "in", 641.35, "25 1/4 in"),
        ("1.6 mm", "in", 1.6, ""),
        ('5/64"', "mm", 1.984375, "5/64 in"),
        ("−0.05", "mm", -0.05, ""),
        ("-1/64 in", "mm", -0.396875, "-1/64 in"),
    ],
)
def test_a_length_is_kept_in_millimetres_with_what_was_typed(
    text: str, unit: str, mm: float, typed: str
) -> None:
    read = read_length(text, unit)  # type: ignore[arg-type]
    assert (read.mm, read.typed) == (pytest.approx(mm, abs=1e-9), typed)


@pytest.mark.parametrize(
    "text",
    [
        "",
        "1,6",
        "nan",
        "inf",
        "1e3",
        "4/0",
        "1/00",
        "1 1/0000",
        "1 2.5",
        "5001",
        "9" * 40,
        "0x10",
        "1/2/3",
        "\u0661",
    ],
)
def test_what_is_no_length_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        read_length(text, "mm")


@given(st.integers(0, 64 * 30))
def test_a_sixty_fourth_typed_is_a_sixty_fourth_kept(count: int) -> None:
    assert read_length(f"{count}/64", "in").mm == pytest.approx(count * 25.4 / 64, abs=5.1e-7)


def test_what_is_shown_keeps_the_digits_that_were_earned() -> None:
    assert show_length(2.3, 0.05, "mm") == "2.30 ± 0.05 mm"
    assert show_length(2.3, 0.05, "in") == "0.0906 ± 0.0020 in"
    assert show_length(-0.66, 0.0, "in") == "−0.026 in"


def test_sentences_get_inches_in_brackets_and_rates_stay() -> None:
    told = with_inches("Relief 0.33 ± 0.04 mm; 90 % between 0.26 and 0.41 mm; 0.80 mm/turn.")
    assert told == (
        "Relief 0.33 ± 0.04 mm (0.0130 ± 0.0016 in); 90 % between 0.26 and 0.41 mm "
        "(0.010 and 0.016 in); 0.80 mm/turn."
    )
    assert with_inches("a scale of 641.4 mm") == "a scale of 641.4 mm (25.252 in)"
