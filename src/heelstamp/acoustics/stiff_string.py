"""The law of a stiff string, and its stiffness from wire and scale.

f_n = n f0 sqrt(1 + B n²), pinned ends [fletcher_1964]; f1 = f0 sqrt(1 + B). B = π³ E d⁴ / (64 T L²)
for plain round wire under tension T, or without T, by T = ρ (π d²/4) (2 L f0)², B = π² E d² / (64 ρ
f0² L⁴). Wound strings follow the law with the core's stiffness, B then being measured rather than
computed.
"""

from __future__ import annotations

import math

CENT = math.log(2.0) / 1200.0
_T95 = (6.314, 2.920, 2.353, 2.132, 2.015, 1.943, 1.895, 1.860, 1.833, 1.812)
"""Student's t, 95th percentile for 1 to 10 degrees of freedom (from memory of the usual table)."""


def inharmonicity(
    diameter_m: float, length_m: float, f0_hz: float, modulus_pa: float, density_kg_m3: float
) -> float:
    """B of a plain string from wire, scale and pitch."""
    return float(
        math.pi**2 * modulus_pa * diameter_m**2 / (64.0 * density_kg_m3 * f0_hz**2 * length_m**4)
    )


def inharmonicity_under_tension(
    diameter_m: float, length_m: float, tension_n: float, modulus_pa: float
) -> float:
    """B of a plain string from wire, scale and tension."""
    return float(math.pi**3 * modulus_pa * diameter_m**4 / (64.0 * tension_n * length_m**2))


def partial_hz(number: int, f0_hz: float, b: float) -> float:
    """The frequency of a partial."""
    return float(number * f0_hz * math.sqrt(1.0 + b * number * number))


def stretch_cents(number: int, b: float) -> float:
    """How far a partial lies above the whole multiple of f0, in cents."""
    return float(600.0 * math.log2(1.0 + b * number * number))


def t95(freedom: int) -> float:
    """Student's 95th percentile, for two-sided 90 % intervals."""
    if freedom < 1:
        return _T95[0]
    if freedom <= len(_T95):
        return _T95[freedom - 1]
    return 1.6449 + 1.53 / freedom
