"""What owners and their repairers do to an instrument over sixty years, and what each act opens.

An act opens the way to the part first, as on the bench: a pot cannot be changed without the guard
off and its joints heated. What is near the iron is heated too. Rates are judgement (common
practice, no source); each shop's instruments come from more or less restless owners.
"""

from __future__ import annotations

from dataclasses import replace

from fakes.lives.factory import HARNESS, MONTHS, POTS, TUNERS, Factory, Instrument, Kind, Piece
from fakes.lives.habits import Generator, Habits
from heelstamp.units import parse_month

TODAY = parse_month("2026-06")
PERIOD_FIRST, PERIOD_LAST = -24, 72
"""Months about completion within which a replacement is called one of the period: the meaning of
the chronology's words, not a rate."""

JOINTS = (*HARNESS, "leads")
SCREWED = ("plate_screws", "guard", "socket_plate", "bridge", "strap_buttons", "badge", *TUNERS)
NEIGHBOURS = {
    "pot_volume": {"leads": 0.7, "pot_tone": 0.4, "switch": 0.35, "socket": 0.35},
    "pot_tone": {"capacitor": 0.85, "pot_volume": 0.4, "switch": 0.15},
    "capacitor": {"pot_tone": 0.8, "pot_volume": 0.1},
    "switch": {"leads": 0.45, "pot_volume": 0.5},
    "socket": {"pot_volume": 0.25},
    "leads": {"pot_volume": 0.5, "switch": 0.4},
}
"""P(a joint is heated too) while another one is worked on."""

SWAPS = {
    "tuner": 2.0,
    "tuners": 3.0,
    "nut": 2.5,
    "frets": 2.5,
    "pot_volume": 1.3,
    "pot_tone": 0.7,
    "capacitor": 1.0,
    "switch": 1.5,
    "socket": 2.5,
    "pickup_neck": 0.7,
    "pickup_bridge": 1.0,
    "bridge": 1.3,
    "saddles": 1.5,
    "neck": 0.7,
    "neck_plate": 0.3,
    "plate_screws": 0.7,
    "badge": 0.4,
    "strap_buttons": 1.5,
    "knobs": 2.0,
    "guard": 1.5,
    "socket_plate": 0.5,
    "case": 3.0,
}
"""How often each part is changed by itself, relative to each other."""

INNOCENT = {
    "screws tightened": 0.9,
    "guard off to clean or to look": 0.7,
    "jack tightened from behind": 0.5,
    "socket wire mended": 0.3,
    "harness joints mended": 0.12,
    "neck off for angle or rod": 0.35,
    "bridge off": 0.12,
    "saddles out": 0.3,
    "knobs off": 0.5,
    "buttons off": 0.3,
    "a tuner off to oil": 0.12,
    "touched up": 0.22,
}
"""Expected times in a life, for owners of the usual kind."""

TOUCHES = {
    "guard off to clean or to look": ("guard",),
    "jack tightened from behind": ("socket_plate",),
    "socket wire mended": ("socket_plate", "joint socket"),
    "neck off for angle or rod": ("plate_screws",),
    "bridge off": ("bridge",),
    "saddles out": ("saddles",),
    "knobs off": ("knobs",),
    "buttons off": ("strap_buttons",),
}
"""What such an act opens, where it is always the same."""

HEEL_ROD_VISITS = 0.6
"""More such visits where the rod is turned at the heel, which needs the neck off."""


class Owners:
    """Acts of owners and repairers upon one instrument."""

    def __init__(
        self, one: Instrument, factory: Factory, habits: Habits, random: Generator
    ) -> None:
        self.one, self.factory, self.habits, self.random = one, factory, habits, random

    def when(self, middle: float = 20.0) -> int:
        """A month of the instrument's life, about *middle* years after completion."""
        years = self.random.gamma(1.6, middle / 1.6)
        return int(min(self.one.completed + 3 + years * MONTHS, TODAY))

    def hand(self) -> bool:
        """Whether the hand is a careful one."""
        return bool(self.random.random() < self.habits.careful)

    def heat(self, joint: str, month: int, careful: bool) -> None:
        """Work on a joint, and on those that are in the way."""
        self.open_guard(month, careful)
        self.one.touch(f"joint {joint}", month, careful)
        for other, share in NEIGHBOURS.get(joint, {}).items():
            if self.random.random() < share:
                self.one.touch(f"joint {other}", month, careful)

    def open_guard(self, month: int, careful: bool) -> None:
        """Take the guard off."""
        self.one.touch("guard", month, careful)

    def live(self) -> None:
        """All that happens without any part being changed."""
        rates = dict(INNOCENT)
        if self.one.pieces["neck"].shows["f13"].startswith("heel"):
            rates["neck off for angle or rod"] += HEEL_ROD_VISITS
        for act, rate in rates.items():
            for _ in range(int(self.random.poisson(rate * self.habits.restless))):
                self.innocent(act, self.when(), self.hand())

    def innocent(self, act: str, month: int, careful: bool) -> None:
        """One act that changes no part."""
        one, random = self.one, self.random
        for place in TOUCHES.get(act, ()):
            one.touch(place, month, careful)
        match act:
            case "screws tightened":
                one.tightened.add(str(random.choice(SCREWED)))
            case "harness joints mended":
                self.heat(str(random.choice(JOINTS)), month, careful)
            case "a tuner off to oil":
                one.touch(str(random.choice(TUNERS)), month, careful)
            case "touched up":
                one.patches += int(random.integers(1, 4))
                if one.finish == "original":
                    one.finish = "touched_up"

    def replacement(self, part: str, month: int, donor: int | None = None) -> Piece:
        """Find a piece: over the maker's counter, out of another instrument, anyone's."""
        made = month - self.one.completed
        kind: Kind = "period" if PERIOD_FIRST <= made <= PERIOD_LAST else "later"
        random, factory = self.random, self.factory
        if donor is not None:
            return factory.own_piece(part, donor, "donor", random)
        drawn = random.random()
        if drawn < 0.15:
            near = random.random() < 0.5
            around = self.one.completed + (random.normal(0, 14) if near else random.normal(0, 60))
            return factory.own_piece(part, int(around), "donor", random)
        if drawn < 0.6 and month <= factory.last + 2 * MONTHS:
            return factory.own_piece(part, month, kind, random)
        return factory.others_piece(part, month, kind, random)

    def swap(self, part: str) -> None:
        """Change one part, or one set of tuners, with all that it takes."""
        month, careful, random = self.when(), self.hand(), self.random
        match part:
            case "tuner":
                self.fit(str(random.choice(TUNERS)), month, careful)
            case "tuners":
                first = self.replacement(TUNERS[0], month)
                for tuner in TUNERS:
                    self.way(tuner, month, careful)
                    self.put(tuner, replace(first, shows=dict(first.shows)))
            case "frets":
                self.fit("frets", month, careful)
                if random.random() < 0.55:
                    self.fit("nut", month, careful)
                if random.random() < 0.4:
                    self.one.touch("plate_screws", month, careful)
            case "neck":
                self.swap_neck(month, careful)
            case _:
                self.fit(part, month, careful)

    def swap_neck(self, month: int, careful: bool, donor: int | None = None) -> None:
        """Change the neck, with what stands on it, in most cases with its tuners."""
        neck = self.replacement("neck", month, donor)
        with_tuners = self.random.random() < 0.7
        self.one.touch("plate_screws", month, careful)
        self.put("neck", neck)
        for part in ("frets", "nut", "badge", *(TUNERS if with_tuners else ())):
            if neck.mark is None:
                piece = self.factory.others_piece(part, neck.made, neck.kind, self.random)
            else:
                piece = self.factory.own_piece(part, neck.made, neck.kind, self.random)
            self.put(part, piece)
            self.forget(part)
        if not with_tuners:
            for tuner in TUNERS:
                self.one.touch(tuner, month, careful)

    def fit(self, part: str, month: int, careful: bool, donor: int | None = None) -> Piece:
        """Open the way to a part and put another in its place."""
        self.way(part, month, careful)
        piece = self.replacement(part, month, donor)
        self.put(part, piece)
        return piece

    def way(self, part: str, month: int, careful: bool) -> None:
        """Open what has to be opened to get at a part."""
        one = self.one
        if part == "socket":
            one.touch("socket_plate", month, careful)
            one.touch("joint socket", month, careful)
        elif part in JOINTS:
            self.heat(part, month, careful)
            if part in POTS:
                one.touch("knobs", month, careful)
        elif part in ("pickup_neck", "pickup_bridge"):
            self.heat("leads", month, careful)
        elif part in ("neck_plate", "plate_screws", "neck"):
            one.touch("plate_screws", month, careful)
        else:
            one.touch(part, month, careful)

    def put(self, part: str, piece: Piece) -> None:
        """Put a piece in its place; one of another pattern leaves the holes of the first."""
        self.one.pieces[part] = piece
        leaves = part in (*TUNERS, "strap_buttons", "bridge", "guard")
        if leaves and not piece.pattern and self.random.random() < 0.6:
            self.one.holes.add(part)

    def forget(self, part: str) -> None:
        """Traces that went away with the part that bore them, as with a neck."""
        self.one.touched.pop(part, None)
        self.one.holes.discard(part)
        self.one.tightened.discard(part)
