"""3 and 4 November: the outside, the baseline as found, the jack, and the lamp.

Feelers ±0.03 mm, action gauge ±0.05 mm, micrometer ±0.01 mm, 3½-digit meter ±(0.5 % + 1 digit):
common practice, no source. What UV shows is continuity of the coat and nothing else, so the
patches carry neutral words; what may have caused them is not written here.
"""

from __future__ import annotations

from demo.condition_maps import intake_map
from demo.telling import Day, Entry, Picture

RELIEF = {"fret": 8, "capo": 1}
"""Where relief is read: over the 8th fret with a capo at the 1st."""


def _on_pictures(day: Day) -> None:
    """Enter the ends of rules and the box over the number, then file the fingerboard."""
    day.scale("F017", 0.9, 0.05, 12.5)
    day.scale("F019", 0.85, 0.74, 20.0)
    day.add(
        "picture_box",
        minutes=0,
        id="box-F017",
        frame="F017",
        x=0.32,
        y=0.42,
        width=0.34,
        height=0.16,
        hides="number",
        note="The number, for copies that mask it.",
    )
    day.shoot("F021", "F022", "F023")


def _other_ways(day: Day) -> None:
    """Tell what was seen of bridge, nut and frets."""
    day.sign(
        "heads-bridge",
        "bridge",
        "screw_heads",
        "undisturbed",
        "F020",
        "All five heads below the strings with even dust; no slot is bright.",
        turned=0,
        judged=5,
    )
    day.sign(
        "seat-nut",
        "nut",
        "nut_seat",
        "intact",
        "F013",
        "The lacquer runs unbroken over both ends of the nut.",
    )
    day.sign(
        "slots-frets",
        "frets",
        "fret_slots",
        "intact",
        "F021 F022 F023",
        "No chips at the slots, tangs not filled; crowns worn, not levelled.",
    )


def _tuners(day: Day) -> None:
    """Tell the tuners: one of the six is another."""
    for string in (1, 2, 3, 5, 6):
        day.see(
            f"g6-tuner-{string}",
            f"tuner_{string}",
            "feature",
            "F014",
            feature="g6",
            variant="plain cover",
        )
    day.see(
        "g6-tuner-4",
        "tuner_4",
        "feature",
        "F014 F019",
        "The odd one of the six.",
        feature="g6",
        variant="ribbed cover",
    )
    day.sign(
        "holes-tuner-4",
        "tuner_4",
        "extra_screw_holes",
        "filled_or_open",
        "F019",
        "A second hole beside the present one, filled with dark wax; the other five have none.",
    )
    day.sign(
        "shadow-tuner-4",
        "tuner_4",
        "housing_shadow",
        "narrower",
        "F019",
        "The shadow in the lacquer, seen at both ends, is narrower than the present housing; "
        "the other five match.",
    )


def outside(pictures: dict[str, Picture]) -> list[Entry]:
    """Tell 3 November: nothing is opened."""
    day = Day("2026-11-03", "08:55", pictures)
    day.custody(
        "custody-bench-1",
        "to bench",
        "store",
        "examiner A",
        "bench 1",
        "Night in the store without event.",
    )
    day.shoot("F005", "F006", "F007", "F008", "F009", "F010", "F011", "F012")
    day.shoot("F013", "F014", "F015", "F016", "F017", "F018", "F019", "F020")
    _on_pictures(day)
    intake_map(day)
    day.see("serial", "neck_plate", "serial", "F017", "Six characters, all clear.", text="S10350")
    day.feature("g2", "neck_plate", "S", "F017")
    day.feature("f01", "tuners", "six single covered", "F013 F014")
    day.feature("f02", "neck_plate", "stamped on neck plate", "F017")
    day.feature("f03", "plate_screws", "cross-recess, dome head", "F017")
    day.feature(
        "f05",
        "neck",
        "rosewood-like",
        "F021 F022 F023",
        "Dark brown, open pores; species not determined.",
    )
    day.feature("f07", "badge", "pressed badge on two pins", "F013")
    day.feature(
        "f10", "guard", "three-layer laminate", "F005 F018", "Cream, black and cream at the edge."
    )
    day.feature("f12", "neck", "brass rod 1.6 mm", "F007")
    day.feature("f13", "rod", "head, 5.5 mm square key", "F013")
    _tuners(day)
    day.see(
        "p1",
        "strap_buttons",
        "feature",
        "F009",
        "Looked for at both buttons from the side: no felt washer.",
        status="absent",
        feature="p1",
    )
    day.see(
        "p2",
        "knobs",
        "feature",
        "F005",
        "Ribs counted on both knobs: 18; the 24-rib pattern is absent.",
        status="absent",
        feature="p2",
    )
    day.sign(
        "heads-plate",
        "plate_screws",
        "screw_heads",
        "turned",
        "F017",
        "Bright edges in two of four recesses: turned at some time; when is not known.",
        turned=2,
        judged=4,
    )
    day.sign(
        "heads-guard",
        "guard",
        "screw_heads",
        "undisturbed",
        "F018",
        "Even dust in all recesses, no bright edge.",
        turned=0,
        judged=11,
    )
    day.sign(
        "heads-socket-plate",
        "socket_plate",
        "screw_heads",
        "turned",
        "F018",
        "Both heads of the round plate in the guard have bright edges.",
        turned=2,
        judged=2,
    )
    _other_ways(day)
    day.measure("m-guard-screws", "number of guard screws", "guard", 10, "1", 0, frames="F018")
    day.at("11:05")
    day.measure(
        "m-gauge-1",
        "string diameter",
        "strings",
        0.28,
        "mm",
        0.01,
        at={"string": 1},
        note="Rusted roundwound set; labelled gauges would be .011 .014 .018 .028 .038 .050.",
    )
    day.measure("m-gauge-6", "string diameter", "strings", 1.27, "mm", 0.01, at={"string": 6})
    day.measure(
        "m-scale", "scale length", "neck", 641.4, "mm", 0.5, note="Twice the nut to the 12th fret."
    )
    day.measure("m-frets", "number of frets", "frets", 21, "1", 0)
    day.measure(
        "m-joint-fret",
        "fret at the joint",
        "neck",
        16,
        "1",
        0,
        note="The edge of the body lies under it.",
    )
    day.measure("m-relief-found", "relief", "neck", 0.46, "mm", 0.03, at=RELIEF)
    day.measure(
        "m-relief-tone-down",
        "relief",
        "neck",
        0.37,
        "mm",
        0.03,
        at=RELIEF,
        down=2,
        note="All six strings down a tone, tension × 0.794: the neck as its own spring balance.",
    )
    day.measure(
        "m-action-treble-found",
        "action",
        "saddles",
        2.3,
        "mm",
        0.05,
        at={"fret": 12, "side": "treble"},
    )
    day.measure(
        "m-action-bass-found", "action", "saddles", 2.8, "mm", 0.05, at={"fret": 12, "side": "bass"}
    )
    day.add(
        "decision",
        id="decision-intonation",
        about="intonation as found",
        decided="Not judged.",
        reason="The strings are rusted and dead; a reading would describe them, not the saddles.",
    )
    day.measure(
        "m-rod-key",
        "across flats of the rod",
        "rod",
        5.5,
        "mm",
        0.02,
        frames="F013",
        tool="calliper",
        note="Square; before a key is chosen.",
    )
    day.measure(
        "m-rod-tool",
        "across flats of the key",
        "rod",
        5.54,
        "mm",
        0.02,
        tool="calliper",
        note="Square key of the shop, full depth on the drive.",
    )
    day.at("12:10")
    day.record("r-tone-still-found", "r-tone-sweep-found")
    day.measure(
        "m-crackle-found",
        "crackle events per turn",
        "pot_tone",
        19,
        "1/turn",
        2,
        heard={"recordings": ["r-tone-sweep-found", "r-tone-still-found"]},
        note="Five sweeps against a still take, strings muted, guard on.",
    )
    day.measure(
        "m-jack-full",
        "resistance at the jack",
        "pickup_neck",
        6.42,
        "kΩ",
        0.04,
        jack={"volume": "full", "selector": "neck pickup"},
        temperature=24.5,
        note="No joint opened.",
    )
    day.measure(
        "m-jack-sweep",
        "resistance at the jack",
        "pot_volume",
        61.90,
        "kΩ",
        0.32,
        jack={"volume": "swept", "selector": "neck pickup"},
        temperature=24.5,
        note="Neck pickup selected.",
    )
    day.measure(
        "m-jack-bridge-full",
        "resistance at the jack",
        "pickup_bridge",
        6.78,
        "kΩ",
        0.04,
        jack={"volume": "full", "selector": "bridge pickup"},
        temperature=24.5,
    )
    day.measure(
        "m-jack-bridge-sweep",
        "resistance at the jack",
        "pot_volume",
        62.00,
        "kΩ",
        0.32,
        jack={"volume": "swept", "selector": "bridge pickup"},
        temperature=24.5,
        note="Bridge pickup selected.",
    )
    day.measure(
        "m-bridge-pickup",
        "resistance of the bridge pickup at 20 °C",
        "pickup_bridge",
        6.86,
        "kΩ",
        0.04,
        temperature=20.0,
        note="Read at the jack at 24.5 °C in the same way; "
        "given here reduced to 20 °C and freed of the volume pot.",
    )
    day.add(
        "correction",
        id="correction-guard-screws",
        corrects="m-guard-screws",
        reason="Miscounted: one screw lies half under the volume knob. Counted again on F005.",
        replacement={
            "id": "m-guard-screws",
            "quantity": "number of guard screws",
            "part": "guard",
            "value": 11,
            "unit": "1",
            "uncertainty": 0,
            "stage": "found",
            "temperature": None,
            "frames": ["F005", "F018"],
            "note": "",
        },
    )
    day.add(
        "decision",
        id="decision-lamp",
        about="next layer",
        decided="Lamp next, then strings and guard.",
        reason="The lamp touches nothing. Outside only, the range is still about a year wide.",
    )
    day.custody(
        "custody-night-2", "locked up", "examiner A", "store", "store, rack 2", "Case closed."
    )
    return day.entries


def lamp(pictures: dict[str, Picture]) -> list[Entry]:
    """Tell 4 November: two pairs, and what the eye saw under the lamp; areas are measured later."""
    day = Day("2026-11-04", "09:45", pictures)
    day.custody(
        "custody-bench-2",
        "to bench",
        "store",
        "examiner A",
        "dark room",
        "Lamp warmed for 20 minutes; goggles on.",
    )
    day.shoot("F024", "F025", "F026", "F027")
    day.sign(
        "uv-colour",
        "finish",
        "uv_colour",
        "local_patches",
        "F025 F027",
        "Even pale straw glow with six places that differ. UV shows continuity only.",
    )
    back, front = "F026 F027", "F024 F025"
    patches = (
        (
            "patch-r1",
            "darker_hard_rim",
            back,
            (
                "Back, below the neck plate: darker than its surroundings; hard rim. "
                "Ordinary light: colour matched, slight step in gloss."
            ),
        ),
        (
            "patch-r2",
            "brighter_bluish_hard_rim",
            front,
            (
                "Front, tip of the upper horn: small, brighter than its surroundings, bluish; "
                "hard round rim. Ordinary light: clear, level."
            ),
        ),
        (
            "patch-w1",
            "darker_soft_rim",
            back,
            (
                "Back, centre: much darker than its surroundings; soft rim. "
                "Ordinary light: bare wood."
            ),
        ),
        (
            "patch-w2",
            "darker_soft_streaked",
            front,
            (
                "Front, between the pickups: darker than its surroundings; soft, streaked "
                "across the strings. Ordinary light: nearly unchanged."
            ),
        ),
        (
            "patch-s1",
            "brighter_straight_edges",
            front,
            (
                "Front, lower bout: brighter than its surroundings; hard straight edges, "
                "four corners. Ordinary light: slightly paler."
            ),
        ),
        (
            "patch-d1",
            "darker_no_rim",
            back,
            (
                "Back, upper bout: a little darker than its surroundings over a wide area; no rim. "
                "Ordinary light: cloudy."
            ),
        ),
    )
    for ident, outcome, frames, note in patches:
        day.sign(ident, "finish", "uv_patch", outcome, frames, note)
    day.custody(
        "custody-night-3", "locked up", "examiner A", "store", "store, rack 2", "Case closed."
    )
    return day.entries
