"""The picture of a pickup's response: level over frequency, the peak marked, what is assumed said.

Frequency on a logarithmic axis from 50 Hz to 20 kHz, level in dB against the plateau. Each curve
has its own dash and label, so that no meaning hangs on colour.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from heelstamp.electrics import Circuit, Resonance, level_db
from heelstamp.report import svg

WIDTH_MM, HEIGHT_MM = 166.0, 92.0
LEFT, RIGHT, TOP, BOTTOM = 16.0, 160.0, 12.0, 78.0
LOW_HZ, HIGH_HZ = 50.0, 20_000.0
LEAST_DB, MOST_DB = -24.0, 18.0
DASHES = ("", "2 1", "0.6 0.8", "3 1 0.6 1")
INKS = (svg.BLUE, svg.AMBER, svg.INK, svg.GREY)
_MARKS_HZ = (50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000)


@dataclass(frozen=True, slots=True)
class Curve:
    """One response to draw."""

    label: str
    circuit: Circuit
    resonance: Resonance | None


def response_svg(curves: Sequence[Curve], assumed: Sequence[str]) -> str:
    """Draw responses, 166 mm wide."""
    parts = [svg.text(LEFT, 7.0, "Response at the jack, dB against the plateau", bold=True)]
    for hz in _MARKS_HZ:
        x = _x(float(hz))
        parts.append(svg.line(x, TOP, x, BOTTOM, dash="0.6 0.8", width=0.15))
        told = f"{hz // 1000} kHz" if hz >= 1000 else f"{hz} Hz"
        parts.append(svg.text(x, BOTTOM + 4.4, told, anchor="middle", fill=svg.GREY))
    for db in range(int(LEAST_DB), int(MOST_DB) + 1, 6):
        y = _y(float(db))
        parts.append(svg.line(LEFT, y, RIGHT, y, width=0.3 if db == 0 else 0.15))
        told = f"{db:+d}".replace("-", "−") if db else "0"
        parts.append(svg.text(LEFT - 1.5, y + 1.0, told, anchor="end", fill=svg.GREY))
    for number, curve in enumerate(curves):
        parts += _curve(curve, number)
    note = "Assumed, not measured: " + ", ".join(assumed) + "." if assumed else ""
    parts.append(svg.text(LEFT, HEIGHT_MM - 2.0, note, fill=svg.GREY))
    return svg.drawing(WIDTH_MM, HEIGHT_MM, parts)


def _curve(curve: Curve, number: int) -> list[str]:
    ink, dash = INKS[number % len(INKS)], DASHES[number % len(DASHES)]
    hz = np.geomspace(LOW_HZ, HIGH_HZ, 260)
    one = curve.circuit
    base = float(level_db(np.array([1.0]), one.pickup, one.controls, one.load)[0])
    level = level_db(hz, one.pickup, one.controls, one.load) - base
    shown = level >= LEAST_DB
    parts = [_line(hz[shown], level[shown], ink, dash)]
    label, y = curve.label, TOP + 5.0 + 4.6 * number
    parts.append(svg.line(LEFT + 3, y - 1.0, LEFT + 13, y - 1.0, stroke=ink, width=0.6, dash=dash))
    peak = curve.resonance
    if peak is not None:
        at, doubt = peak.frequency_hz, peak.frequency_standard
        y_peak = _y(peak.peak_db)
        ends = (_x(max(LOW_HZ, at - doubt)), _x(min(HIGH_HZ, at + doubt)))
        parts.append(svg.line(ends[0], y_peak, ends[1], y_peak, stroke=ink, width=0.3))
        parts.append(svg.circle(_x(at), y_peak, 0.9, fill=ink))
        label += f": {peak.frequency_hz / 1e3:.2f} kHz, {peak.peak_db:+.1f} dB".replace("-", "−")
    else:
        label += ": no resonance"
    parts.append(svg.text(LEFT + 15, y, label, halo=True))
    return parts


def _line(hz: NDArray[np.float64], level: NDArray[np.float64], ink: str, dash: str) -> str:
    points = " ".join(
        f"{svg.number(_x(float(f)))},{svg.number(_y(float(db)))}"
        for f, db in zip(hz, level, strict=True)
    )
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'<polyline points="{points}" fill="none" stroke="{ink}" stroke-width="0.6" '
        f'stroke-linejoin="round"{dashes}/>'
    )


def _x(hz: float) -> float:
    return LEFT + (RIGHT - LEFT) * float(np.log(hz / LOW_HZ) / np.log(HIGH_HZ / LOW_HZ))


def _y(db: float) -> float:
    inside = min(max(db, LEAST_DB), MOST_DB)
    return BOTTOM - (BOTTOM - TOP) * (inside - LEAST_DB) / (MOST_DB - LEAST_DB)
