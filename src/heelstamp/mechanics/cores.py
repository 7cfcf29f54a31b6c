"""What core a wound string probably has, when nobody has measured it.

No set names its cores. The table is from memory of bench measurements, one wrap on a round core,
and holds the assumed cores of the invented demonstration; between rows it is read linearly, beyond
its ends the ratio of the end row is kept. One thousandth of an inch of core moves the mass of a
guitar's wound string by 0.5 to 1 %, because steel takes the place of a wrap that is π/4 full.
Whoever needs better weighs an off-cut.
"""

from __future__ import annotations

from bisect import bisect_left

from heelstamp.errors import InputError

MM_PER_INCH = 25.4  # exact, agreement of 1959
CORE_DOUBT_MM = 0.0254
"""Standard uncertainty of an assumed core: one thousandth of an inch; judgement."""

# gauge and core in thousandths of an inch; from memory, not to be relied on beyond the doubt above
_CORES = (
    (20.0, 11.0),
    (22.0, 12.0),
    (24.0, 13.0),
    (26.0, 13.5),
    (28.0, 14.0),
    (32.0, 15.0),
    (36.0, 15.7),
    (38.0, 16.0),
    (42.0, 16.0),
    (46.0, 17.0),
    (50.0, 18.0),
    (56.0, 19.0),
    (65.0, 21.0),
    (85.0, 25.0),
    (105.0, 28.0),
    (130.0, 31.0),
)


def assumed_core_mm(diameter_mm: float) -> float:
    """The core in mm that a wound string of this outer diameter probably has.

    Raises
    ------
    InputError
        No diameter.

    Examples
    --------
    >>> round(assumed_core_mm(0.6096) / 25.4, 4)
    0.013
    """
    if not diameter_mm > 0:
        raise InputError("a string has a diameter", received=diameter_mm, remedy="Give it in mm.")
    gauge = 1000.0 * diameter_mm / MM_PER_INCH
    gauges = [row[0] for row in _CORES]
    place = bisect_left(gauges, gauge)
    if place == 0 or place == len(_CORES):
        known, core = _CORES[min(place, len(_CORES) - 1)]
        return core * gauge / known * MM_PER_INCH / 1000.0
    (low, low_core), (high, high_core) = _CORES[place - 1], _CORES[place]
    core = low_core + (high_core - low_core) * (gauge - low) / (high - low)
    return core * MM_PER_INCH / 1000.0
