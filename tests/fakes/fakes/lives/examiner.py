"""What an examiner sees of an instrument, as the entries that a dossier would hold.

Looks at the ways in come first, then, where leave was given, the guard and the neck come off, each
as an act of the shop between the looks before and after it. Marks may be illegible, misread or left
open between two months; features may be taken for another; traces fade and are overlooked.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from fakes.lives.factory import (
    HARNESS,
    MONTHS,
    OLD_STYLE_TUNERS,
    POTS,
    ROMAN,
    TUNERS,
    Factory,
    Instrument,
)
from fakes.lives.habits import Generator, Habits
from fakes.lives.owners import TODAY
from heelstamp.units import format_month

Entry = tuple[str, dict[str, Any]]

DEPTHS = {"outside": 0.15, "guard": 0.35, "neck": 0.5}
"""How far instruments are opened, by share."""
SCREWS = {"plate_screws": 4, "guard": 11, "socket_plate": 2, "bridge": 5}
OUTSIDE = (
    ("neck_plate", "f02", "neck_plate"),
    ("plate_screws", "f03", "plate_screws"),
    ("badge", "f07", "badge"),
    ("neck", "f05", "neck"),
    ("neck", "f12", "neck"),
    ("neck", "f13", "rod"),
    ("guard", "f10", "guard"),
    ("case", "g3", "case"),
    ("strap_buttons", "p1", "strap_buttons"),
    ("knobs", "p2", "knobs"),
)
UNDER_GUARD = (
    ("body", "f04", "body"),
    ("capacitor", "f11", "capacitor"),
    ("leads", "f14", "leads"),
)
"""Part, feature, and the part that it is entered on."""
THREE = (
    ("frets", "fret_slots", "frets", 0.06, 0.7),
    ("nut", "nut_seat", "nut", 0.1, 0.7),
    ("neck", "paint_bridge", "plate_screws", 0.25, 0.6),
)
"""Traces that are whole, doubtful or broken: part, sign, what breaks it, doubt, how often seen."""
FAINT = {"body": 0.22, "neck": 0.15, "pot_volume": 0.07, "pot_tone": 0.07}
CAREFUL_SHOWS = 0.4
"""How much less a careful hand's turning shows."""
FADED_YEARS = 30
CONFUSED = {"3": "8", "8": "3", "1": "7", "7": "1", "0": "6", "6": "0", "5": "6"}
WORN_PLACES = (
    "darker_soft_rim",
    "darker_soft_streaked",
    "brighter_straight_edges",
    "darker_no_rim",
)
MENDED_PLACES = ("darker_hard_rim", "brighter_bluish_hard_rim")


@dataclass
class Examiner:
    """One examination of one instrument."""

    one: Instrument
    factory: Factory
    habits: Habits
    random: Generator
    entries: list[Entry] = field(default_factory=list)

    def examine(self) -> list[Entry]:
        """Everything that is entered, in its order."""
        depth = str(self.random.choice(list(DEPTHS), p=list(DEPTHS.values())))
        self.outside()
        if depth != "outside":
            self.act("lift guard", "guard")
            self.under_guard()
        if depth == "neck":
            self.act("take neck off", "neck")
            self.neck_off()
        return self.entries

    # --- entries

    def chance(self, p: float) -> bool:
        """True with a chance."""
        return bool(self.random.random() < p)

    def add(self, part: str, kind: str, status: str = "read", **content: Any) -> None:
        """Enter one observation."""
        body = {"id": f"o{len(self.entries)}", "part": part, "kind": kind, "status": status}
        self.entries.append(("observation", {**body, **content}))

    def act(self, act: str, part: str) -> None:
        """The owner's leave and the shop's own act."""
        number = len(self.entries)
        word = {"id": f"c{number}", "act": act, "granted": True, "by": "a consignor"}
        done = {"id": f"t{number}", "act": act, "part": part, "reason": "to look below"}
        self.entries += [("consent", word), ("treatment", {**done, "reversible": True})]

    def looked(self, often: float = 1.0) -> bool:
        """Whether a look is made and entered."""
        return self.chance(self.habits.thorough * often)

    def sign(self, part: str, sign: str, outcome: str) -> None:
        """Enter a sign."""
        self.add(part, "sign", sign=sign, outcome=outcome)

    def feature(self, part: str, feature: str, at: str | None = None) -> None:
        """A feature as it shows, or as it is taken for."""
        self.variant(at or part, feature, self.one.pieces[part].shows[feature])

    def variant(self, part: str, feature: str, shown: str) -> None:
        """Enter a feature, now and then taken for another."""
        if self.chance(self.habits.misseen):
            others = [one for one in self.factory.variants[feature] if one != shown]
            shown = str(self.random.choice(others))
        if self.chance(0.01):
            self.add(part, "feature", "illegible", feature=feature)
        elif feature in self.factory.passing and shown == self.factory.variants[feature][0]:
            self.add(part, "feature", "absent", feature=feature)
        else:
            self.add(part, "feature", feature=feature, variant=shown)

    # --- from outside

    def outside(self) -> None:
        """All that shows while nothing is moved."""
        self.serial()
        self.features(OUTSIDE)
        self.tuners()
        for place, count in SCREWS.items():
            if self.looked():
                self.screws(place, count)
        for place in ("strap_buttons", "badge"):
            if self.looked(0.5):
                self.head(place)
        for part in ("bridge", "guard", "strap_buttons"):
            if self.looked(0.6):
                self.holes(part)
        for part, sign, place, doubt, often in THREE:
            if self.looked(often):
                self.three(part, sign, place, doubt)
        if self.looked(0.6):
            moved = self.one.pieces["bridge"].kind != "original" and self.chance(0.5)
            self.sign("bridge", "bridge_ghost_line", "disagrees" if moved else "agrees")
        if self.looked(0.85):
            self.glow()

    def features(self, which: tuple[tuple[str, str, str], ...]) -> None:
        """Features by part, and the part that they are entered on."""
        for part, feature, at in which:
            if self.looked():
                self.feature(part, feature, at)

    def head(self, place: str) -> None:
        """One or two screws, judged by a word."""
        self.sign(place, "screw_heads", "turned" if self.turned(place, 2) else "undisturbed")

    def serial(self) -> None:
        """Enter the number, where the plate of its time bears it."""
        plate = self.one.pieces["neck_plate"]
        number = plate.mark or ""
        place = "neck_plate" if "neck" in plate.shows["f02"] else "socket_plate"
        wrong = self.swapped_digit(number)
        if self.chance(0.004) and wrong is not None:
            number = wrong
        if self.chance(0.03) and wrong is not None:
            ways = [{"text": number, "weight": 0.7}, {"text": wrong, "weight": 0.3}]
            self.add(place, "serial", readings=ways)
        else:
            self.add(place, "serial", text=number)

    def swapped_digit(self, text: str) -> str | None:
        """The text with one of its last two digits mistaken."""
        at = len(text) - 1 - int(self.random.integers(0, 2))
        other = CONFUSED.get(text[at])
        return None if other is None else text[:at] + other + text[at + 1 :]

    def tuners(self) -> None:
        """Enter the set's pattern and looks at each."""
        pieces = [self.one.pieces[part] for part in TUNERS]
        styles = [piece.shows["f01"] for piece in pieces]
        self.variant("tuners", "f01", max(set(styles), key=styles.count))
        every = self.looked()
        for part, piece in zip(TUNERS, pieces, strict=True):
            if piece.shows["f01"] == OLD_STYLE_TUNERS:
                continue
            if every:
                self.feature(part, "g6")
            if self.looked(0.6):
                self.holes(part)
            if self.looked(0.4):
                foreign = piece.kind != "original" and not piece.pattern
                narrower = self.chance(0.55 if foreign else 0.02)
                self.sign(part, "housing_shadow", "narrower" if narrower else "matches")
            if self.looked(0.4):
                self.head(part)

    def holes(self, part: str) -> None:
        """Enter second screw holes, overlooked now and then."""
        seen = self.chance(0.9) if part in self.one.holes else self.chance(0.015)
        self.sign(part, "extra_screw_holes", "filled_or_open" if seen else "none")

    def screws(self, place: str, count: int) -> None:
        """Enter a count of turned screws."""
        judged = count - int(self.random.binomial(count, 0.05))
        if judged:
            turned = self.turned(place, judged)
            outcome = "turned" if turned else "undisturbed"
            content = {"sign": "screw_heads", "outcome": outcome, "turned": turned}
            self.add(place, "sign", **content, judged=judged)

    def turned(self, place: str, count: int) -> int:
        """How many of so many screws look turned."""
        habits, p = self.habits, [self.habits.false_show] * count
        if place in self.one.tightened:
            for screw in range(int(self.random.integers(1, count + 1))):
                p[screw] = habits.shows
        for touch in self.one.touched.get(place, ()):
            shows = habits.shows * (CAREFUL_SHOWS if touch.careful else 1.0)
            if TODAY - touch.month > FADED_YEARS * MONTHS:
                shows *= 0.85
            p = [1 - (1 - before) * (1 - shows) for before in p]
        return int((self.random.random(count) < p).sum())

    def three(self, part: str, sign: str, place: str, doubt: float) -> None:
        """A trace with three outcomes: whole, doubtful, broken."""
        p = self.broken(place)
        if self.chance(p):
            outcome = "disturbed"
        else:
            outcome = "doubtful" if self.chance(max(doubt, 0.3 * (p > 0))) else "intact"
        if p == 0 and self.chance(0.015):
            outcome = "disturbed"
        self.sign(part, sign, outcome)

    def broken(self, place: str) -> float:
        """P(what was done at a place is seen); nought where nothing was."""
        p = 1.0
        for touch in self.one.touched.get(place, ()):
            p *= 1 - self.habits.joint_shows * (0.5 if touch.careful else 1.0)
        return 1 - p

    def glow(self) -> None:
        """Enter the look under the lamp."""
        finish = self.one.finish
        shares = {
            "original": (0.86, 0.11, 0.03),
            "touched_up": (0.3, 0.65, 0.05),
            "old_refinish": (0.4, 0.15, 0.45),
            "recent_refinish": (0.12, 0.08, 0.8),
        }[finish]
        names = ("aged_even", "local_patches", "different_all_over")
        look = str(self.random.choice(names, p=shares))
        self.sign("finish", "uv_colour", look)
        if look != "local_patches" or self.chance(0.4):
            return
        kinds = MENDED_PLACES if finish == "touched_up" else WORN_PLACES
        for _ in range(max(1, self.one.patches)):
            mistaken = self.chance(0.15)
            pool = (MENDED_PLACES if kinds is WORN_PLACES else WORN_PLACES) if mistaken else kinds
            self.sign("finish", "uv_patch", str(self.random.choice(pool)))

    # --- guard lifted

    def under_guard(self) -> None:
        """All that shows once the guard is off."""
        one = self.one
        self.features(UNDER_GUARD)
        if self.looked():
            self.feature("foil", "f06")
            if one.pieces["foil"].shows["f06"] != self.factory.variants["f06"][0]:
                self.three("foil", "foil_glue", "foil", 0.08)
        if self.looked():
            self.body_mark()
        for part in POTS:
            if self.looked():
                self.pot(part)
        for part in (*HARNESS, "leads", "pickup_neck", "pickup_bridge"):
            if self.looked(0.9):
                self.joint(part)
        self.tape()
        if self.looked(0.85):
            seen = self.chance(0.85 if one.overspray else 0.03)
            self.sign("finish", "paint_in_cavity", "overspray" if seen else "as_built")

    def tape(self) -> None:
        """Tape and wax of the pickups."""
        for part in ("pickup_neck", "pickup_bridge"):
            if self.looked(0.5):
                piece = self.one.pieces[part]
                foreign = piece.kind != "original" and not piece.pattern
                disturbed = self.chance(0.6 if foreign else 0.05)
                self.sign(part, "pickup_tape", "disturbed" if disturbed else "as_built")

    def joint(self, part: str) -> None:
        """Enter the joints of a part."""
        place = "leads" if part.startswith("pickup") else part
        p = self.broken(f"joint {place}")
        drawn = self.random.random()
        if p > 0:
            outcome = "reworked" if drawn < p else "doubtful" if drawn < p + 0.1 else "untouched"
        else:
            doubt = self.habits.joint_doubt
            outcome = "reworked" if drawn < 0.02 else "doubtful" if drawn < doubt else "untouched"
        self.sign(part, "solder_joints", outcome)

    def pot(self, part: str) -> None:
        """Enter the code on a pot."""
        mark = self.one.pieces[part].mark
        if mark is None:
            self.add(part, "mark", "absent")
        elif self.chance(FAINT[part] * self.habits.faint):
            self.add(part, "mark", "illegible")
        else:
            wrong = self.swapped_digit(mark) if self.chance(self.habits.misread) else None
            if wrong is None or not 1 <= int(wrong[-2:]) <= 52:
                wrong = mark
            if self.chance(0.04):
                at = len(wrong) - 1 - int(self.random.integers(0, 2))
                wrong = wrong[:at] + "?" + wrong[at + 1 :]
            self.add(part, "mark", text=wrong)

    def body_mark(self) -> None:
        """Enter the pencil in the cavity."""
        body = self.one.pieces["body"]
        if body.mark is None or self.one.pencil_gone:
            self.add("body", "mark", "absent")
        elif self.chance(FAINT["body"] * self.habits.faint):
            self.add("body", "mark", "illegible")
        elif self.chance(self.habits.misread):
            year, month = divmod(body.made, MONTHS)
            month = min(max(month + int(self.random.choice([-1, 1, 2])), 0), MONTHS - 1)
            self.add("body", "mark", text=f"{ROMAN[month]} {year % 100}")
        elif self.chance(self.habits.two_ways):
            self.two_ways("body", body.mark, body.made)
        else:
            self.add("body", "mark", text=body.mark)

    # --- neck off

    def neck_off(self) -> None:
        """All that shows once the neck is off."""
        neck = self.one.pieces["neck"]
        if self.looked():
            if neck.mark is None:
                self.add("neck", "mark", "absent")
            elif self.chance(FAINT["neck"] * self.habits.faint):
                self.add("neck", "mark", "illegible")
            elif self.chance(self.habits.misread):
                made = neck.made + int(self.random.choice([-5, 5, -1, 1, 12]))
                self.add("neck", "mark", text=self.rewritten(made, neck.shows["f09"]))
            elif self.chance(self.habits.two_ways):
                self.two_ways("neck", neck.mark, neck.made)
            else:
                self.add("neck", "mark", text=neck.mark)
            if neck.mark is not None and self.looked():
                self.feature("neck", "f09")
        if self.looked():
            self.variant("finish", "f08", self.one.pocket)
        if self.looked(0.9):
            shares = (0.75, 0.22, 0.03) if neck.kind == "original" else (0.35, 0.35, 0.3)
            names = ("matched", "unclear", "mismatched")
            self.sign("neck", "neck_pocket_fit", str(self.random.choice(names, p=shares)))

    def rewritten(self, made: int, style: str) -> str:
        """The neck's mark as if it had been written in another month."""
        return self.factory.neck_mark(made, style, self.random)

    def two_ways(self, part: str, text: str, made: int) -> None:
        """A mark left open between two months, the heavier true as often as its weight says."""
        other = made + int(self.random.choice([-5, 5, 1, -1, 3]))
        heavier = float(self.random.uniform(0.5, 0.9))
        true_weight = heavier if self.chance(heavier) else 1 - heavier
        weights = {made: true_weight, other: 1 - true_weight}
        ways = [
            {"period": format_month(month), "weight": round(w, 3)} for month, w in weights.items()
        ]
        self.add(part, "mark", text=f"{text[:-1]}?", readings=ways)
