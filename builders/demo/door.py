"""2 November: the door. Receipt, a cold case kept shut, contents, consents, written words.

Case probe ±0.5 °C, humidity ±3 %, bench scale ±2 g: common practice, no source. The dew point of
23 °C and 52 % RH is 12.6 °C (Magnus formula), so a case at 11.5 °C inside stays closed.
"""

from __future__ import annotations

from demo.telling import Day, Entry, Picture


def door(pictures: dict[str, Picture]) -> list[Entry]:
    """Tell the first day."""
    day = Day("2026-11-02", "09:05", pictures)
    day.add(
        "instrument",
        kind="guitar",
        maker="Sallowby Instrument Works",
        model="Wherry",
        claimed="about 1964, in the consignor's words",
        chronology="sallowby-wherry",
        tag="H-0001",
    )
    day.add(
        "statement",
        id="statement-deposit",
        role="consignor",
        about="custody",
        text="I leave the case closed with the shop until this afternoon, when it is opened and "
        "the guitar weighed with me present.",
        signed=True,
    )
    day.shoot("F001")
    day.measure(
        "m-case-temperature",
        "temperature inside the case",
        "case",
        11.5,
        "°C",
        0.5,
        note="Probe through the gap of the lid, case closed.",
    )
    day.measure("m-room-temperature", "temperature of the room", "case", 23.0, "°C", 0.5)
    day.measure("m-room-humidity", "relative humidity of the room", "case", 52.0, "% RH", 3.0)
    day.add(
        "decision",
        id="decision-wait",
        about="opening the case",
        decided="Leave the case shut until it is well above the dew point of the room.",
        reason="Case 11.5 °C; room 23 °C and 52 % RH, dew point 12.6 °C: "
        "water would settle on the lacquer.",
    )
    day.add(
        "statement",
        id="statement-ownership",
        role="consignor",
        about="ownership",
        text="I bought the guitar from its second player in 1989 and have owned it alone since. "
        "Nobody else has a claim on it.",
        signed=True,
    )
    day.add(
        "statement",
        id="statement-wish",
        role="consignor",
        about="purpose",
        text="I want a report and a sale. Strings and guard may come off. The neck only if a "
        "question remains whose answer would change the words of the report. "
        "I want to read whether the neck belongs here.",
        signed=True,
    )
    day.at("15:40")
    day.measure(
        "m-case-temperature-2",
        "temperature inside the case",
        "case",
        21.5,
        "°C",
        0.5,
        note="Six hours closed in the room; 9 °C above the dew point: opened.",
    )
    day.shoot("F002", "F003", "F004")
    day.add(
        "contents",
        id="contents-strap",
        item="woven strap",
        link="unrelated",
        frames=["F002"],
        note="No name, number or date on it; it lay in the case.",
    )
    day.add(
        "contents",
        id="contents-arm",
        item="bent steel arm",
        link="same period",
        frames=["F002"],
        note="Plating and rust like the bridge's; its thread was not tried. "
        "It need not be this guitar's arm. Bagged apart.",
    )
    day.add(
        "contents",
        id="contents-docket",
        item="repair docket of a shop, 1988: 'new socket'",
        link="unrelated",
        frames=["F004"],
        note="No serial on either side: a paper that lay beside the guitar, not one that names it.",
    )
    day.see(
        "docket",
        "socket",
        "document",
        "F004",
        "A shop's docket of 1988, 'new socket', without a serial; "
        "read together with the joints of the socket, never instead of them.",
        not_after="1988-12",
        reliability=0.3,
        link="unrelated",
    )
    day.feature("g3", "case", "slate, olive outside", "F001 F002")
    day.custody(
        "custody-receipt",
        "received",
        "a consignor",
        "examiner A",
        "shop door",
        "Weighed without case in the consignor's presence, rusted strings on; "
        "receipt signed by both, with the list of frames F001 to F004.",
        3284.0,
        2.0,
    )
    day.measure(
        "m-weight-found",
        "weight without case",
        "body",
        3284.0,
        "g",
        2.0,
        note="Whole instrument with the roundwound strings .011–.050 it came with.",
    )
    day.add(
        "statement",
        id="statement-strings",
        role="consignor",
        about="strings",
        text="I put these strings on myself about ten years ago. They may come off; "
        "I want them kept.",
        signed=True,
    )
    day.consent(
        "consent-strings",
        "take strings off",
        "The set is not the first, in the consignor's writing; kept in a bag.",
    )
    day.consent("consent-guard", "lift guard", "Eleven screws, each back into its own hole.")
    day.consent(
        "consent-neck",
        "take neck off",
        "Signed on the permission sheet. To be asked again before the act.",
        condition="Only if a question remains whose answer would change the words of the report.",
    )
    day.consent(
        "consent-rod",
        "turn rod",
        "At most a quarter turn in all.",
        condition="Stop at hard resistance or any creak.",
    )
    day.consent("consent-cleaner", "clean control", "Least amount, guard off, finish covered.")
    day.consent(
        "consent-desoldering", "open a solder joint", "No joint is to be opened.", granted=False
    )
    day.consent(
        "consent-solvent", "test the finish with solvent", "No test on the coat.", granted=False
    )
    day.custody(
        "custody-night-1",
        "locked up",
        "examiner A",
        "store",
        "store, rack 2",
        "Case closed, 20 °C, 48 % RH.",
    )
    return day.entries
