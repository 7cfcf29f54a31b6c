"""9 to 11 November: least liquid, new strings, one eighth of a turn, numbers after, packing.

The predicted values follow from the tensions of the two sets and from the stiffness that the
tuned-down reading gave (T = μ(2Lf)², so relief per newton = 0.00083 mm/N). Stage "plan" holds
what was predicted or intended, and the reading that checked it before the rod was turned.
"""

from __future__ import annotations

from demo.condition_maps import exit_map
from demo.look import RELIEF
from demo.telling import Day, Entry, Picture


def reassembly(pictures: dict[str, Picture]) -> list[Entry]:
    """Tell 9 November: the control cleaned, everything back, new strings."""
    day = Day("2026-11-09", "09:10", pictures)
    day.custody("custody-bench-5", "to bench", "store", "examiner A", "bench 1", "")
    day.shoot("F042", "F043")
    day.record("r-tone-still-final", "r-tone-sweep-final")
    day.measure(
        "m-crackle-final",
        "crackle events per turn",
        "pot_tone",
        3,
        "1/turn",
        1,
        "final",
        heard={"recordings": ["r-tone-sweep-final", "r-tone-still-final"]},
        note="Same gain, five sweeps against a still take; guard lying open.",
    )
    day.treat(
        "t-cleaner",
        "clean control",
        "pot_tone",
        "contact cleaner, hydrocarbon solvent",
        "0.1 ml",
        "19 crackle events per turn; air and a dry brush were tried first.",
        8,
        "F042 m-crackle-found r-tone-sweep-found",
        "F043 m-crackle-final r-tone-sweep-final",
        reversible=False,
        note="Under consent-cleaner, at the open slot of the case, guard off, by needle. Solvent "
        "caution: finish and guard covered, ventilated, none on paper, celluloid or the shellac "
        "of the foil.",
    )
    day.at("10:20")
    day.measure(
        "m-plate-screws-in", "neck plate screws back in", "plate_screws", 4, "1", 0, "final"
    )
    day.treat(
        "t-neck-on",
        "refit neck",
        "neck",
        "",
        "4 screws",
        "Reassembly.",
        15,
        "F041 F017",
        "m-plate-screws-in",
        note="Each screw by hand into its own thread; shim left where it lay.",
    )
    day.measure("m-screws-in", "guard screws back in", "guard", 11, "1", 0, "final")
    day.treat(
        "t-guard-on",
        "refit guard",
        "guard",
        "",
        "11 screws",
        "Reassembly.",
        20,
        "F039 m-screws-out",
        "m-screws-in",
        note="Each screw by hand into its own hole, no over-tightening on laminate.",
    )
    day.measure(
        "m-relief-predicted",
        "relief",
        "neck",
        0.33,
        "mm",
        0.04,
        "plan",
        at=RELIEF,
        strings="new",
        role="predicted",
        note="From the tension ratio 0.709 and this neck's own stiffness; "
        "written before the new strings.",
    )
    day.measure(
        "m-tension-found",
        "string tension",
        "strings",
        523,
        "N",
        5,
        "found",
        note="T = μ(2Lf)² from the labelled gauges.",
    )
    day.measure(
        "m-tension-new",
        "string tension",
        "strings",
        371,
        "N",
        4,
        "plan",
        strings="new",
        note="0.709 of the set as found.",
    )
    day.measure(
        "m-action-treble-predicted",
        "action",
        "saddles",
        2.1,
        "mm",
        0.1,
        "plan",
        at={"fret": 12, "side": "treble"},
        role="predicted",
    )
    day.measure(
        "m-action-bass-predicted",
        "action",
        "saddles",
        2.6,
        "mm",
        0.1,
        "plan",
        at={"fret": 12, "side": "bass"},
        role="predicted",
    )
    day.custody(
        "custody-night-6",
        "locked up",
        "examiner A",
        "store",
        "store, rack 2",
        "At pitch, to settle over night; case closed.",
    )
    return day.entries


def setup(pictures: dict[str, Picture]) -> list[Entry]:
    """Tell 10 and 11 November: rod, saddles, final numbers, noise, packing."""
    day = Day("2026-11-10", "09:30", pictures)
    day.custody("custody-bench-6", "to bench", "store", "examiner A", "bench 1", "")
    day.measure(
        "m-relief-new-strings",
        "relief",
        "neck",
        0.35,
        "mm",
        0.03,
        "plan",
        at=RELIEF,
        strings="new",
        note="Read after a night at pitch to check the prediction of 0.33 mm.",
    )
    day.measure(
        "m-action-treble-new-strings",
        "action",
        "saddles",
        2.1,
        "mm",
        0.05,
        "plan",
        at={"fret": 12, "side": "treble"},
        strings="new",
    )
    day.measure(
        "m-action-bass-new-strings",
        "action",
        "saddles",
        2.6,
        "mm",
        0.05,
        "plan",
        at={"fret": 12, "side": "bass"},
        strings="new",
    )
    day.treat(
        "t-strings-new",
        "fit strings",
        "strings",
        "steel, .009 .011 .016 plain, .024 .032 .042 wound",
        "one set",
        "Old set rusted; a lighter one loads the neck less.",
        20,
        "F020 m-relief-found",
        "m-relief-new-strings",
        note="Fitted on 9 November after the neck and guard; at pitch over night.",
    )
    day.measure(
        "m-intonation-plan",
        "worst intonation error",
        "saddles",
        7,
        "cent",
        1,
        "plan",
        note="New strings, saddles not yet moved.",
    )
    day.measure(
        "m-relief-target", "relief", "neck", 0.25, "mm", 0.03, "plan", at=RELIEF, role="intended"
    )
    day.measure(
        "m-action-treble-target",
        "action",
        "saddles",
        1.6,
        "mm",
        0.1,
        "plan",
        at={"fret": 12, "side": "treble"},
        role="intended",
    )
    day.measure(
        "m-action-bass-target",
        "action",
        "saddles",
        2.0,
        "mm",
        0.1,
        "plan",
        at={"fret": 12, "side": "bass"},
        role="intended",
    )
    day.custody(
        "custody-night-7",
        "locked up",
        "examiner A",
        "store",
        "store, rack 2",
        "At pitch, to settle over night; case closed.",
    )
    later = Day("2026-11-11", "09:30", pictures)
    later.custody("custody-bench-7", "to bench", "store", "examiner A", "bench 1", "")
    later.measure(
        "m-relief-final",
        "relief",
        "neck",
        0.25,
        "mm",
        0.03,
        "final",
        at=RELIEF,
        note="After a night's rest.",
    )
    later.treat(
        "t-rod",
        "turn rod",
        "rod",
        "",
        "",
        "Relief 0.35 mm, intended 0.25 mm.",
        5,
        "m-relief-new-strings m-rod-key",
        "m-relief-final",
        turns=0.125,
        note="Under consent-rod, on 10 November. Square key, full depth; no creak.",
    )
    later.measure(
        "m-saddle-treble",
        "saddle lowered",
        "saddles",
        0.66,
        "mm",
        0.05,
        "final",
        at={"side": "treble"},
    )
    later.measure(
        "m-saddle-bass", "saddle lowered", "saddles", 0.86, "mm", 0.05, "final", at={"side": "bass"}
    )
    later.measure(
        "m-action-treble-final",
        "action",
        "saddles",
        1.6,
        "mm",
        0.05,
        "final",
        at={"fret": 12, "side": "treble"},
    )
    later.measure(
        "m-action-bass-final",
        "action",
        "saddles",
        2.0,
        "mm",
        0.05,
        "final",
        at={"fret": 12, "side": "bass"},
    )
    later.measure("m-intonation-final", "worst intonation error", "saddles", -1, "cent", 1, "final")
    later.shoot("F044", "F045")
    later.treat(
        "t-saddles",
        "lower and move saddles",
        "saddles",
        "",
        "0.66 mm treble, 0.86 mm bass; lengths for intonation",
        "Action 2.3 / 2.8 mm found; 1.6 / 2.0 mm intended.",
        25,
        "F020 m-action-treble-found m-action-bass-found",
        "F044 m-action-treble-final m-action-bass-final m-intonation-final",
        kind="adjust",
    )
    exit_map(later)
    later.measure(
        "m-weight-final",
        "weight without case",
        "body",
        3279.0,
        "g",
        2.0,
        "final",
        note="5 g less than found: the lighter strings.",
    )
    later.shoot("F046")
    later.custody(
        "custody-packed",
        "locked up",
        "examiner A",
        "store",
        "store, rack 2",
        "Packed for the sale; old strings, arm, strap and docket bagged with it.",
        3279.0,
        2.0,
    )
    return [*day.entries, *later.entries]
