"""What the census of a maker shows: what it taught, whether ranges held, what reads differently."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from heelstamp.casework.census.held import Held
from heelstamp.casework.census.learn import ChangeLearned, NewEdition
from heelstamp.casework.census.redating import Redated, step_names
from heelstamp.casework.federation.joined import Joined
from heelstamp.chronology import Chronology
from heelstamp.report.change_over import change_over_alt, change_over_svg
from heelstamp.report.reliability import ReliabilityPoint, reliability_alt, reliability_svg
from heelstamp.shop.learning import Learned
from heelstamp.units import name_month
from heelstamp.web.rendering import drawn
from heelstamp.wording import about_census as about
from heelstamp.wording import about_federation as together

WORDS_SHOWN = 12
HELD = "Ranges made without marks"


@dataclass(frozen=True, slots=True)
class Moved:
    """One change-over before and after learning."""

    feature: str
    name: str
    looks: int
    before: str
    now: str
    range_90: str
    by: str


def learned_view(learned: Learned, present: Chronology | None, base: str) -> dict[str, Any]:
    """Lay out what the census taught; *base* is the digest of the edition it learned from."""
    return {
        "new": learned.new,
        "views": [
            (one, drawn(change_over_svg(one)), change_over_alt(one)) for one in learned.views
        ],
        "moved": moved_lines(learned.new),
        "sentences": learned_sentences(learned.new)
        if learned.joined is None
        else joined_sentences(learned.joined),
        "joined": joined_lines(learned.joined),
        "census": learned.census,
        "numbers_missed": learned.with_serials and not learned.new.serials,
        "stale": present is not None and present.digest != base,
    }


def joined_sentences(joined: Joined) -> list[str]:
    """Say who taught, who does not fit the others, who gathered one variant alone."""
    told = [
        together.tables_joined.say(
            others=joined.others,
            own=joined.others < len(joined.shops),
            shifted=joined.way == "shifted",
        )
    ]
    if joined.asked:
        told.append(together.shops_asked.say(shops=[one.name for one in joined.asked]))
    if joined.selected:
        told.append(together.one_variant_collected.say(shops=[one.name for one in joined.selected]))
    if joined.new.kept:
        told.append(about.left_as_they_were.say(looks=joined.new.kept))
    return told


def joined_lines(joined: Joined | None) -> list[tuple[str, int, str, str]]:
    """Shops with the change-overs they speak of, how they fit the others, in words and a figure."""
    if joined is None:
        return []
    lines = []
    for one, fit in zip(joined.shops, joined.fits, strict=True):
        stands = (
            "cannot be told of a sum"
            if fit is None
            else "does not fit: ask"
            if fit.is_asked
            else "fits the others"
        )
        lines.append((one.name, len(one.tables), stands, "" if fit is None else f"{fit.most:+.1f}"))
    return lines


def held_view(past: Held) -> dict[str, Any]:
    """Lay out whether the shop's own ranges held."""
    points = [
        ReliabilityPoint(one.level, one.held, one.low, one.high, past.count) for one in past.levels
    ]
    diagram = reliability_svg(
        points,
        title=HELD,
        across="what the range was to hold",
        upwards="what it held of the date with marks",
    )
    return {
        "sentences": held_sentences(past),
        "lines": held_lines(past),
        "diagram": drawn(diagram),
        "diagram_words": reliability_alt(points, title=HELD),
    }


def redated_view(id_: str, found: Redated) -> dict[str, Any]:
    """Lay out what reads differently."""
    return {
        "sentences": redated_sentences(id_, found),
        "steps": redated_steps(found),
        "words": redated_words(found),
        "worst": redated_worst(found),
    }


def moved_lines(new: NewEdition) -> list[Moved]:
    """What learning moved, in the order of the document."""
    return [_moved(one) for one in new.changes]


def _moved(one: ChangeLearned) -> Moved:
    months = round(one.centre - one.old_centre)
    by = "unmoved" if not months else f"{months:+d} months".replace("-", "−")
    return Moved(
        feature=one.feature,
        name=one.name,
        looks=one.looks,
        before=f"{name_month(round(one.old_centre))}, width {one.old_width:.1f}",
        now=f"{name_month(round(one.centre))} ± {one.centre_sd:.1f}, width {one.width:.1f}",
        range_90=" to ".join(name_month(round(end)) for end in one.centre_90),
        by=by,
    )


def learned_sentences(new: NewEdition) -> list[str]:
    """Say which rows taught, and what was left as it was."""
    told = [about.census_taught.say(taught=new.taught, silent=new.silent)]
    told += [
        about.serials_learned.say(
            prefix=prefix, points=len(one.numbers), count=one.count, scatter=one.scatter
        )
        for prefix, one in new.serials.items()
    ]
    if new.kept:
        told.append(about.left_as_they_were.say(looks=new.kept))
    return told


def held_sentences(past: Held) -> list[str]:
    """Say how often ranges of 50 and of 90 % held, and how wide they were."""
    told = []
    for level in (0.5, 0.9):
        one = past.level(level)
        told.append(
            about.ranges_held.say(
                count=past.count, level=level, held=one.held, low=one.low, high=one.high
            )
        )
    wide = about.ranges_wide.say(without=past.width, with_marks=past.width_with_marks)
    return [*told, wide]


def held_lines(past: Held) -> list[tuple[str, str, str]]:
    """What ranges of each level were to hold, what they held, and what chance alone allows."""
    return [
        (
            f"{100 * one.level:.0f} %",
            f"{100 * one.held:.0f} %",
            f"{100 * max(0.0, one.low):.0f} to {100 * min(1.0, one.high):.0f} %",
        )
        for one in past.levels
    ]


def redated_sentences(id_: str, found: Redated) -> list[str]:
    """Say how many conclusions moved, and whether dates are now withheld or given."""
    told = [
        about.dated_again.say(
            chronology=id_, count=found.count, moved=found.moved, first=found.first
        )
    ]
    if found.withheld or found.given:
        told.append(about.dates_turned.say(withheld=found.withheld, given=found.given))
    return told


def redated_steps(found: Redated) -> list[tuple[str, int, int]]:
    """Months moved, and how many medians and ends moved by them."""
    return [
        (name, found.median[name], found.ends[name])
        for name in step_names()
        if found.median[name] or found.ends[name]
    ]


def redated_words(found: Redated) -> list[tuple[str, str, str, int]]:
    """The words about parts that turned, the most frequent first."""
    return [
        (part.replace("_", " "), before, after, count)
        for (part, before, after), count in found.words_turned[:WORDS_SHOWN]
    ]


def redated_worst(found: Redated) -> list[tuple[str, str]]:
    """Id and sentence of those that moved furthest."""
    return [
        (
            one.id,
            about.conclusion_moved.say(
                id_=one.id,
                median=one.median,
                ends=one.ends,
                turned=[
                    (part.replace("_", " "), *words) for part, words in sorted(one.turned.items())
                ],
                date=one.withheld,
            ),
        )
        for one in found.worst
    ]
