"""A small fixed sample of simulated pairs; ``benchmarks/finish_accuracy.py`` draws many fresh ones.

Seeds are fixed, so these are floors against breakage, not the accuracy itself.
"""

import numpy as np
import pytest

from fakes.finish_simulator import simulate
from fakes.finish_truth import judge
from heelstamp.luminescence import GreyStandard, Masks, assess

STYLES = ("kite", "teardrop")
LEVELS = ("easy", "medium", "hard")


def results(first, *, clean):
    found = []
    for k in range(6):
        pair = simulate(
            first + k, difficulty=LEVELS[k % 3], style=STYLES[k // 3], clean=clean, width=1200
        )
        grey = GreyStandard(pair.grey, pair.grey_reflectance)
        masks = Masks(pair.outline, pair.parts)
        answer = assess(pair.visible, pair.uv, masks=masks, px_per_mm=pair.px_per_mm, greys=(grey,))
        found.append(judge(pair, answer))
    return found


@pytest.fixture(scope="module")
def with_defects():
    return results(6100, clean=False)


@pytest.fixture(scope="module")
def clean():
    return results(6200, clean=True)


def test_no_clean_body_has_a_region(clean):
    done = [r for r in clean if r["verdict"] == "assessed"]
    assert len(done) >= 4
    assert [r["false_mm2"] for r in done] == [[]] * len(done)


def test_planted_patches_are_claimed_or_left_open_where_they_are(with_defects):
    done = [r for r in with_defects if r["verdict"] == "assessed"]
    assert len(done) >= 4
    assert [r["false_mm2"] for r in done] == [[]] * len(done)
    told = [seen for r in done for _, seen in r["told"]]
    assert np.mean(told) >= 0.85
    worn = [seen for r in done for group, seen in r["recall"] if group == "worn or touched up"]
    assert np.mean(worn) >= 0.6
    soft = [
        seen for r in done for group, seen in r["recall"] if group in ("film", "soft overspray")
    ]
    assert not any(soft)


def test_accepted_pairs_lie_on_one_another(with_defects, clean):
    rms = [r["rms"] for r in [*with_defects, *clean] if r["verdict"] == "assessed"]
    assert np.median(rms) < 1.0
    assert max(rms) < 3.0
