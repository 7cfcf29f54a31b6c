"""Five worlds: what sort of life the instruments of each have had."""

from __future__ import annotations

from collections.abc import Callable

from fakes.lives.factory import HARNESS, MONTHS, TUNERS, Factory, Instrument, Kind
from fakes.lives.habits import Generator, Habits
from fakes.lives.owners import PERIOD_LAST, SWAPS, TODAY, Owners

OLD_REFINISH_YEARS = 20
"""A refinish within so many years of completion is called an old one."""


def untouched(owners: Owners) -> None:
    """Nothing was changed; what is opened is opened for other reasons."""


def swap_alone(owners: Owners) -> None:
    """One to three parts changed, each by itself, with no regard to the others."""
    names, weights = list(SWAPS), [*SWAPS.values()]
    count = 1 + int(owners.random.random() < 0.45) + int(owners.random.random() < 0.25)
    shares = [one / sum(weights) for one in weights]
    for part in owners.random.choice(names, size=count, replace=False, p=shares):
        owners.swap(str(part))


def harness_whole(owners: Owners) -> None:
    """Pots, capacitor, switch and socket changed in one go, out of one box.

    One out of another instrument keeps the joints that its maker made: only where the leads meet it
    was the iron. One wired anew has no such joint left.
    """
    one, random, factory = owners.one, owners.random, owners.factory
    month, careful = owners.when(), owners.hand()
    with_leads = bool(random.random() < 0.35)
    parts = (*HARNESS, *(("leads", "pickup_neck", "pickup_bridge") if with_leads else ()))
    for part in parts:
        one.touched.pop(f"joint {part}", None)
    owners.open_guard(month, careful)
    one.touch("socket_plate", month, careful)
    one.touch("knobs", month, careful)
    if random.random() < 0.5:  # out of another instrument, or as the maker sold it
        kind: Kind = "donor" if random.random() < 0.7 else "period"
        away = random.normal(0, 20) if kind == "donor" else random.uniform(0, 72)
        born = min(max(int(one.completed + away), factory.first), factory.last)
        source = factory.build(born, random, kind)
        pieces = {part: source.pieces[part] for part in parts}
        if with_leads and random.random() < 0.5:  # the guard came with it, all wired
            one.pieces["guard"] = source.pieces["guard"]
            one.holes.discard("guard")
        met = {"socket": 0.3} if with_leads else {"leads": 1.0, "pot_volume": 0.6, "switch": 0.5}
    else:
        late: Kind = "period" if month - one.completed <= PERIOD_LAST else "later"
        pieces = {part: factory.others_piece(part, month, late, random) for part in parts}
        met = dict.fromkeys((*HARNESS, "leads"), 1.0)
    for part, piece in pieces.items():
        one.pieces[part] = piece
    for joint, share in met.items():
        if random.random() < share:
            one.touch(f"joint {joint}", month, careful)


def refinished(owners: Owners) -> None:
    """The body refinished once or twice; every part taken off, kept and put back."""
    one, random = owners.one, owners.random
    for _ in range(1 + int(random.random() < 0.25)):
        month, careful = owners.when(18.0), owners.hand()
        for place in ("guard", "plate_screws", "socket_plate", "bridge", "strap_buttons"):
            one.touch(place, month, careful)
        for joint in ("joint socket", "joint leads", "joint pot_volume", "joint switch"):
            if random.random() < {"joint socket": 0.4}.get(joint, 0.15):
                one.touch(joint, month, careful)
        if random.random() < 0.3:
            one.touch("knobs", month, careful)
        if random.random() < 0.35:
            one.touch("foil", month, careful)
        if random.random() < 0.25:  # the headstock was done as well
            for tuner in TUNERS:
                one.touch(tuner, month, careful)
        old = month - one.completed <= OLD_REFINISH_YEARS * MONTHS
        one.finish = "old_refinish" if old else "recent_refinish"
        one.overspray |= bool(random.random() < 0.7)
        one.pencil_gone |= bool(random.random() < 0.25)
        one.patches = 0
        if random.random() < 0.55:
            variants = owners.factory.variants["f08"]
            one.pocket = variants[0] if random.random() < 0.6 else "other"


def parts_instrument(owners: Owners) -> None:
    """Put together from several: the body of one, neck, plate, guard and harness of others."""
    one, random, factory = owners.one, owners.random, owners.factory
    month, careful = owners.when(28.0), owners.hand()
    matched = random.random() < 0.5

    def donor() -> Instrument:
        away = random.normal(0, 15 if matched else 50)
        born = min(max(int(one.completed + away), factory.first), factory.last)
        found = factory.build(born, random, "donor")
        Owners(found, factory, owners.habits, random).live()
        return found

    necks, harness = donor(), donor()
    rest = random.choice(["body", "neck", "third"], p=[0.35, 0.4, 0.25])
    for part in ("neck", "frets", "nut", "badge", *TUNERS):
        owners.put(part, necks.pieces[part])
        owners.forget(part)
        one.touched.update({k: v for k, v in necks.touched.items() if k == part})
    plate = {"body": one, "neck": necks}.get(str(rest)) or donor()
    for part in ("neck_plate", "plate_screws"):
        one.pieces[part] = plate.pieces[part]
    if random.random() < 0.8:
        wired = ("guard", "pickup_neck", "pickup_bridge", "leads", *HARNESS, "knobs")
        for part in wired:
            one.pieces[part] = harness.pieces[part]
        for place in [f"joint {part}" for part in (*HARNESS, "leads")] + ["knobs"]:
            one.touched.pop(place, None)
            if place in harness.touched:
                one.touched[place] = harness.touched[place]
        one.touch("joint socket", month, careful)
    for part in ("bridge", "saddles", "strap_buttons", "socket_plate", "case"):
        if random.random() < 0.5:
            one.pieces[part] = donor().pieces[part]
            one.touch(part, month, careful)
    for place in ("plate_screws", "guard", "socket_plate"):
        one.touch(place, month, careful)
    if random.random() < 0.3:
        refinished(owners)


WORLDS: dict[str, Callable[[Owners], None]] = {
    "swap alone": swap_alone,
    "harness whole": harness_whole,
    "refinished": refinished,
    "parts instrument": parts_instrument,
}
MIXTURE = {
    "untouched": 0.40,
    "swap alone": 0.27,
    "harness whole": 0.08,
    "refinished": 0.15,
    "parts instrument": 0.10,
}
"""Shares of what comes over a counter: judgement, no source."""


def draw_life(world: str, factory: Factory, habits: Habits, random: Generator) -> Instrument:
    """Make an instrument and let it live; *world* is one of `WORLDS`, "untouched" or "mixture"."""
    if world == "mixture":
        world = str(random.choice(list(MIXTURE), p=list(MIXTURE.values())))
    one = factory.build(factory.completion(random), random)
    owners = Owners(one, factory, habits, random)
    owners.live()
    WORLDS.get(world, untouched)(owners)
    assert one.completed < TODAY
    return one
