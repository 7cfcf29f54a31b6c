"""The workshop: instruments as they left it, and single pieces as it or others made them."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise
from typing import Literal

from fakes.lives.habits import Generator, Habits
from heelstamp.chronology import Chronology
from heelstamp.chronology.cross_checks import NON_FACTORY
from heelstamp.units import parse_month

Kind = Literal["original", "period", "later", "donor"]
FinishKind = Literal["original", "touched_up", "old_refinish", "recent_refinish"]

TUNERS = tuple(f"tuner_{string}" for string in range(1, 7))
POTS = ("pot_volume", "pot_tone")
HARNESS = (*POTS, "capacitor", "switch", "socket")
PLAIN = ("frets", "nut", "pickup_neck", "pickup_bridge", "saddles", "bridge", "socket_plate")
"""Parts without a feature that tells of a time."""
FEATURES = {
    "neck": ("f05", "f09", "f12", "f13"),
    "body": ("f04",),
    "badge": ("f07",),
    "guard": ("f10",),
    "capacitor": ("f11",),
    "leads": ("f14",),
    "foil": ("f06",),
    "plate_screws": ("f03",),
    "neck_plate": ("f02",),
    "case": ("g3",),
    "strap_buttons": ("p1",),
    "knobs": ("p2",),
}
ROMAN = ("I", "II", "III", "IV", "V", "VI", "VII", "VIII", "IX", "X", "XI", "XII")
MONTHS, WEEKS = 12, 52
TWO_DIGITS_137 = parse_month("1961-01")
OLD_STYLE_TUNERS = "open gear, three on a strip"


@dataclass
class Piece:
    """What sits in one place.

    Attributes
    ----------
    kind
        Original, or how it came to the instrument.
    made
        Month it was made or marked in.
    shows
        Variants by feature.
    mark
        Text on it; None where it has none.
    pattern
        Whether it is of the maker's pattern, so that nothing about it looks foreign.
    """

    kind: Kind
    made: int
    shows: dict[str, str] = field(default_factory=dict)
    mark: str | None = None
    pattern: bool = True


@dataclass(frozen=True)
class Touch:
    """Something was opened or heated once: when, and by what hand."""

    month: int
    careful: bool


@dataclass
class Instrument:
    """One instrument through its life; the month of its body is its date.

    ``touched`` holds by place (a joint, a group of screws) every time it was opened.
    """

    completed: int
    pieces: dict[str, Piece]
    finish: FinishKind = "original"
    pocket: str = ""
    patches: int = 0
    overspray: bool = False
    pencil_gone: bool = False
    tightened: set[str] = field(default_factory=set)
    holes: set[str] = field(default_factory=set)
    touched: dict[str, list[Touch]] = field(default_factory=dict)

    def touch(self, place: str, month: int, careful: bool) -> None:
        """Write down that a place was opened."""
        self.touched.setdefault(place, []).append(Touch(month, careful))


class Factory:
    """The invented maker as it may have been in truth: change-overs lie about what is known.

    The share of the new pattern rises in a line from up to two months before the first that was
    seen with it to up to two months after the last that was seen without.
    """

    def __init__(self, chronology: Chronology, habits: Habits, random: Generator) -> None:
        self.habits = habits
        self.first = parse_month(chronology.production.first)
        self.last = parse_month(chronology.production.last)
        self.variants = {row.id: list(row.variants) for row in chronology.features}
        self.changes: dict[str, list[tuple[float, float]]] = {}
        self.passing: dict[str, tuple[int, int, float]] = {}
        for row in chronology.features:
            if row.passing is not None:
                ends = parse_month(row.passing.first), parse_month(row.passing.last)
                share = float(row.passing.share * random.uniform(0.7, 1.3))
                self.passing[row.id] = ends[0], ends[1], share
                continue
            self.changes[row.id] = [
                (
                    parse_month(one.first_new) - random.uniform(0, 2),
                    parse_month(one.last_old) + random.uniform(0, 2),
                )
                for one in row.change
            ]
        assert chronology.serial is not None
        self.knots: dict[str, list[tuple[int, int]]] = {}
        for knot in chronology.serial.knot:
            row_of = self.knots.setdefault(knot.prefix, [])
            row_of.append((parse_month(knot.month), knot.number))

    def variant(self, feature: str, month: int, random: Generator) -> str:
        """The pattern fitted in a month."""
        names = self.variants[feature]
        if feature in self.passing:
            first, last, share = self.passing[feature]
            return names[1] if first <= month <= last and random.random() < share else names[0]
        if random.random() < self.habits.stragglers:
            month -= int(random.integers(1, MONTHS + 1))
        index = 0
        for start, end in self.changes[feature]:
            index += random.random() < (month - start) / (end - start)
        return names[index]

    def number(self, month: int, random: Generator) -> str:
        """The serial number on a plate drawn from the bin in a month."""
        wild = random.random() < 0.02
        at = month + random.normal(0, self.habits.bin_months * (3 if wild else 1))
        at = min(max(at, self.first), self.last)
        prefix = "S" if at >= self.knots["S"][0][0] else ""
        knots = self.knots[prefix]
        for (here, low), (there, high) in pairwise(knots):
            if at <= there or (there, high) == knots[-1]:
                number = round(low + (high - low) * (at - here) / (there - here))
                break
        number = max(number, knots[0][1])
        return f"S{number:05d}" if prefix else f"{number:04d}"

    def completion(self, random: Generator) -> int:
        """A month of completion, in proportion to the numbers used in it."""
        curve = sorted({*self.knots[""], *((m, 11900 + n) for m, n in self.knots["S"])})
        drawn = random.uniform(curve[0][1], curve[-1][1])
        for (here, low), (there, high) in pairwise(curve):
            if drawn <= high:
                return min(int(here + (there - here) * (drawn - low) / (high - low)), self.last)
        return self.last

    def lag(self, mean: float, random: Generator) -> int:
        """Months that a piece lay before it was fitted."""
        if random.random() < self.habits.old_stock:
            return int(random.integers(0, self.habits.old_months + 1))
        return int(random.gamma(2.2, mean / 2.2) + random.random())

    def pot_mark(self, made: int, source: str, random: Generator) -> str:
        """The code on a pot: source, year in one or two digits, week."""
        year, month = divmod(made, MONTHS)
        week = min(max(1, round((month + random.random()) * WEEKS / MONTHS)), WEEKS)
        one_digit = source == "134" or (source == "137" and made < TWO_DIGITS_137)
        return f"{source}{year % 10 if one_digit else f'{year % 100:02d}'}{week:02d}"

    def neck_mark(self, made: int, style: str, random: Generator) -> str:
        """Pencil on the heel: last digit of the year and month; later a stamp."""
        year, month = divmod(made, MONTHS)
        if style == self.variants["f09"][0]:
            return f"{year % 10} {month + 1}"
        return f"{year % 100}/{month + 1:02d} {random.choice(['K', 'R', 'T'])}"

    def build(self, month: int, random: Generator, kind: Kind = "original") -> Instrument:
        """An instrument as it left the workshop; its pieces are of *kind* to whoever gets them."""
        habits = self.habits
        pieces = {one: Piece(kind, month) for one in (*PLAIN, "switch", "socket", *TUNERS)}
        for part, features in FEATURES.items():
            pieces[part] = Piece(kind, month, {f: self.variant(f, month, random) for f in features})
        carton = self.lag(habits.pot_lag, random)
        source = self.variant("g1", month, random)
        one_carton = random.random() < habits.carton
        for part in POTS:
            made = month - (carton if one_carton else self.lag(habits.pot_lag, random))
            pieces[part] = Piece(kind, made, mark=self.pot_mark(made, source, random))
        neck, body = pieces["neck"], pieces["body"]
        neck.made = month - self.lag(habits.neck_lag, random)
        neck.mark = self.neck_mark(neck.made, neck.shows["f09"], random)
        body.made = month - self.lag(habits.body_lag, random)
        if self.variant("g4", month, random) == "present":
            year, of_year = divmod(body.made, MONTHS)
            body.mark = f"{ROMAN[of_year]} {year % 100}"
        pieces["neck_plate"].mark = self.number(month, random)
        style, cover = self.variant("f01", month, random), self.variant("g6", month, random)
        for part in TUNERS:
            pieces[part].shows = {"f01": style, "g6": cover}
        return Instrument(month, pieces, pocket=self.variant("f08", month, random))

    def own_piece(self, part: str, month: int, kind: Kind, random: Generator) -> Piece:
        """A piece of the maker's own, of one of its instruments or over its counter."""
        month = min(max(month, self.first), self.last)
        return self.build(month, random, kind).pieces[part]

    def others_piece(self, part: str, month: int, kind: Kind, random: Generator) -> Piece:
        """A piece that anyone made and sold in a month."""
        shows = {}
        names = FEATURES.get(part, ("f01", "g6") if part in TUNERS else ())
        alike = random.choice(["foreign", "last", "matched"], p=[0.6, 0.25, 0.15])
        for name in names:
            variants = self.variants[name]
            shows[name] = {
                "foreign": NON_FACTORY,
                "last": variants[-1],
                "matched": variants[int(random.integers(len(variants)))],
            }[alike]
        if part in TUNERS:
            shows["f01"] = self.variants["f01"][1]
        mark = None
        if part in POTS and random.random() < 0.8:
            made = month - self.lag(10.0, random)
            mark = self.pot_mark(made, "137" if random.random() < 0.6 else "140", random)
        if part == "neck_plate":
            mark = self.number(int(random.integers(self.first, self.last)), random)
            shows["f02"] = self.variants["f02"][1]
        return Piece(kind, month, shows, mark, pattern=alike == "matched")
