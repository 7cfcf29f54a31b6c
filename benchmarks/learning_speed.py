"""Learning twelve features from a census of 1,000 instruments: CPU seconds, all three sweeps."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterator
from pathlib import Path

from heelstamp.chronology import dating_model
from heelstamp.dating.learning import learn_features
from heelstamp.dating.teaching import FeatureGroup
from heelstamp.units import Period, parse_month
from results import Result

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

INSTRUMENTS = 1000
FEATURES = tuple(f"f{number:02d}" for number in range(1, 13))
SPAN = Period(parse_month("1953-03"), parse_month("1968-06"))


def measure() -> Iterator[Result]:
    """Learn once."""
    from fakes.departing_world import draw_world
    from fakes.short_form import short_chronology

    model = dating_model(short_chronology())
    census = [one.seen for one in draw_world(model, 1, INSTRUMENTS)]
    groups = [FeatureGroup((name,)) for name in FEATURES]
    begun = time.process_time()
    learned = learn_features(model, census, groups, SPAN)
    seconds = time.process_time() - begun
    errors = [
        abs(one.changes[0].centre_mean - before.transitions[0].centre)
        for one in learned
        for before in model.features
        if before.name == one.group.names[0]
    ]
    seen = sum(len(one) for one in census) / len(census)
    yield Result(
        f"learn {len(FEATURES)} features from {INSTRUMENTS:,} instruments",
        seconds,
        "CPU s",
        ("at most", 8.0),
        f"{seen:.0f} observations each; mean error of a centre {sum(errors) / len(errors):.2f} "
        "months",
    )


if __name__ == "__main__":
    for result in measure():
        print(result.what, result.figure, result.unit, result.verdict, result.beside)
