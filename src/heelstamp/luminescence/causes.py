"""What may have made a region differ: a small Bayesian table with caps.

Eight causes and *none of these*, six things seen of a region, each in two to five classes, taken as
independent given the cause. *None of these* has even chances; a chance counts as its ratio to the
even one, kept within 1/3 to 3. No share passes the cap of its cause, shares stand in steps of 0.05,
and what is left is told as *not told apart*. Priors, sizes and caps are judgement, not counts of
instruments. Directions, against an aged cellulose nitrate coat that glows greenish yellow:

- touch-up over it: darker, often black (US National Park Service, Conserve O Gram 1/10 (2000);
  National Gallery, glossary, ultraviolet fluorescence);
- worn through: the glow is missing (as above); that the ground shows to the eye is judgement;
- later clear: many synthetic ones do not glow (Conserve O Gram); fills of PVA, epoxy or oil varnish
  bluish, milky or bright yellowish white (the same);
- shellac: orange (the same);
- surface film: grime damps, hue the same (Conserve O Gram); wax bluish to milky (memory);
- shaded by something removed: no direction was found in print, so that darker and brighter count
  alike, and only a straight form with a crisp border is given a share at all;
- light or shape: shade, a slope, gloss or two lamps; hardly changes the hue (``one_frame``);
- dust or fibre: adds light, never takes it.

A cause is never a finding. 'Original' is no cause of a difference and cannot come out.
"""

from __future__ import annotations

import math

from heelstamp.luminescence.regions import Candidate

TOUCH_UP = "touch-up"
WEAR = "wear-through"
OVERSPRAY = "overspray, later clear or fill"
FILM = "surface film"
SHELLAC = "shellac"
SHADE = "shaded by something removed"
LIGHT = "light or shape"
DUST = "dust or fibre"
NONE = "none of these"
UNTOLD = "not told apart"
CAUSES = (TOUCH_UP, WEAR, OVERSPRAY, FILM, SHELLAC, SHADE, LIGHT, DUST)
PRIOR = {
    TOUCH_UP: 0.25,
    WEAR: 0.26,
    OVERSPRAY: 0.14,
    FILM: 0.10,
    SHELLAC: 0.03,
    SHADE: 0.06,
    LIGHT: 0.04,
    DUST: 0.02,
    NONE: 0.10,
}
MOST_RATIO = 3.0
STEP = 0.05

_ORDER = CAUSES


def _row(*chances: float) -> dict[str, float]:
    return dict(zip(_ORDER, chances, strict=True))


TABLE: dict[str, dict[str, dict[str, float]]] = {
    # touch-up, wear, overspray, film, shellac, shade, light, dust
    "glow": {
        "very dark": _row(0.20, 0.48, 0.05, 0.02, 0.04, 0.02, 0.05, 0.01),
        "dark": _row(0.60, 0.40, 0.22, 0.18, 0.28, 0.14, 0.15, 0.02),
        "dim": _row(0.12, 0.10, 0.28, 0.66, 0.28, 0.34, 0.35, 0.02),
        "light": _row(0.05, 0.015, 0.13, 0.10, 0.25, 0.34, 0.35, 0.35),
        "bright": _row(0.03, 0.005, 0.32, 0.04, 0.15, 0.16, 0.10, 0.60),
    },
    "hue": {
        "same": _row(0.30, 0.78, 0.25, 0.54, 0.08, 0.88, 0.90, 0.30),
        "bluer": _row(0.60, 0.08, 0.66, 0.39, 0.02, 0.05, 0.05, 0.60),
        "warmer": _row(0.07, 0.11, 0.06, 0.05, 0.20, 0.05, 0.04, 0.07),
        "orange": _row(0.03, 0.03, 0.03, 0.02, 0.70, 0.02, 0.01, 0.03),
    },
    "edge": {
        "hard": _row(0.80, 0.25, 0.40, 0.03, 0.40, 0.88, 0.10, 0.60),
        "soft": _row(0.17, 0.65, 0.20, 0.12, 0.30, 0.10, 0.40, 0.35),
        "gradual": _row(0.03, 0.10, 0.40, 0.85, 0.30, 0.02, 0.50, 0.05),
    },
    "ordinary light": {
        "none": _row(0.62, 0.18, 0.78, 0.50, 0.60, 0.35, 0.50, 0.50),
        "slight": _row(0.32, 0.30, 0.19, 0.42, 0.32, 0.55, 0.40, 0.35),
        "plain": _row(0.06, 0.52, 0.03, 0.08, 0.08, 0.10, 0.10, 0.15),
    },
    "form": {
        "straight": _row(0.08, 0.06, 0.05, 0.04, 0.05, 0.75, 0.20, 0.10),
        "other": _row(0.92, 0.94, 0.95, 0.96, 0.95, 0.25, 0.80, 0.90),
    },
    "place": {
        "rim": _row(0.25, 0.40, 0.20, 0.10, 0.20, 0.05, 0.50, 0.25),
        "face": _row(0.75, 0.60, 0.80, 0.90, 0.80, 0.95, 0.50, 0.75),
    },
}

BLUER, WARMER, ORANGE = 0.14, -0.14, 0.25
HARD_EDGE, SOFT_EDGE = 0.62, 0.30
JUST_SEEN, PLAINLY_SEEN = 1.5, 6.0
STRAIGHT = 0.90
RIM_MM = 8.0
HUE_ONLY = 0.10


def classes(one: Candidate) -> dict[str, str]:
    """Sort what is seen of a region into the classes of the table."""
    light, redder, bluer = (float(value) for value in one.contrast)
    glow = (
        "very dark"
        if light < -1.05
        else "dark"
        if light < -0.36
        else "dim"
        if light < 0.0
        else "light"
        if light < 0.36
        else "bright"
    )
    hue = (
        "orange"
        if redder > ORANGE
        else "bluer"
        if bluer > BLUER
        else "warmer"
        if bluer < WARMER
        else "same"
    )
    return {
        "glow": glow,
        "hue": hue,
        "edge": edge_class(one.edge),
        "ordinary light": (
            "none"
            if one.colour.beyond < JUST_SEEN
            else "slight"
            if one.colour.beyond < PLAINLY_SEEN
            else "plain"
        ),
        "form": "straight" if one.straight > STRAIGHT and one.edge > SOFT_EDGE else "other",
        "place": "rim" if one.rim_mm < RIM_MM else "face",
    }


def edge_class(edge: float) -> str:
    """Name how a border looks."""
    return "hard" if edge > HARD_EDGE else "soft" if edge > SOFT_EDGE else "gradual"


def cap(cause: str, seen: dict[str, str]) -> float:
    """The most that a cause is ever given, for what is seen; judgement."""
    caps = {
        TOUCH_UP: 0.80,
        WEAR: 0.80 if seen["ordinary light"] == "plain" else 0.60,
        OVERSPRAY: 0.60,
        FILM: 0.60 if seen["hue"] == "same" else 0.40,
        SHELLAC: 0.80 if seen["hue"] == "orange" else 0.40,
        SHADE: 0.60 if seen["form"] == "straight" else 0.0,
        LIGHT: 0.60,
        DUST: 0.60,
        NONE: 0.60,
    }
    return caps[cause]


def support(one: Candidate) -> dict[str, float]:
    """The support of each cause in steps of 0.05, strongest first, *not told apart* last.

    A place of another hue and the same light is given no cause: the table was not made for it.
    """
    if abs(float(one.contrast[0])) < HUE_ONLY:
        return {UNTOLD: 1.0}
    seen = classes(one)
    weights = dict(PRIOR)
    for question, answer in seen.items():
        row, even = TABLE[question][answer], 1.0 / len(TABLE[question])
        for cause in CAUSES:
            weights[cause] *= min(max(row[cause] / even, 1.0 / MOST_RATIO), MOST_RATIO)
    total = sum(weights.values())
    steps = {
        cause: math.floor(min(weight / total, cap(cause, seen)) / STEP + 1e-6)
        for cause, weight in weights.items()
    }
    steps[UNTOLD] = round(1.0 / STEP) - sum(steps.values())
    ordered = sorted(steps.items(), key=lambda item: (item[0] in (NONE, UNTOLD), -item[1]))
    return {cause: round(count * STEP, 2) for cause, count in ordered if count}
