"""The frames of the demonstration, in the order in which they were taken.

One row a frame: what the camera was pointed at, in which light, when, and whether the frame is
held back from outsiders' papers (the private set is compared when an instrument comes home).
The order follows the bench rule that a frame comes before the act which destroys its subject.
Everything is invented; the pictures are drawn by ``demo_photographs.py`` and marked so.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Frame:
    """One exposure: its place in the photograph list and what it is meant to show."""

    id: str
    slot: str
    part: str | None
    light: str
    taken: str
    note: str
    private: bool = False
    targets: bool = False
    """Scale bar and colour target lie in the picture: true for the first frame of a set."""
    located: bool = False
    """The camera wrote a position (0° N, 0° E, invented) into the file."""

    @property
    def name(self) -> str:
        """File name."""
        return f"{self.id}.jpg"


VISIBLE, RAKING, UV = "visible", "raking", "UV-A"

FRAMES: tuple[Frame, ...] = (
    # 2 November: the door
    Frame(
        "F001",
        "case-closed",
        "case",
        VISIBLE,
        "2026-11-02T09:12:00",
        "Case as handed over, closed, with scale and colour target.",
        targets=True,
        located=True,
    ),
    Frame(
        "F002",
        "case-open",
        "case",
        VISIBLE,
        "2026-11-02T15:48:00",
        "Case just opened: slate lining, strap, arm and a folded docket where they lay.",
    ),
    Frame(
        "F003",
        "in-case",
        None,
        VISIBLE,
        "2026-11-02T15:50:00",
        "Guitar in the case, strings on, nothing moved.",
    ),
    Frame(
        "F004",
        "docket",
        "case",
        VISIBLE,
        "2026-11-02T15:55:00",
        "Repair docket of 1988, flat, with scale; no serial on either side.",
        targets=True,
    ),
    # 3 November: outside, nothing touched
    Frame(
        "F005",
        "overall-front",
        None,
        VISIBLE,
        "2026-11-03T09:05:00",
        "Whole front, with scale and colour target.",
        targets=True,
    ),
    Frame(
        "F006",
        "overall-back",
        None,
        VISIBLE,
        "2026-11-03T09:08:00",
        "Whole back; a card covers the end of the number.",
    ),
    Frame("F007", "overall-edge-bass", None, VISIBLE, "2026-11-03T09:11:00", "Bass edge."),
    Frame("F008", "overall-edge-treble", None, VISIBLE, "2026-11-03T09:13:00", "Treble edge."),
    Frame(
        "F009",
        "overall-end-lower",
        None,
        VISIBLE,
        "2026-11-03T09:15:00",
        "Lower end with strap button.",
    ),
    Frame(
        "F010",
        "overall-end-upper",
        None,
        VISIBLE,
        "2026-11-03T09:17:00",
        "Upper end, from the head towards the body.",
    ),
    Frame(
        "F011",
        "overall-oblique-front",
        None,
        VISIBLE,
        "2026-11-03T09:20:00",
        "Front from the lower treble side.",
    ),
    Frame(
        "F012",
        "overall-oblique-back",
        None,
        VISIBLE,
        "2026-11-03T09:22:00",
        "Back from the lower bass side; a card covers the end of the number.",
    ),
    Frame(
        "F013",
        "head-front",
        "badge",
        VISIBLE,
        "2026-11-03T09:26:00",
        "Head: badge on two pins, square rod key seat above the nut.",
    ),
    Frame(
        "F014",
        "head-back",
        "tuners",
        VISIBLE,
        "2026-11-03T09:29:00",
        "Six tuners; the cover of the fourth string's has ribs, the others are plain.",
    ),
    Frame(
        "F015",
        "heel",
        "neck",
        VISIBLE,
        "2026-11-03T09:33:00",
        "Heel and joint from the treble side, closed.",
    ),
    Frame(
        "F016", "edge-lower", "finish", RAKING, "2026-11-03T09:37:00", "Lower edge at raking light."
    ),
    Frame(
        "F017",
        "plate",
        "neck_plate",
        VISIBLE,
        "2026-11-03T09:41:00",
        "Neck plate with number and four screw heads before turning.",
        targets=True,
    ),
    Frame(
        "F018",
        "guard-screws",
        "guard",
        RAKING,
        "2026-11-03T09:45:00",
        "Guard screw heads before turning, dust in the recesses; socket plate at the left.",
    ),
    Frame(
        "F019",
        "tuner-4",
        "tuner_4",
        VISIBLE,
        "2026-11-03T09:49:00",
        "Tuner of the fourth string: ribbed cover, filled second hole, narrower shadow.",
        targets=True,
    ),
    Frame(
        "F020",
        "bridge",
        "bridge",
        VISIBLE,
        "2026-11-03T09:53:00",
        "Bridge as found, rusted strings on.",
    ),
    Frame("F021", "board-1", "neck", VISIBLE, "2026-11-03T09:57:00", "Board, frets 1 to 7."),
    Frame("F022", "board-2", "neck", VISIBLE, "2026-11-03T09:59:00", "Board, frets 8 to 14."),
    Frame("F023", "board-3", "neck", VISIBLE, "2026-11-03T10:01:00", "Board, frets 15 to 21."),
    # 4 November: the lamp; the camera was knocked a little within each pair
    Frame(
        "F024",
        "uv-front-visible",
        "finish",
        VISIBLE,
        "2026-11-04T10:10:00",
        "Body front, visible half of the pair, 10 px/mm, ruler and greys beside it.",
        targets=True,
    ),
    Frame(
        "F025",
        "uv-front",
        "finish",
        UV,
        "2026-11-04T10:14:00",
        "Body front, UV-A 365 nm half of the pair, 10 px/mm.",
    ),
    Frame(
        "F026",
        "uv-back-visible",
        "finish",
        VISIBLE,
        "2026-11-04T10:26:00",
        "Body back, visible half of the pair, 10 px/mm; a card covers the end of the number.",
        targets=True,
    ),
    Frame(
        "F027",
        "uv-back",
        "finish",
        UV,
        "2026-11-04T10:30:00",
        "Body back, UV-A 365 nm half of the pair, 10 px/mm; a card covers the number's end.",
    ),
    # 5 November: strings off, guard off
    Frame(
        "F028",
        "strings-bagged",
        "strings",
        VISIBLE,
        "2026-11-05T09:40:00",
        "Removed set, bagged and labelled.",
    ),
    Frame(
        "F029",
        "cavity",
        "body",
        VISIBLE,
        "2026-11-05T10:20:00",
        "Guard turned over on its leads: the whole cavity.",
        targets=True,
    ),
    Frame(
        "F030",
        "pot-tone-code",
        "pot_tone",
        VISIBLE,
        "2026-11-05T10:28:00",
        "Tone pot, code on the can.",
    ),
    Frame(
        "F031",
        "pot-volume-code",
        "pot_volume",
        VISIBLE,
        "2026-11-05T10:31:00",
        "Volume pot, code on the can.",
    ),
    Frame(
        "F032",
        "pot-volume-joints",
        "pot_volume",
        VISIBLE,
        "2026-11-05T10:35:00",
        "Joints of the volume pot.",
    ),
    Frame(
        "F033",
        "pot-tone-joints",
        "pot_tone",
        VISIBLE,
        "2026-11-05T10:38:00",
        "Joints of the tone pot.",
    ),
    Frame(
        "F034",
        "guard-underside",
        "guard",
        VISIBLE,
        "2026-11-05T10:42:00",
        "Underside of the guard: three layers, foil side.",
    ),
    Frame(
        "F035",
        "socket",
        "socket",
        VISIBLE,
        "2026-11-05T10:46:00",
        "Output socket: both tags wetted twice, lead shortened.",
    ),
    Frame(
        "F036",
        "capacitor",
        "capacitor",
        VISIBLE,
        "2026-11-05T10:50:00",
        "Tone capacitor, moulded film.",
    ),
    Frame(
        "F037",
        "cavity-wall",
        "body",
        RAKING,
        "2026-11-05T10:55:00",
        "Cavity wall where a pencil mark would stand: none; foil patch at the left.",
    ),
    Frame(
        "F038",
        "grain-under-guard",
        "body",
        RAKING,
        "2026-11-05T11:00:00",
        "Grain and spray edge under the guard.",
        private=True,
    ),
    Frame(
        "F039",
        "tray",
        "guard",
        VISIBLE,
        "2026-11-05T11:06:00",
        "Tray: eleven guard screws on their hole map.",
    ),
    # 6 November: neck off
    Frame(
        "F040",
        "heel-stamp",
        "neck",
        VISIBLE,
        "2026-11-06T10:12:00",
        "Heel end of the neck: ink stamp, one digit under-inked.",
        targets=True,
    ),
    Frame(
        "F041",
        "pocket",
        "body",
        VISIBLE,
        "2026-11-06T10:18:00",
        "Pocket floor: grey-green primer, card shim at the heel end and its outline.",
    ),
    # 9 to 11 November: bench work, reassembly, packing
    Frame(
        "F042",
        "pot-tone-before",
        "pot_tone",
        VISIBLE,
        "2026-11-09T09:20:00",
        "Tone pot before cleaning: open slot of the case.",
    ),
    Frame(
        "F043",
        "pot-tone-after",
        "pot_tone",
        VISIBLE,
        "2026-11-09T09:36:00",
        "Tone pot after cleaning: slot dry, no liquid on the board or the foil.",
    ),
    Frame(
        "F044",
        "bridge-after",
        "bridge",
        VISIBLE,
        "2026-11-11T10:40:00",
        "Bridge with new strings, saddles lowered.",
    ),
    Frame(
        "F045",
        "reassembled",
        None,
        VISIBLE,
        "2026-11-11T11:05:00",
        "Whole front, reassembled, new strings.",
        targets=True,
    ),
    Frame(
        "F046",
        "packed",
        "case",
        VISIBLE,
        "2026-11-11T11:40:00",
        "In the case for the store: head and neck supported, arm and old strings bagged.",
    ),
    # 16 to 20 November: after the viewing, and into its parcel
    Frame(
        "F047",
        "after-viewing",
        None,
        VISIBLE,
        "2026-11-16T15:20:00",
        "Whole front after the viewing: nothing that was not there before.",
        targets=True,
    ),
    Frame(
        "F048",
        "loose-bagged",
        "case",
        VISIBLE,
        "2026-11-20T14:05:00",
        "Arm and old strings, bagged apart for the parcel.",
    ),
    Frame(
        "F049",
        "parcel-open",
        "case",
        VISIBLE,
        "2026-11-20T14:20:00",
        "Case in its box, padding on every side.",
    ),
    Frame(
        "F050",
        "parcel-sealed",
        "case",
        VISIBLE,
        "2026-11-20T14:35:00",
        "Parcel closed: tape across both seams, seal number and label legible.",
    ),
)

PRIVATE = tuple(frame.id for frame in FRAMES if frame.private)
