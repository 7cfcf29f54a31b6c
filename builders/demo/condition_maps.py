"""The demonstration's two maps of its condition: as it came in, and as it left."""

from __future__ import annotations

from demo.telling import Day


def intake_map(day: Day) -> None:
    """Look every face over and write down each place that is not whole."""
    for face in ("front", "back", "sides", "headstock", "neck", "fingerboard"):
        day.add("face_looked", minutes=0, id=f"looked-in-{face}", face=face, visit="intake")
    here = {"visit": "intake", "since": "here at intake"}
    day.add(
        "condition",
        minutes=0,
        id="place-buckle",
        damage="worn through",
        material="finish",
        face="back",
        part="finish",
        frame="F006",
        x=0.22,
        y=0.51,
        length_mm=52,
        width_mm=31,
        uncertainty_mm=1,
        note="Soft edge, bare wood in the middle.",
        **here,
    )
    day.add(
        "condition",
        minutes=0,
        id="place-pick",
        damage="scratch",
        material="finish",
        face="front",
        part="finish",
        frame="F005",
        x=0.285,
        y=0.5,
        length_mm=70,
        width_mm=14,
        uncertainty_mm=2,
        note="Many fine ones across the strings between the pickups; the stain is kept.",
        **here,
    )
    day.add(
        "condition",
        minutes=2,
        id="place-bridge",
        damage="corrosion",
        material="metal",
        face="front",
        part="bridge",
        frame="F020",
        x=0.43,
        y=0.49,
        note="Brown patches over the whole plate and the saddles.",
        **here,
    )


def exit_map(day: Day) -> None:
    """Look the faces over again: the bridge's corrosion is not seen, and nobody cleaned it."""
    for face in ("front", "back", "sides", "headstock", "neck", "fingerboard"):
        day.add("face_looked", minutes=0, id=f"looked-out-{face}", face=face, visit="exit")
    for before, damage, face, sizes in (
        ("place-buckle", "worn through", "back", (52, 31, 1)),
        ("place-pick", "scratch", "front", (70, 14, 2)),
    ):
        day.add(
            "condition",
            minutes=0,
            id=f"{before}-out",
            damage=damage,
            material="finish",
            face=face,
            part="finish",
            visit="exit",
            since="here at intake",
            length_mm=sizes[0],
            width_mm=sizes[1],
            uncertainty_mm=sizes[2],
            same_as=before,
        )
