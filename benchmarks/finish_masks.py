"""Proposed masks beside the true ones: how often they would do, on simulated pairs only.

``python benchmarks/finish_masks.py --pairs 40 --first 860000`` proposes outline and parts from the
visible photographs of the tuning styles and counts, on the body: overlap of the outline (IoU), the
share of the hardware that is covered, the share of the coat that is masked by mistake. 'Usable as
it is' is judgement: an outline to 0.97, 95 % of the hardware, at most 3 % of the coat.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.finish_shapes import TUNING_STYLES
from fakes.finish_simulator import Pair, simulate
from heelstamp.luminescence import Masks, outline

LEVELS = ("easy", "medium", "hard")
LEAST_OVERLAP, LEAST_COVERED, MOST_LOST = 0.97, 0.95, 0.03
EVERYWHERE = np.eye(3)


def compared(pair: Pair) -> tuple[float, float, float] | None:
    """Outline overlap, share of hardware covered and share of coat lost; None: no proposal."""
    found = outline.propose(pair.visible)
    if found is None:
        return None
    body, parts = drawn(Masks(pair.outline, pair.parts), pair)
    said_body, said_parts = drawn(found, pair)
    overlap = (body & said_body).sum() / (body | said_body).sum()
    hardware, coat = body & parts, body & ~parts
    covered = (hardware & said_parts).sum() / max(1, hardware.sum())
    lost = (coat & said_body & said_parts).sum() / max(1, coat.sum())
    return float(overlap), float(covered), float(lost)


def drawn(masks: Masks, pair: Pair) -> tuple[np.ndarray, np.ndarray]:
    """The body and all parts as masks of the frame."""
    shape = (pair.labels.shape[0], pair.labels.shape[1])
    parts = np.zeros(shape, bool)
    for _, polygon in masks.parts:
        parts |= outline.filled(polygon, EVERYWHERE, shape)
    return outline.filled(masks.outline, EVERYWHERE, shape), parts


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=40)
    parser.add_argument("--first", type=int, default=860_000)
    wanted = parser.parse_args()
    cv2.setNumThreads(1)
    rows, none = [], 0
    for k in range(wanted.pairs):
        style, level = TUNING_STYLES[(k // 3) % len(TUNING_STYLES)], LEVELS[k % 3]
        pair = simulate(wanted.first + k, difficulty=level, style=style, width=1600)
        one = compared(pair)
        none += one is None
        if one is not None:
            rows.append(one)
            print(
                wanted.first + k,
                level,
                style,
                pair.finish,
                pair.side,
                *(f"{v:.3f}" for v in one),
                flush=True,
            )
    table = np.array(rows)
    usable = (
        (table[:, 0] >= LEAST_OVERLAP) & (table[:, 1] >= LEAST_COVERED) & (table[:, 2] <= MOST_LOST)
    )
    print(f"{wanted.pairs} pairs, no proposal on {none}, usable as it is {usable.sum()}")
    print(
        f"outline: median {np.median(table[:, 0]):.3f}, least {table[:, 0].min():.3f}, "
        f"to {LEAST_OVERLAP} {np.count_nonzero(table[:, 0] >= LEAST_OVERLAP)}"
    )
    print(
        f"hardware covered: mean {table[:, 1].mean():.3f}, to {LEAST_COVERED} "
        f"{np.count_nonzero(table[:, 1] >= LEAST_COVERED)}"
    )
    print(
        f"coat lost: mean {table[:, 2].mean():.3f}, to {MOST_LOST} "
        f"{np.count_nonzero(table[:, 2] <= MOST_LOST)}"
    )


if __name__ == "__main__":
    main()
