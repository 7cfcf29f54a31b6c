"""Registration of visible and UV-A pairs beside general ones, on the same simulated pairs.

``python benchmarks/finish_registration.py`` prints the rows alone. ``--first 700000 --pairs 144
--styles final`` draws fresh pairs and prints the goals' figures instead (``--save FILE`` adds
single rows to a file). Peers are used as their manuals show, from the frames as taken: scikit-image
(phase correlation of edges; ORB features, cross-checked, RANSAC to a homography) and SimpleITK
(Mattes mutual information, affine, three levels). Time is CPU time of one thread.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import cv2
import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
sys.path.insert(0, str(Path(__file__).resolve().parent))

from fakes.finish_shapes import FINAL_STYLES, RESERVED_STYLES, TUNING_STYLES
from fakes.finish_simulator import Pair, simulate
from fakes.finish_truth import registration_rms
from heelstamp.luminescence import gates, registration
from results import Result

LEVELS = ("easy", "medium", "hard")
STYLES = {"tuning": TUNING_STYLES, "seen": RESERVED_STYLES, "final": FINAL_STYLES}
FIRST, COUNT, WIDTH = 730_000, 12, 1600
Map = np.ndarray


def drawn(first: int, count: int, width: int, styles: tuple[str, ...]) -> Iterator[Pair]:
    """Simulate pairs: every third easy, medium, hard; styles in turn; every third triple clean."""
    for k in range(count):
        style = styles[(k // 3) % len(styles)]
        clean = (k // (3 * len(styles))) % 3 == 0
        yield simulate(first + k, difficulty=LEVELS[k % 3], style=style, clean=clean, width=width)


def ours(pair: Pair) -> Map | None:
    found = registration.register(pair.visible, pair.uv)
    return None if found is None else found.transform


def by_phase(pair: Pair) -> Map | None:
    from skimage.color import rgb2gray
    from skimage.filters import sobel
    from skimage.registration import phase_cross_correlation

    here, there = (sobel(rgb2gray(image)) for image in (pair.visible, pair.uv))
    (dy, dx), _, _ = phase_cross_correlation(here, there, upsample_factor=20)
    return np.array([[1.0, 0.0, dx], [0.0, 1.0, dy], [0.0, 0.0, 1.0]])


def by_features(pair: Pair) -> Map | None:
    from skimage.color import rgb2gray
    from skimage.feature import ORB, match_descriptors
    from skimage.measure import ransac
    from skimage.transform import ProjectiveTransform

    places, words = [], []
    for image in (pair.visible, pair.uv):
        orb = ORB(n_keypoints=2000)
        orb.detect_and_extract(rgb2gray(image))
        places.append(orb.keypoints[:, ::-1])
        words.append(orb.descriptors)
    both = match_descriptors(words[0], words[1], cross_check=True)
    if len(both) < 4:
        return None
    found, _ = ransac(
        (places[1][both[:, 1]], places[0][both[:, 0]]),
        ProjectiveTransform,
        min_samples=4,
        residual_threshold=3,
        max_trials=2000,
        rng=0,
    )
    matrix = getattr(found, "params", None)
    return None if matrix is None or not np.isfinite(matrix).all() else matrix


def by_information(pair: Pair) -> Map | None:
    import SimpleITK as sitk  # noqa: N813 - its own name

    sitk.ProcessObject.SetGlobalDefaultNumberOfThreads(1)
    here, there = (
        sitk.GetImageFromArray(cv2.cvtColor(image, cv2.COLOR_RGB2GRAY).astype(np.float32))
        for image in (pair.visible, pair.uv)
    )
    method = sitk.ImageRegistrationMethod()
    method.SetMetricAsMattesMutualInformation(numberOfHistogramBins=50)
    method.SetMetricSamplingStrategy(method.RANDOM)
    method.SetMetricSamplingPercentage(0.05, seed=1)
    method.SetInterpolator(sitk.sitkLinear)
    method.SetOptimizerAsRegularStepGradientDescent(1.0, 1e-4, 100)
    method.SetOptimizerScalesFromPhysicalShift()
    method.SetShrinkFactorsPerLevel([8, 4, 1])
    method.SetSmoothingSigmasPerLevel([4, 2, 0])
    start = sitk.CenteredTransformInitializer(
        here, there, sitk.AffineTransform(2), sitk.CenteredTransformInitializerFilter.GEOMETRY
    )
    method.SetInitialTransform(start, inPlace=False)
    found = method.Execute(here, there)
    corners = np.array([(0.0, 0.0), (WIDTH, 0.0), (WIDTH, WIDTH), (0.0, WIDTH)], np.float32)
    mapped = np.array([found.TransformPoint(c.astype(float).tolist()) for c in corners])
    return np.asarray(
        np.linalg.inv(cv2.getPerspectiveTransform(corners, mapped.astype(np.float32)))
    )


PEERS: tuple[tuple[str, Callable[[Pair], Map | None]], ...] = (
    ("scikit-image, phase correlation", by_phase),
    ("scikit-image, ORB and RANSAC", by_features),
    ("SimpleITK, mutual information", by_information),
)


def measure() -> Iterator[Result]:
    """Median RMS and time of ours and of each peer on the same pairs."""
    cv2.setNumThreads(1)
    pairs = list(drawn(FIRST, COUNT, WIDTH, TUNING_STYLES))
    still = float(np.median([registration_rms(pair, np.eye(3)) for pair in pairs]))
    errors, spent = timed(ours, pairs)
    beside = f"{COUNT} simulated pairs of {WIDTH} px; {still:.1f} px before"
    goal = ("at most", 1.0)
    yield Result("registration, median RMS", float(np.median(errors)), "px", goal, beside)
    yield Result("registration, CPU a pair", spent, "s")
    for name, peer in PEERS:
        try:
            theirs, time_taken = timed(peer, pairs)
        except ModuleNotFoundError:
            yield Result(name, None, "", beside="peer not installed: make bench installs it")
            continue
        told = f"{time_taken / spent:.1f} times our time, {time_taken:.2f} s"
        yield Result(f"{name}, median RMS", float(np.median(theirs)), "px", beside=told)


def timed(way: Callable[[Pair], Map | None], pairs: list[Pair]) -> tuple[list[float], float]:
    """The RMS of each pair (infinite where there is no answer) and median CPU seconds."""
    errors, taken = [], []
    for pair in pairs:
        begun = time.process_time()
        found = way(pair)
        taken.append(time.process_time() - begun)
        errors.append(float("inf") if found is None else registration_rms(pair, found))
    return errors, float(np.median(taken))


def goals(rows: list[dict]) -> None:
    """Print how accepted pairs stand to the goals, and what was refused."""
    rms = np.array([row["rms"] for row in rows if row["refused"] is None])
    print(
        f"{len(rows)} pairs, accepted {len(rms)}: to 1 px {np.mean(rms <= 1):.4f}, "
        f"over 3 px {np.count_nonzero(rms > 3)}, median {np.median(rms):.3f}, "
        f"95 % {np.percentile(rms, 95):.2f}, worst {rms.max():.2f}; "
        f"CPU {np.median([row['cpu'] for row in rows]):.2f} s"
    )
    for level in LEVELS:
        some = [row for row in rows if row["level"] == level]
        refused = [row for row in some if row["refused"] is not None]
        good = np.array([row["rms"] for row in some if row["refused"] is None])
        print(
            f"  {level}: refused {len(refused)} of {len(some)}, accepted to 1 px "
            f"{np.mean(good <= 1):.4f}, median {np.median(good):.3f}, worst {good.max():.2f}"
        )
    for row in rows:
        if row["refused"] is not None:
            print(
                f"  refused {row['seed']} {row['level']} {row['style']}: {row['refused']}, "
                f"true RMS {row['rms']:.2f}, stated {row['stated']:.2f}"
            )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int)
    parser.add_argument("--pairs", type=int, default=72)
    parser.add_argument("--width", type=int, default=WIDTH)
    parser.add_argument("--styles", choices=tuple(STYLES), default="tuning")
    parser.add_argument("--save", type=Path)
    wanted = parser.parse_args()
    cv2.setNumThreads(1)
    if wanted.first is None:
        for one in measure():
            print(*one.cells(), sep=" | ", flush=True)
        return
    rows = []
    for k, pair in enumerate(
        drawn(wanted.first, wanted.pairs, wanted.width, STYLES[wanted.styles])
    ):
        begun = time.process_time()
        found = registration.register(pair.visible, pair.uv)
        spent = time.process_time() - begun
        why = gates.position(found, wanted.width)
        row = {
            "seed": wanted.first + k,
            "level": LEVELS[k % 3],
            "style": pair.style,
            "finish": pair.finish,
            "side": pair.side,
            "cpu": spent,
            "refused": None if why is None else why.code,
            "rms": float("inf") if found is None else registration_rms(pair, found.transform),
            "stated": float("inf") if found is None else found.stated,
        }
        rows.append(row)
        if wanted.save:
            with wanted.save.open("a", encoding="utf-8") as file:
                file.write(json.dumps(row) + "\n")
    goals(rows)


if __name__ == "__main__":
    main()
