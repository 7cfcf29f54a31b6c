"""The demonstration's six planted patches, found by the program's own comparison of the pairs.

Each pair has one place of the lamp: what is dark behind a crisp border, or shows its ground, is
claimed; what is brighter or fades in is left open where it lies.

What was planted is taken from the code that drew it: nominal sizes and ratios of the invented
scenario, and the masks of the patches themselves, counted at two pixels a millimetre. Areas of
patches with a hard rim must agree within 5 %; soft ones are counted where half of the change is
reached. There is no such guitar.
"""

import io
import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from PIL import Image

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "builders"))

from demo import instrument, scenes_pair, shapes  # noqa: E402
from demo.grain import View  # noqa: E402
from fakes.demonstration import Demonstration  # noqa: E402
from fakes.paper_text import text_of  # noqa: E402
from heelstamp.archive import Verdict  # noqa: E402
from heelstamp.casework.dossier import state_of  # noqa: E402
from heelstamp.casework.finish import KeptFinding, unpacked  # noqa: E402
from heelstamp.casework.journal_file import verify  # noqa: E402
from heelstamp.report.finish_drawing import MARGIN  # noqa: E402
from heelstamp.report.finish_pictures import PAPER_HALF, PAPER_OVERLAY  # noqa: E402
from heelstamp.shop import open_shop  # noqa: E402

COARSE = 2.0
FRONT, BACK = False, True
FACE = {"R2": FRONT, "W2": FRONT, "S1": FRONT, "R1": BACK, "W1": BACK, "D1": BACK}
CLAIMED, OPEN = (
    ("W2", "R1", "W1"),
    {"S1": "light or shape", "R2": "dust or fibre", "D1": "light or shape"},
)
LOOKS = {FRONT: "glow-front", BACK: "glow-back"}

Found = dict[str, dict[str, Any]]


@pytest.fixture(scope="module")
def kept(demo: Demonstration) -> dict[bool, KeptFinding]:
    with open_shop(demo.shop) as shop:
        looks = state_of(shop, "H-0001").observations
        return {
            face: unpacked(shop.files.get(looks[id_].file or ""), where=id_)
            for face, id_ in LOOKS.items()
        }


@pytest.fixture(scope="module")
def faces(kept: dict[bool, KeptFinding]) -> dict[bool, Any]:
    assert [one.data["visible"] for one in kept.values()] == ["F024", "F026"]
    return {face: one.data for face, one in kept.items()}


def middle_of(region: dict[str, Any], *, behind: bool) -> tuple[float, float]:
    seen = scenes_pair.view(behind=behind)
    x = (region["centre"][0] - seen.width / 2) / seen.scale + seen.x
    return x, seen.upright * (region["centre"][1] - seen.height / 2) / seen.scale + seen.y


@pytest.fixture(scope="module")
def found(faces: dict[bool, Any]) -> Found:
    """What is told over each patch: the region or open place whose middle lies in its box."""
    by_patch: Found = {}
    for name, behind in FACE.items():
        x, y, long, wide = shapes.PATCHES[name]
        for region in faces[behind]["regions"] + faces[behind]["doubts"]:
            at = middle_of(region, behind=behind)
            if abs(at[0] - x) < long / 3 and abs(at[1] - y) < wide / 3:
                assert name not in by_patch
                by_patch[name] = region
    return by_patch


def planted_cm2(name: str) -> float:
    whole = scenes_pair.view(behind=FACE[name])
    ratio = COARSE / whole.scale
    view = View(
        round(whole.width * ratio),
        round(whole.height * ratio),
        COARSE,
        whole.x,
        whole.y,
        whole.behind,
    )
    inside = instrument.patch_mask(view, name) > 0.5
    return float(np.count_nonzero(inside)) / COARSE**2 / 100


def test_all_six_are_found_and_nothing_else(faces: dict[bool, Any], found: Found) -> None:
    assert set(found) == set(FACE)
    assert [len(faces[face]["regions"]) for face in (FRONT, BACK)] == [1, 2]
    assert [len(faces[face]["doubts"]) for face in (FRONT, BACK)] == [2, 1]
    assert all(faces[face]["verdict"] == "assessed" for face in faces)
    for face in faces.values():
        assert [limit["code"] for limit in face["limits"]] == ["one place of the lamp"]
    assert faces[FRONT]["px_per_mm"] == pytest.approx(10.0, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "kind", "cause"),
    [
        ("R1", "darker", "touch-up"),
        ("W1", "darker", "wear-through"),
        ("W2", "darker", "wear-through"),
    ],
)
def test_each_differs_as_planted_and_its_first_cause_is_the_planted_one(
    found: Found, name: str, kind: str, cause: str
) -> None:
    region = found[name]
    assert region["kind"] == kind
    assert max(region["causes"], key=region["causes"].get) == cause
    assert 0.80 <= region["confidence"] <= 0.95
    assert max(region["causes"].values()) <= 0.80


@pytest.mark.parametrize(
    ("name", "kind"), [("S1", "brighter"), ("R2", "brighter"), ("D1", "gradual")]
)
def test_what_light_shape_or_dust_could_make_is_left_open_with_its_place_alone(
    found: Found, name: str, kind: str
) -> None:
    left = found[name]
    assert set(left) == {"label", "place", "centre", "reach_px", "kind", "why"}
    assert (left["kind"], left["why"]) == (kind, OPEN[name])


@pytest.mark.parametrize(("name", "nominal"), [("R1", 1.60)])
def test_areas_with_a_hard_rim_agree_within_five_percent(
    found: Found, name: str, nominal: float
) -> None:
    """Nominal: 17 × 12 mm as an ellipse."""
    assert planted_cm2(name) == pytest.approx(nominal, rel=0.03)
    assert found[name]["area_cm2"] == pytest.approx(planted_cm2(name), rel=0.05)


@pytest.mark.parametrize(("name", "within"), [("W1", 0.08), ("W2", 0.12)])
def test_soft_areas_are_those_of_the_half_change(found: Found, name: str, within: float) -> None:
    assert found[name]["area_cm2"] == pytest.approx(planted_cm2(name), rel=within)


@pytest.mark.parametrize("name", CLAIMED)
def test_glow_against_the_coat_around_is_the_planted_ratio(found: Found, name: str) -> None:
    """The middle of what fades everywhere is diluted by its own slope: 0.1 for W2."""
    planted = scenes_pair.RATIOS[name]
    assert found[name]["glow_ratio"] == pytest.approx(planted, abs=0.10 if planted > 0.5 else 0.04)


@pytest.mark.parametrize(("name", "seen"), [("R1", False), ("W1", True), ("W2", False)])
def test_what_the_eye_sees_in_ordinary_light(found: Found, name: str, seen: bool) -> None:
    assert found[name]["visible"] is seen


def test_the_finish_hardly_moves_the_first_coat_against_an_old_refinish(
    faces: dict[bool, Any],
) -> None:
    for face in faces.values():
        likelihoods = face["likelihoods"]
        assert 0.8 <= likelihoods["original"] / likelihoods["old_refinish"] <= 1.25
        assert max(likelihoods.values()) == 1.0
        assert likelihoods["touched_up"] >= 0.8


def test_both_looks_are_entered_after_the_lamp_with_their_pictures(
    demo: Demonstration, kept: dict[bool, KeptFinding]
) -> None:
    with open_shop(demo.shop) as shop:
        state = state_of(shop, "H-0001")
        assert verify(shop, "H-0001").verdict is Verdict.SOUND
    for face, id_ in LOOKS.items():
        seen = state.observations[id_]
        assert (seen.sign, seen.status, seen.likelihoods) == ("glow", "read", {})
        assert "The same look as uv-colour, counted once" in seen.note
        for name in ("pair.jpg", "overlay.jpg", "map.png"):
            with Image.open(io.BytesIO(kept[face].pictures[name])) as picture:
                picture.load()
    order = list(state.entered)
    assert order.index("patch-d1") < order.index("glow-front") < order.index("F028")


@pytest.mark.parametrize("reader", ["consignor", "buyer"])
def test_the_report_tells_both_faces_and_carries_the_findings(
    demo: Demonstration, faces: dict[bool, Any], reader: str
) -> None:
    with pikepdf.open(demo.shop / f"H-0001-report-{reader}.pdf") as pdf:
        carried = json.loads(pdf.attachments["finish.json"].get_file().read_bytes())
        pictures = [
            obj
            for obj in pdf.objects
            if isinstance(obj, pikepdf.Stream)
            and obj.get("/Subtype") == "/Image"
            and int(obj.Width) in (PAPER_OVERLAY, 2 * PAPER_HALF + MARGIN)
        ]
    own = [faces[k]["digest"] for k in (FRONT, BACK)]
    digests = [one["digest"] for one in carried]
    if reader == "consignor":
        assert digests == own
    else:  # an outsider's stands over what is shown alone
        assert not set(digests) & set(own)
        # nor does their order tell which was taken first: it is that of what they hold
        carried.sort(key=lambda one: ("front", "back").index(one["face"]))
    assert [len(one["regions"]) for one in carried] == [1, 2]
    assert [len(one["doubts"]) for one in carried] == [2, 1]
    assert len(pictures) == 4


def test_the_demonstration_says_what_was_found_in_plain_lines(demo: Demonstration) -> None:
    told = demo.told
    assert "front: differs in 1 place; left open in 2" in told
    assert "back: differs in 2 places; left open in 1" in told
    assert "not visible in ordinary light; touch-up 0." in told
    assert "a difference that light, shape or dust could make" in told
    assert "No glow tells whose coat it is." in told
    assert "original finish" not in told.lower()


@pytest.mark.parametrize("reader", ["buyer", "consignor"])
def test_the_first_page_is_one_page(demo: Demonstration, reader: str) -> None:
    """All that is asked first stands on it, with six grades and places that are not whole."""
    paper = (demo.shop / f"H-0001-report-{reader}.pdf").read_bytes()
    first, second = (text_of(paper, slice(place, place + 1)) for place in (0, 1))
    for line in ("Neck with body", "Finish", "Condition", "By aspect", "Our interest"):
        assert line in first
    assert "Marks and joints that the answer rests on" in second
    assert "Our interest" not in second
    # the worse of two people's letters, in every copy; and words without figures of probability
    assert "hardware D" in first
    assert "before the evidence" not in first
