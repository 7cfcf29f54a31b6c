"""Weights by which ``visits/judging.py`` tells marks from light, fitted on drawn and cast faces.

``python benchmarks/watch_fit.py --cast 40 --drawn 40`` prints them. Nine marks a pair, a third of
them without colour; the textured faces take no part, so that ``change_watch.py`` can count on them.
Logistic regression of scikit-learn on standardised answers (C .3), undone afterwards.
"""

from __future__ import annotations

import argparse
import pickle
from pathlib import Path

import cv2
import numpy as np
from sklearn.linear_model import LogisticRegression

import watch_worlds as worlds
from heelstamp.luminescence.visits.comparing import OtherFaceError, candidates_of, lay_visits

STRENGTH = 0.3
ROUNDS = 3


def answers(world: str, seed: int, lights: int) -> list[tuple[bool, dict[str, float]]]:
    """Every candidate of one pair: whether it is a planted mark, and what it is judged by."""
    pair = worlds.WORLDS[world](seed, marked=True, rounds=ROUNDS)
    try:
        visits = lay_visits(pair.before[:lights], pair.after[:lights])
    except OtherFaceError:
        return []
    rows = []
    for one in candidates_of(visits):
        ys, xs = np.nonzero(one.mask)
        wide = one.mask.shape[1]
        x, y = (xs.mean() + 0.5) / wide, (ys.mean() + 0.5) / wide
        rows.append((any(mark.near(x, y) for mark in pair.marks), one.answers))
    return rows


def main() -> None:
    """Fit and print."""
    ask = argparse.ArgumentParser(description=__doc__)
    ask.add_argument("--cast", type=int, default=40)
    ask.add_argument("--drawn", type=int, default=40)
    ask.add_argument("--first", type=int, default=8000)
    ask.add_argument("--lights", type=int, default=2)
    ask.add_argument("--kept", type=Path, help="answers of an earlier run, or where to keep them")
    told = ask.parse_args()
    cv2.setNumThreads(1)
    if told.kept and told.kept.exists():
        rows = pickle.loads(told.kept.read_bytes())  # noqa: S301 - a file of one's own
    else:
        seeds = [("cast", k) for k in range(told.cast)] + [("drawn", k) for k in range(told.drawn)]
        rows = [row for world, k in seeds for row in answers(world, told.first + k, told.lights)]
        if told.kept:
            told.kept.write_bytes(pickle.dumps(rows))
    names = list(rows[0][1])
    table = np.array([[row[name] for name in names] for _, row in rows])
    marks = np.array([mark for mark, _ in rows])
    middle, spread = table.mean(axis=0), table.std(axis=0) + 1e-9
    model = LogisticRegression(C=STRENGTH, max_iter=5000)
    model.fit((table - middle) / spread, marks)
    weights = model.coef_[0] / spread
    constant = float(model.intercept_[0] - weights @ middle)
    print(f"{len(rows)} candidates, {marks.sum()} of them marks; constant {constant:.2f}")
    for name, weight in zip(names, weights, strict=True):
        print(f'    "{name}": {weight:.2f},')


if __name__ == "__main__":
    main()
