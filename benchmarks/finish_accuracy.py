"""Accuracy of the luminescence engine on simulated pairs of fresh seeds.

``python benchmarks/finish_accuracy.py --clean 60 --defects 20 --first 90000`` prints one table;
``--styles`` names some, ``tuning`` those that settings were chosen on; ``--fit`` fits the
confidence model on these and prints its coefficients. Every figure is 'on simulated pairs'. Run it
in pieces (``--save FILE`` adds to a file of results, ``--report FILE`` prints the table of all).
"""

from __future__ import annotations

import argparse
import json
import resource
import sys
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))

from fakes.finish_shapes import RESERVED_STYLES, TUNING_STYLES
from fakes.finish_simulator import Pair, simulate
from fakes.finish_surfaces import FINISHES
from fakes.finish_truth import candidate_rows, judge
from finish_small_marks import marked_pair
from heelstamp.luminescence import Assessment, GreyStandard, Masks, assess, registration, structure
from heelstamp.luminescence.confidence import FEATURES, REPORTED
from heelstamp.luminescence.seen_colour import JUST_NOTICEABLE

LEVELS = ("easy", "medium", "hard")


def one_pair(
    seed: int,
    level: str,
    style: str,
    *,
    clean: bool,
    width: int,
    auto: bool,
    grey: bool = True,
    true_position: bool = False,
) -> dict:
    """Simulate, assess and compare with the truth."""
    pair = simulate(seed, difficulty=level, style=style, clean=clean, width=width)
    begun = time.process_time()
    found = assessed(pair, auto=auto, grey=grey, true_position=true_position)
    spent = time.process_time() - begun
    result = judge(pair, found)
    result.update(seed=seed, level=level, clean=clean, cpu=spent, width=width, auto=auto)
    return result


def assessed(pair: Pair, *, auto: bool, grey: bool, true_position: bool) -> Assessment:
    """Assess a pair, with the true position if asked."""
    masks = None if auto else Masks(pair.outline, pair.parts)
    greys = (GreyStandard(pair.grey, pair.grey_reflectance),) if grey else ()
    search = registration.register
    if true_position:
        known = replace(
            registration.from_points(pair.visible, pair.uv, true_points(pair)),
            transform=pair.transform,
            correlation=1.0,
            residual=0.0,
            spread=0.0,
            agreeing=1.0,
            good_tiles=1.0,
        )
        registration.register = lambda *_, **__: known
    found = assess(pair.visible, pair.uv, masks=masks, px_per_mm=pair.px_per_mm, greys=greys)
    registration.register = search
    return found


def true_points(pair: Pair) -> list[registration.PointPair]:
    """A point a third in from each corner of the frame, in both photographs."""
    h, w = pair.labels.shape
    here = np.array([(1, 1), (2, 1), (2, 2), (1, 2)]) * (w / 3, h / 3)
    there = structure.apply(np.linalg.inv(pair.transform), here)
    return [((a[0], a[1]), (b[0], b[1])) for a, b in zip(here, there, strict=True)]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clean", type=int, default=12)
    parser.add_argument("--defects", type=int, default=12)
    parser.add_argument("--first", type=int, default=90_000, help="first seed")
    parser.add_argument("--width", type=int, default=1600)
    parser.add_argument("--styles", default="reserved", help="tuning, reserved, or names")
    parser.add_argument("--auto", action="store_true", help="outline and parts are proposed")
    parser.add_argument("--no-grey", action="store_true", help="without a grey standard")
    parser.add_argument("--true-position", action="store_true", help="the position is not searched")
    parser.add_argument("--fit", action="store_true")
    parser.add_argument("--small", type=int, default=0, help="with --fit: bodies of small marks")
    parser.add_argument("--save", type=Path)
    parser.add_argument("--report", type=Path)
    wanted = parser.parse_args()
    cv2.setNumThreads(1)
    if wanted.report:
        lines = wanted.report.read_text(encoding="utf-8").splitlines()
        report([json.loads(line) for line in lines])
        return
    sets = {"reserved": RESERVED_STYLES, "tuning": TUNING_STYLES}
    styles = sets.get(wanted.styles) or tuple(wanted.styles.split(","))
    if wanted.fit:
        fit(wanted)
        return
    rows = []
    for clean, count in ((True, wanted.clean), (False, wanted.defects)):
        for k in range(count):
            level, style = LEVELS[k % 3], styles[(k // 3) % len(styles)]
            seed = wanted.first + k + (50_000 if clean else 0)
            row = one_pair(
                seed,
                level,
                style,
                clean=clean,
                width=wanted.width,
                auto=wanted.auto,
                grey=not wanted.no_grey,
                true_position=wanted.true_position,
            )
            rows.append(row)
            if wanted.save:
                with wanted.save.open("a", encoding="utf-8") as file:
                    file.write(json.dumps(row) + "\n")
    report(rows)


def report(rows: list[dict]) -> None:
    """Print the goals' figures."""
    done = [r for r in rows if r["verdict"] == "assessed"]
    print(f"simulated pairs: {len(rows)}, assessed {len(done)}, refused {len(rows) - len(done)}")
    codes: dict[str, int] = {}
    for r in rows:
        for code in r["reasons"]:
            codes[code] = codes.get(code, 0) + 1
    print("refusals:", ", ".join(f"{c} {n}" for c, n in sorted(codes.items())) or "none")
    clean = [r for r in done if r["clean"]]
    false = [r for r in clean if r["false_mm2"]]
    largest = max((max(r["false_mm2"]) for r in false), default=0.0)
    print(f"clean bodies with a region: {len(false)} of {len(clean)}; largest {largest:.0f} mm2")
    for level in LEVELS:
        some = [r["iou"] for r in done if not r["clean"] and r["level"] == level]
        if some:
            print(
                f"IoU {level}: mean {np.mean(some):.3f}, median {np.median(some):.3f}, "
                f"n {len(some)}"
            )
    hits: dict[str, list[bool]] = {}
    for r in done:
        for kind, seen in r["recall"]:
            hits.setdefault(kind, []).append(seen)
    for kind, seen in sorted(hits.items()):
        print(f"recall {kind}: {np.mean(seen):.3f} of {len(seen)}")
    extra = [r for r in done if not r["clean"] and r["false_mm2"]]
    print(f"pairs with defects and a false region beside them: {len(extra)}")
    rms = np.array([r["rms"] for r in done if r["rms"] is not None])
    if len(rms):
        print(
            f"registration rms px, accepted: median {np.median(rms):.2f}, "
            f"95 % {np.percentile(rms, 95):.2f}, worst {rms.max():.2f}, "
            f"over 3 px {np.count_nonzero(rms > 3)}, to 1 px {np.mean(rms <= 1):.3f}"
        )
    areas = np.array([a for r in done for a in r["area_ratios"]])
    if len(areas):
        print(
            f"area found over true, hard-edged: median {np.median(areas):.3f}, "
            f"within 5 % {np.mean(np.abs(areas - 1) < 0.05):.2f}"
        )
    print(f"expected calibration error of all candidates: {calibration_error(done):.3f}")
    causes = [ok for r in done for ok in r["cause_right"]]
    if causes:
        print(f"planted cause listed first: {np.mean(causes):.2f} of {len(causes)}")
    print_seen([one for r in done for one in r.get("seen", ())])
    cpu = np.array([r["cpu"] for r in rows])
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"CPU s a pair: median {np.median(cpu):.2f}, worst {cpu.max():.2f}; "
        f"peak of the whole run, simulator included: {peak:.0f} MB"
    )


def print_seen(found: list[tuple[float, float, bool]]) -> None:
    """Print how 'visible in ordinary light' agrees with the colour that was planted."""
    planted = np.array([one[0] >= JUST_NOTICEABLE for one in found], bool)
    for name, said in (
        ("as judged", [one[2] for one in found]),
        ("by the difference alone", [one[1] >= JUST_NOTICEABLE for one in found]),
    ):
        told = np.array(said, bool)
        print(
            f"visible in ordinary light, {name}: {np.count_nonzero(told & planted)} of "
            f"{np.count_nonzero(planted)}; called so wrongly {np.count_nonzero(told & ~planted)} "
            f"of {np.count_nonzero(~planted)}"
        )


def calibration_error(rows: list[dict], bins: int = 10) -> float:
    """The mean gap between confidence and share of true ones, weighted by bin."""
    pairs = np.array([pair for r in rows for pair in r["calibration"]]).reshape(-1, 2)
    if not len(pairs):
        return 0.0
    which = np.minimum((pairs[:, 0] * bins).astype(int), bins - 1)
    gaps = [
        abs(pairs[which == b, 0].mean() - pairs[which == b, 1].mean()) * np.mean(which == b)
        for b in range(bins)
        if (which == b).any()
    ]
    return float(np.sum(gaps))


def fit_pairs(wanted: argparse.Namespace) -> Iterator[Pair]:
    """Pairs of tuning styles: with differences, clean, and with small touch-ups."""
    for clean, count in ((False, wanted.defects), (True, wanted.clean)):
        for k in range(count):
            seed = wanted.first + k + (2000 if clean else 0)
            style = TUNING_STYLES[(k // 3) % len(TUNING_STYLES)]
            yield simulate(
                seed, difficulty=LEVELS[k % 3], style=style, clean=clean, width=wanted.width
            )
    for k in range(wanted.small):
        yield marked_pair(
            wanted.first + 4000 + k,
            LEVELS[k % 3],
            TUNING_STYLES[k % len(TUNING_STYLES)],
            FINISHES[(k // 3) % len(FINISHES)],
            sizes=[3.0, 4.0, 6.0],
            width=wanted.width,
            each=4,
        )[0]


def fit(wanted: argparse.Namespace) -> None:
    """Fit the logistic model on tuning styles and print its coefficients."""
    rows: list[np.ndarray] = []
    truths: list[float] = []
    for pair in fit_pairs(wanted):
        found = assessed(pair, auto=False, grey=True, true_position=wanted.true_position)
        for numbers, _, truth in candidate_rows(pair, found):
            rows.append(numbers)
            truths.append(truth)
    x, y = np.array(rows), np.array(truths)
    coefficients = np.zeros(x.shape[1])
    ridge = np.full(x.shape[1], 0.5)
    ridge[0] = 0.01
    for _ in range(60):
        p = 1 / (1 + np.exp(-np.clip(x @ coefficients, -30, 30)))
        hessian = x.T @ (x * (p * (1 - p))[:, None]) + np.diag(ridge)
        coefficients += np.linalg.solve(hessian, x.T @ (y - p) - ridge * coefficients)
    p = 1 / (1 + np.exp(-x @ coefficients))
    print(f"{len(y)} candidates, {int(y.sum())} of them real")
    for name, value in zip(FEATURES, coefficients, strict=True):
        print(f"  {name}: {value:.3f}")
    print("COEFFICIENTS =", tuple(round(float(v), 3) for v in coefficients))
    false = int(((p > REPORTED) & (y == 0)).sum())
    missed = int(((p <= REPORTED) & (y == 1)).sum())
    print(f"false above {REPORTED}: {false}; real below: {missed}")


if __name__ == "__main__":
    main()
