"""What may have made a region differ: a small Bayesian table.

Five causes, six things seen of a region, each in two to four classes, taken as independent given
the cause. The chances follow the direction of what is published (US National Park Service,
Conserve O Gram 1/10 (2000): retouching dark against an older coat, grime damping the glow, wax
bluish to milky; jobs on the bench: wear shows its ground) but their sizes are judgement, not counts
of instruments. What a cause never is: a finding. 'Original' is no cause of a difference and cannot
come out.
"""

from __future__ import annotations

from heelstamp.luminescence.regions import Candidate

TOUCH_UP = "touch-up"
WEAR = "wear-through"
OVERSPRAY = "overspray, later clear or fill"
FILM = "surface film"
SHADE = "shaded by something removed"
CAUSES = (TOUCH_UP, WEAR, OVERSPRAY, FILM, SHADE)
PRIOR = {TOUCH_UP: 0.28, WEAR: 0.30, OVERSPRAY: 0.18, FILM: 0.14, SHADE: 0.10}

TABLE: dict[str, dict[str, dict[str, float]]] = {
    "glow": {
        "very dark": {TOUCH_UP: 0.20, WEAR: 0.48, OVERSPRAY: 0.05, FILM: 0.02, SHADE: 0.02},
        "dark": {TOUCH_UP: 0.60, WEAR: 0.40, OVERSPRAY: 0.22, FILM: 0.18, SHADE: 0.04},
        "dim": {TOUCH_UP: 0.12, WEAR: 0.10, OVERSPRAY: 0.28, FILM: 0.66, SHADE: 0.10},
        "light": {TOUCH_UP: 0.05, WEAR: 0.015, OVERSPRAY: 0.13, FILM: 0.10, SHADE: 0.74},
        "bright": {TOUCH_UP: 0.03, WEAR: 0.005, OVERSPRAY: 0.32, FILM: 0.04, SHADE: 0.10},
    },
    "hue": {
        "same": {TOUCH_UP: 0.30, WEAR: 0.80, OVERSPRAY: 0.25, FILM: 0.55, SHADE: 0.90},
        "bluer": {TOUCH_UP: 0.62, WEAR: 0.08, OVERSPRAY: 0.68, FILM: 0.40, SHADE: 0.05},
        "warmer": {TOUCH_UP: 0.08, WEAR: 0.12, OVERSPRAY: 0.07, FILM: 0.05, SHADE: 0.05},
    },
    "edge": {
        "hard": {TOUCH_UP: 0.80, WEAR: 0.25, OVERSPRAY: 0.40, FILM: 0.03, SHADE: 0.88},
        "soft": {TOUCH_UP: 0.17, WEAR: 0.65, OVERSPRAY: 0.20, FILM: 0.12, SHADE: 0.10},
        "gradual": {TOUCH_UP: 0.03, WEAR: 0.10, OVERSPRAY: 0.40, FILM: 0.85, SHADE: 0.02},
    },
    "ordinary light": {
        "none": {TOUCH_UP: 0.62, WEAR: 0.18, OVERSPRAY: 0.78, FILM: 0.50, SHADE: 0.35},
        "slight": {TOUCH_UP: 0.32, WEAR: 0.30, OVERSPRAY: 0.19, FILM: 0.42, SHADE: 0.55},
        "plain": {TOUCH_UP: 0.06, WEAR: 0.52, OVERSPRAY: 0.03, FILM: 0.08, SHADE: 0.10},
    },
    "form": {
        "straight": {TOUCH_UP: 0.08, WEAR: 0.06, OVERSPRAY: 0.05, FILM: 0.04, SHADE: 0.75},
        "other": {TOUCH_UP: 0.92, WEAR: 0.94, OVERSPRAY: 0.95, FILM: 0.96, SHADE: 0.25},
    },
    "place": {
        "rim": {TOUCH_UP: 0.25, WEAR: 0.40, OVERSPRAY: 0.20, FILM: 0.10, SHADE: 0.05},
        "face": {TOUCH_UP: 0.75, WEAR: 0.60, OVERSPRAY: 0.80, FILM: 0.90, SHADE: 0.95},
    },
}

BLUER, WARMER = 0.14, -0.14
HARD_EDGE, SOFT_EDGE = 0.62, 0.30
JUST_SEEN, PLAINLY_SEEN = 1.5, 6.0
STRAIGHT = 0.90
RIM_MM = 8.0


def classes(one: Candidate) -> dict[str, str]:
    """Sort what is seen of a region into the classes of the table."""
    light, bluer = float(one.contrast[0]), float(one.contrast[2])
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
    return {
        "glow": glow,
        "hue": "bluer" if bluer > BLUER else "warmer" if bluer < WARMER else "same",
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


def support(one: Candidate) -> dict[str, float]:
    """The support of each cause, summing to one, strongest first."""
    seen = classes(one)
    weights = dict(PRIOR)
    for question, answer in seen.items():
        for cause in CAUSES:
            weights[cause] *= TABLE[question][answer][cause]
    total = sum(weights.values())
    ordered = sorted(weights.items(), key=lambda item: -item[1])
    return {cause: weight / total for cause, weight in ordered}
