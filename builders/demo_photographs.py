"""Draw the simulated photographs of the demonstration.

No real instrument was photographed: every frame is drawn by the modules of ``demo`` from the
invented guitar, carries the word SIMULATED in its corner and says so in its file data. The same
seeds give the same picture for one version of numpy and Pillow; a few pixels have been seen to
differ by two levels of 255 when frames were drawn in another order, and another JPEG library may
encode differently. So the made files are kept with the program, and the journal is made from them.

    python builders/demo_photographs.py [F001 F002 …]
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

from demo import scenes_model, scenes_opened, scenes_outside, scenes_pair, scenes_wood
from demo.frames import FRAMES
from demo.grain import Array
from demo.props import develop, jpeg, label

FOLDER = (
    Path(__file__).resolve().parent.parent
    / "src"
    / "heelstamp"
    / "reference"
    / "demo"
    / "photographs"
)

NOISE, PAIR_NOISE = 0.006, 0.0016

SCENES: dict[str, Callable[[int], Array]] = {
    "case-closed": scenes_outside.case_closed,
    "case-open": scenes_outside.case_open,
    "in-case": scenes_outside.in_case,
    "docket": scenes_outside.docket,
    "overall-front": scenes_model.overall_front,
    "overall-back": scenes_model.overall_back,
    "overall-edge-bass": scenes_outside.edge_bass,
    "overall-edge-treble": scenes_outside.edge_treble,
    "overall-end-lower": scenes_outside.end_lower,
    "overall-end-upper": scenes_outside.end_upper,
    "overall-oblique-front": scenes_model.oblique,
    "overall-oblique-back": scenes_model.oblique,
    "head-front": scenes_model.head_front,
    "head-back": scenes_model.head_back,
    "heel": scenes_outside.heel,
    "edge-lower": scenes_model.edge_lower,
    "plate": scenes_model.plate,
    "guard-screws": scenes_model.guard_screws,
    "tuner-4": scenes_model.tuner_four,
    "bridge": scenes_model.bridge,
    "board-1": scenes_model.board,
    "board-2": scenes_model.board,
    "board-3": scenes_model.board,
    "uv-front-visible": scenes_pair.pair_visible,
    "uv-front": scenes_pair.pair_glow,
    "uv-back-visible": scenes_pair.pair_visible,
    "uv-back": scenes_pair.pair_glow,
    "strings-bagged": scenes_wood.strings_bagged,
    "cavity": scenes_opened.cavity,
    "pot-tone-code": scenes_opened.pot_code,
    "pot-volume-code": scenes_opened.pot_code,
    "pot-volume-joints": scenes_opened.pot_joints,
    "pot-tone-joints": scenes_opened.pot_joints,
    "guard-underside": scenes_opened.guard_underside,
    "socket": scenes_opened.socket,
    "capacitor": scenes_opened.capacitor,
    "cavity-wall": scenes_wood.cavity_wall,
    "grain-under-guard": scenes_wood.grain,
    "tray": scenes_wood.tray,
    "heel-stamp": scenes_wood.heel_stamp,
    "pocket": scenes_wood.pocket,
    "pot-tone-before": scenes_opened.pot_slot,
    "pot-tone-after": scenes_opened.pot_slot,
    "bridge-after": scenes_model.bridge,
    "reassembled": scenes_model.overall_front,
    "packed": scenes_outside.case_open,
    "after-viewing": scenes_model.overall_front,
    "loose-bagged": scenes_outside.loose_bagged,
    "parcel-open": scenes_outside.parcel,
    "parcel-sealed": scenes_outside.parcel,
}
"""Photograph slot → the scene that is drawn for it; a scene is told the frame's number."""


def main(wanted: list[str]) -> int:
    """Draw the frames named, or all; return a process exit code."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    unknown = set(wanted) - {frame.id for frame in FRAMES}
    if unknown:
        print(f"no such frame: {', '.join(sorted(unknown))}")
        return 2
    total = 0
    for number, frame in enumerate(FRAMES, start=1):
        if wanted and frame.id not in wanted:
            continue
        light = SCENES[frame.slot](number)
        half = frame.slot.startswith("uv-")  # one half of a pair: measured, and many more pixels
        picture = develop(light, seed=number, measured=half, noise=PAIR_NOISE if half else NOISE)
        picture = label(picture, frame)
        data = jpeg(picture, frame)
        (FOLDER / frame.name).write_bytes(data)
        total += len(data)
        print(f"{frame.id} {frame.slot}: {len(data) // 1000} kB")
    print(f"{total / 1e6:.2f} MB")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
