"""5 and 6 November: strings and guard off, marks; then the neck, with the reason written first.

Two readings of a doubtful mark are stored before either is shown. A mark dates a part: it is a
lower bound of the completion, not the completion.
"""

from __future__ import annotations

from demo.telling import Day, Entry, Picture


def guard(pictures: dict[str, Picture]) -> list[Entry]:
    """Tell 5 November: the cavity."""
    day = Day("2026-11-05", "09:00", pictures)
    day.custody(
        "custody-bench-3",
        "to bench",
        "store",
        "examiner A",
        "bench 1",
        "Tuned down a tone before the strings come off.",
    )
    day.add(
        "decision",
        id="decision-guard",
        about="strings and guard",
        decided="Strings off, then guard off.",
        reason="Strings are not the first set (signed statement); consent given. "
        "The cavity is expected to halve the range of the date.",
    )
    day.shoot("F028")
    day.treat(
        "t-strings-off",
        "take strings off",
        "strings",
        "steel, .011 .014 .018 plain, .028 .038 .050 wound",
        "one set",
        "To reach the guard; the set is kept, labelled, for the consignor.",
        15,
        "F020 F021",
        "F028",
        note="Under consent-strings.",
    )
    day.sign(
        "ghost-bridge",
        "bridge",
        "bridge_ghost_line",
        "agrees",
        "F020",
        "Shadow and wear line in the lacquer agree with the bridge as it stands.",
    )
    day.shoot("F029", "F030", "F031", "F032", "F033", "F034", "F035", "F036", "F037", "F038")
    day.shoot("F039")
    day.measure("m-screws-out", "guard screws in the tray", "guard", 11, "1", 0, frames="F039")
    day.treat(
        "t-guard-off",
        "lift guard",
        "guard",
        "",
        "11 screws",
        "Marks, joints and covered finish.",
        20,
        "F018 F005",
        "F029 F039",
        note="Under consent-guard. Each screw kept on its hole map; leads not strained.",
    )
    day.see(
        "mark-pot-tone",
        "pot_tone",
        "mark",
        "F030",
        "Seven digits, all clear.",
        text="3046446",
        reader="source-date",
        lot="carton 1964-46",
    )
    day.see(
        "mark-pot-volume",
        "pot_volume",
        "mark",
        "F031",
        "Seven digits, all clear.",
        text="3046519",
        reader="source-date",
        lot="carton 1965-19",
    )
    day.see(
        "g1",
        "pot_volume",
        "feature",
        "F030 F031",
        "Both pots carry source 304: neither side of the change from 134 to 137.",
        status="not applicable",
        feature="g1",
    )
    day.feature("g5", "pot_volume", "304", "F030 F031", "Both pots.")
    day.sign(
        "joints-pot-volume",
        "pot_volume",
        "solder_joints",
        "untouched",
        "F032",
        "One wetting, dull and even, dust in the flux.",
    )
    day.sign(
        "joints-pot-tone",
        "pot_tone",
        "solder_joints",
        "untouched",
        "F033",
        "One wetting, dull and even, dust in the flux.",
    )
    day.sign(
        "joints-socket",
        "socket",
        "solder_joints",
        "reworked",
        "F035",
        "Both tags wetted a second time, lead shortened. Second heating, not more than that.",
    )
    day.sign(
        "joints-leads",
        "leads",
        "solder_joints",
        "untouched",
        "F029 F032",
        "Pickup leads at the switch and at the volume pot.",
    )
    day.feature("f14", "leads", "waxed cloth", "F029 F032")
    day.feature("f11", "capacitor", "0.047 µF moulded film", "F036")
    day.measure(
        "m-capacitor",
        "capacitance at 1 kHz",
        "capacitor",
        0.049,
        "µF",
        0.0005,
        temperature=22.0,
        frames="F036",
        note="Marked 0.047; in circuit, tone pot at its far end.",
    )
    day.feature("f04", "body", "basswood", "F038", "Pale, even, fine pores, under the guard.")
    day.feature("f06", "foil", "copper patch, shellac-stuck", "F029 F037")
    day.see(
        "mark-body",
        "body",
        "mark",
        "F037",
        "Looked for on all cavity walls at raking light, guard off: no pencil mark.",
        status="absent",
    )
    day.see(
        "g4",
        "body",
        "feature",
        "F037",
        "The same look as mark-body.",
        feature="g4",
        variant="absent",
    )
    day.sign(
        "paint-cavity",
        "finish",
        "paint_in_cavity",
        "as_built",
        "F029 F038",
        "Walnut stain under clear; the spray edge runs even into the cavity, no second layer.",
    )
    day.custody(
        "custody-night-4",
        "locked up",
        "examiner A",
        "store",
        "store, rack 2",
        "Guard laid back, two screws by hand; case closed.",
    )
    return day.entries


def neck(pictures: dict[str, Picture]) -> list[Entry]:
    """Tell 6 November: why the neck was lifted, and what stood there."""
    day = Day("2026-11-06", "09:05", pictures)
    day.custody("custody-bench-4", "to bench", "store", "examiner A", "bench 1", "")
    day.add(
        "decision",
        id="decision-neck",
        about="neck",
        decided="Ask to lift the neck.",
        reason="In date it gains about one month of range, which alone would not pay. "
        "But the consignor asks whether the neck belongs here, and that sentence cannot be "
        "written without the heel. The plate screws have been turned before.",
    )
    day.consent(
        "consent-neck-signed",
        "take neck off",
        "Asked with both reasons in writing; signed this morning. The condition is met.",
    )
    day.shoot("F040", "F041")
    day.scale("F040", 0.66, 0.815, 15.5)
    day.treat(
        "t-neck-off",
        "take neck off",
        "neck",
        "",
        "4 screws",
        "Heel mark, pocket and shim.",
        18,
        "F015 F017",
        "F040 F041",
        note="Under consent-neck-signed. Screws started by hand bit, full seat, no driver.",
    )
    day.add(
        "statement",
        id="statement-second-reader",
        writer="examiner B",
        role="second reader",
        about="mark-neck",
        text="65/0 and a weak digit, then R. 3 more likely than 8; no other digit fits. "
        "Written before the first reading was shown.",
        signed=True,
    )
    day.see(
        "mark-neck",
        "neck",
        "mark",
        "F040",
        "Ink stamp, the digit after 0 under-inked: 03 or 08. The letter names a bench, not a date.",
        text="65/0? R",
        reader="written:year2 month2 letter",
        readings=[{"period": "1965-03", "weight": 0.75}, {"period": "1965-08", "weight": 0.25}],
    )
    day.feature("f09", "neck", "ink stamp: yy/mm and bench letter", "F040")
    day.feature("f08", "body", "grey-green primer coat", "F041")
    day.sign(
        "pocket-fit",
        "neck",
        "neck_pocket_fit",
        "matched",
        "F015 F041",
        "Heel outline and pocket agree on three sides; the lacquer edge meets the heel's own line.",
    )
    day.sign(
        "outline-shim",
        "shim",
        "outline_in_primer",
        "present",
        "F041",
        "A card shim at the heel end; its outline is pressed into the primer. It has lain there "
        "since before the primer took the outline; maker's or later not determined.",
    )
    day.measure(
        "m-shim",
        "thickness of the shim",
        "shim",
        0.40,
        "mm",
        0.02,
        frames="F041",
        note="Card. Left in place.",
    )
    day.measure("m-pocket", "length of the pocket", "body", 76.0, "mm", 0.5, frames="F041")
    day.add(
        "decision",
        id="decision-stop",
        about="next layer",
        decided="Stop opening.",
        reason="No joint is opened and no coat tested: neither would change a word of the report, "
        "and neither is allowed.",
    )
    day.custody(
        "custody-night-5",
        "locked up",
        "examiner A",
        "store",
        "store, rack 2",
        "Neck laid in its pocket on the shim, screws by hand; case closed.",
    )
    return day.entries
