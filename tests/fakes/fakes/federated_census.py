"""A drawn census cut among shops, and the groups of features whose tables are exchanged."""

from functools import cache

from fakes.departing_world import Instrument, draw_world
from fakes.short_form import short_chronology
from heelstamp.chronology import dating_model
from heelstamp.dating import DatingModel, Evidence
from heelstamp.dating.teaching import FeatureGroup
from heelstamp.units import Period, parse_month

SPAN = Period(parse_month("1953-03"), parse_month("1968-06"))
NAMES = (*(f"f{i:02d}" for i in range(1, 15)), "g2", "g3", "g4")
GROUPS = tuple(FeatureGroup((name,), read_from_serial=name == "g2") for name in NAMES)


@cache
def wherry() -> DatingModel:
    """The invented Wherry's model."""
    return dating_model(short_chronology())


@cache
def drawn(count: int, seed: int) -> tuple[Instrument, ...]:
    """Instruments of that maker."""
    return tuple(draw_world(wherry(), seed, count))


def shops_of(sizes: tuple[int, ...], seed: int) -> list[list[Evidence]]:
    """The census of each shop."""
    rows = [one.seen for one in drawn(sum(sizes), seed)]
    found = []
    for size in sizes:
        found.append(rows[:size])
        rows = rows[size:]
    return found
