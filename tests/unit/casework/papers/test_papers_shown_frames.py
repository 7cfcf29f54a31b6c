"""Which photographs outsiders get: what carries the number only under a box, identity never."""

from __future__ import annotations

import io

import pytest
from PIL import Image

from heelstamp.casework.papers.audience import Audience
from heelstamp.casework.papers.public_record import numbered_frames, public_record, shown_frames
from heelstamp.catalogue import Folding, PictureBox, PictureScale, parse_body
from heelstamp.errors import InputError
from heelstamp.reference.parts_trees import load_parts_tree
from heelstamp.report.pictures import COVER, covered, print_picture

FILE = "ab" * 32
TREE = load_parts_tree("guitar")
INSTRUMENT = {
    "kind": "guitar",
    "maker": "A maker",
    "model": "A model",
    "chronology": "sallowby-wherry",
    "tag": "W-1",
}


def photo(id_: str, **more: object) -> tuple[str, dict[str, object]]:
    body = {"id": id_, "file": FILE, "name": f"{id_}.jpg", "media_type": "image/jpeg"}
    return "photograph", {**body, "width": 160, "height": 120, **more}


PLATE = photo("f-plate", part="neck_plate")
NUMBER = (
    "observation",
    {
        "id": "serial",
        "part": "neck_plate",
        "kind": "serial",
        "status": "read",
        "text": "S10350",
        "frames": ["f-number"],
    },
)


def folded(*entries: tuple[str, dict[str, object]]):
    folding = Folding(TREE)
    for kind, body in (("instrument", INSTRUMENT), *entries):
        folding.add(kind, body, where=kind)
    return folding.state


def box(frame: str, id_: str = "b1", **more: object) -> tuple[str, dict[str, object]]:
    place = {"x": 0.2, "y": 0.4, "width": 0.5, "height": 0.2}
    return "picture_box", {"id": id_, "frame": frame, **place, **more}


ALL = (photo("f-number"), PLATE, photo("f-front"), photo("f-grain", private=True), NUMBER)


def test_what_shows_the_number_is_known_by_the_reading_and_by_the_part():
    assert numbered_frames(folded(*ALL)) == {"f-number", "f-plate"}


def test_without_a_box_it_is_not_shown_and_with_one_it_is():
    assert shown_frames(folded(*ALL)) == {"f-front"}
    assert shown_frames(folded(*ALL, box("f-number"))) == {"f-front", "f-number"}


def test_a_box_over_something_else_does_not_show_the_number():
    assert "f-number" not in shown_frames(folded(*ALL, box("f-number", hides="person")))


def test_a_private_frame_stays_with_a_box_too():
    assert "f-grain" not in shown_frames(folded(*ALL, box("f-grain")))


def test_a_box_that_was_taken_back_hides_nothing():
    back = ("correction", {"id": "c", "corrects": "b1", "reason": "wrong", "replacement": None})
    assert shown_frames(folded(*ALL, box("f-number"), back)) == {"f-front"}


def test_the_public_record_has_grades_without_reasons_and_scales_under_new_names():
    entries = (
        *ALL,
        ("grade", {"id": "g", "grade": "B", "reason": "words of the shop"}),
        (
            "picture_scale",
            {
                "id": "l",
                "frame": "f-front",
                "x0": 0.1,
                "y0": 0.1,
                "x1": 0.6,
                "y1": 0.1,
                "length_mm": 100.0,
            },
        ),
        (
            "picture_scale",
            {
                "id": "l2",
                "frame": "f-grain",
                "x0": 0.1,
                "y0": 0.1,
                "x1": 0.6,
                "y1": 0.1,
                "length_mm": 100.0,
            },
        ),
    )
    printed = {"file": FILE, "media_type": "image/jpeg", "width": 160, "height": 120}
    made = public_record(
        folded(*entries), TREE, Audience("buyer"), pictures={"f-front": printed}, kept={}, late={}
    ).state
    assert [one.frame for one in made.of(PictureScale).values()] == ["p1"]
    assert not made.of(PictureBox)
    assert all("words of the shop" not in str(one) for one in made.bodies())


@pytest.mark.parametrize("extent", [{"x": 0.7, "width": 0.5}, {"y": 0.9, "height": 0.2}])
def test_a_box_that_leaves_the_picture_is_refused(extent):
    with pytest.raises(InputError, match="leaves the picture"):
        parse_body(*box("f", **extent))


def test_a_box_is_filled_in_the_print_and_the_rest_stays():
    draw = Image.effect_noise((800, 600), 90).convert("RGB")
    out = io.BytesIO()
    draw.save(out, "JPEG", quality=95)
    made = covered(out.getvalue(), [(0.25, 0.5, 0.25, 0.2)], where="f")
    with Image.open(io.BytesIO(print_picture(made, where="f"))) as printed:
        inside = printed.crop((int(800 * 0.25), 300, 400, 420))
        low, high = zip(*inside.getextrema(), strict=True)
        assert max(high) - min(low) < 24
        assert all(abs(a - b) < 12 for a, b in zip(inside.getpixel((50, 50)), COVER, strict=True))
        outside = printed.crop((0, 0, 150, 250)).convert("L").getextrema()
        assert outside[1] - outside[0] > 150
