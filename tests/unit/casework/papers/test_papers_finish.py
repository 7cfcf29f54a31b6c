"""The section on the finish: what a kept finding says in a paper, and to whom."""

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from fakes.demo_dossier import demo_finding, demo_names, demo_state, guitar_tree
from heelstamp.casework.finish import FinishFinding, KeptFinding
from heelstamp.casework.papers.document import READERS, ReportDocument, texts
from heelstamp.casework.papers.examination_report import Issue, examination_report
from heelstamp.casework.papers.finish_section import face_name, finish_section, plates_of
from heelstamp.errors import InputError
from heelstamp.luminescence import Assessment, Kind, Reason, Region
from heelstamp.report.payload import payload
from heelstamp.report.typst_report import _plates
from heelstamp.wording import find_banned

SQUARE = np.array([(10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0)])
CAUSES = {"touch-up": 0.84, "overspray, later clear or fill": 0.14, "surface film": 0.02}
PICTURES = {"pair.jpg": b"pair", "overlay.jpg": b"overlay", "map.png": b"map"}
DIGEST = "ab" * 32


def region(number: int = 1, **changes: Any) -> Region:
    made = Region(
        number,
        SQUARE,
        (20.0, 20.0),
        400.0,
        100.0,
        5.0,
        Kind.DARKER,
        0.45,
        0.2,
        0.9,
        1.0,
        0.1,
        0.4,
        0.0,
        False,
        0.97,
        CAUSES,
    )
    return replace(made, **changes)


def kept(**changes: Any) -> dict[str, KeptFinding]:
    made = Assessment(
        "assessed",
        (),
        transform=np.eye(3),
        px_per_mm=2.0,
        frame=(90, 120),
        coat_px=400_000.0,
        smallest_mm=3.0,
    )
    made = replace(made, **changes)
    found = FinishFinding("u1", "u2", made, DIGEST)
    return {"g1": KeptFinding(found.data(), PICTURES if made.verdict == "assessed" else {})}


REFUSED = {"verdict": "refused", "reasons": (Reason("shaken", "edges are wide", "Use a tripod."),)}


def glowing(*, status: str = "read", **frame: Any) -> list[tuple[str, dict[str, Any]]]:
    acts: list[tuple[str, dict[str, Any]]] = [
        (
            "photograph",
            {
                "id": one,
                "file": digit * 64,
                "name": f"{one}.jpg",
                "part": "finish",
                "media_type": "image/jpeg",
                "width": 120,
                "height": 90,
                "light": light,
                "slot": slot,
                **frame,
            },
        )
        for one, digit, light, slot in (
            ("u1", "1", "visible", "uv-front-visible"),
            ("u2", "2", "UV-A", "uv-front"),
        )
    ]
    look = {
        "id": "g1",
        "part": "finish",
        "kind": "sign",
        "sign": "glow",
        "status": status,
        "frames": ["u1", "u2"],
        "file": "3" * 64,
    }
    return [*acts, ("observation", {**look, "outcome": "even"} if status == "read" else look)]


def report(found: dict[str, KeptFinding], *, reader: str = "shop", **frame: Any) -> ReportDocument:
    status = "read" if found["g1"].data["verdict"] == "assessed" else "illegible"
    return examination_report(
        demo_state(*glowing(status=status, **frame)),
        guitar_tree(),
        demo_finding(),
        reader=reader,
        issue=Issue("Heelstamp 0.1.0", "2026-11-04"),
        names=demo_names(),
        finish=found,
    )


def test_a_face_that_differs_is_told_in_one_sentence_and_a_table() -> None:
    bright = region(2, kind=Kind.BRIGHTER, area_mm2=250.0, visible=True)
    (face,) = report(kept(regions=(region(), bright))).finish
    assert face.title == "Front"
    (answer,) = face.answer
    assert answer.text == (
        "Front: under UV-A the glow differs in 2 places, together 3.50 cm² of 1000 cm² assessed; "
        "1 of them is visible in ordinary light."
    )
    first, second = face.regions
    assert (first.number, first.kind, first.area) == (1, "darker", "1.00 ± 0.05 cm²")
    assert first.how == "Darker, at the upper left of the photograph"
    assert (first.ratio, first.seen, first.confidence) == ("0.45", "not visible", "97 %")
    # no place is likelier touched than the finish as a whole, and no other cause likelier for it
    told = "touch-up 0.31, overspray, later clear or fill 0.05, not told apart 0.62 and others 0.02"
    assert first.causes == told
    assert "loupe" in first.deciding
    assert (second.kind, second.seen) == ("brighter", "visible")


@pytest.mark.parametrize(
    ("visible", "end"),
    [
        ((False,), "it is not visible"),
        ((True,), "it is visible"),
        ((True, True), "all 2 are visible"),
        ((False, False), "none of them is visible"),
        ((True, True, False), "2 of them are visible"),
    ],
)
def test_how_many_the_eye_sees(visible: tuple[bool, ...], end: str) -> None:
    found = tuple(region(k, visible=seen) for k, seen in enumerate(visible, start=1))
    (face,) = report(kept(regions=found)).finish
    assert face.answer[0].text.endswith(f"; {end} in ordinary light.")


def test_without_a_scale_there_is_no_area() -> None:
    one = region(area_mm2=None, area_uncertainty_mm2=None)
    (face,) = report(kept(regions=(one,), px_per_mm=None)).finish
    assert face.answer[0].text.startswith("Front: under UV-A the glow differs in 1 place; it is")
    assert face.regions[0].area == ""


def test_an_even_face_says_that_this_shows_little() -> None:
    document = report(kept())
    (face,) = document.finish
    assert face.answer[0].text.startswith(
        "No area of differing glow was found under UV-A on the 1000 cm² of the front that were"
    )
    assert "does not by itself show" in face.answer[0].text
    assert face.regions == ()
    (limit,) = document.finish_limits
    assert limit.text == (
        "A finish of any age can be even once it has aged: this look does not tell the finish of "
        "the first completion from an old complete refinish. That takes a look at areas which "
        "parts have covered."
    )
    assert limit.not_examined == ("covered areas of the finish",)


def test_a_refused_face_is_not_assessable_because() -> None:
    document = report(kept(**REFUSED))
    (face,) = document.finish
    assert [one.text for one in face.answer] == [
        "Not assessable, because edges are wide (shaken). Use a tripod."
    ]
    assert (face.regions, face.plates) == ((), ())
    illegible = [row for row in document.not_read if row.status == "illegible"]
    assert any(row.frames == ("u1", "u2") for row in illegible)


def test_pictures_are_told_and_their_bytes_found_by_key() -> None:
    found = kept(regions=(region(),))
    document = report(found, simulated=True)
    (face,) = document.finish
    assert [one.key for one in face.plates] == ["g1:pair.jpg", "g1:overlay.jpg"]
    assert all("Simulated pictures" in one.alt for one in face.plates)
    assert any("simulated pictures" in one.text for one in face.notes)
    assert plates_of(found) == {"g1:pair.jpg": b"pair", "g1:overlay.jpg": b"overlay"}
    files = _plates(document, plates_of(found))
    assert files["plates/0.jpg"] == b"pair"
    assert files["plates/1.jpg"] == b"overlay"
    assert files["plates/darker.png"].startswith(b"\x89PNG")
    (plain,) = payload(document)["finish"]
    assert [one["path"] for one in plain["plates"]] == ["plates/0.jpg", "plates/1.jpg"]
    assert plain["regions"][0]["swatch"] == "plates/darker.png"
    with pytest.raises(InputError, match="a picture of a finding is missing"):
        _plates(document, {})


def test_photographs_that_are_none_made_up_are_not_called_so() -> None:
    (face,) = report(kept(), simulated=False).finish
    assert all("Photographs of" in one.alt for one in face.plates)
    assert not any("simulated pictures" in one.text for one in face.notes)


def test_a_private_frame_takes_its_pictures_out_of_an_outsiders_copy() -> None:
    found = kept(regions=(region(),))
    for reader in READERS:
        document = report(found, reader=reader, private=True)
        (face,) = document.finish
        outsider = reader in ("buyer", "insurer")
        assert bool(face.plates) is not outsider
        assert ("u1" in face.frames) is not outsider
        named = {frame for one in document.statements() for frame in one.frames}
        assert ("u2" in named) is not outsider
        assert face.regions  # what was found is told all the same
        (plain,) = payload(document)["finish"]
        assert bool(plain["kept_back"]) is outsider


def test_the_finding_can_be_checked_by_its_digest() -> None:
    values = {one.what: one.value for one in report(kept()).checks}
    assert values["Digest of the finish finding, front (SHA-256)"] == DIGEST


@pytest.mark.parametrize("reader", READERS)
def test_no_text_is_banned_and_no_glow_is_called_original(reader: str) -> None:
    limit = Reason("stray light unknown", "no grey standard was in the frame", "Lay one there.")
    found = tuple(region(k, kind=kind) for k, kind in enumerate(Kind, start=1))
    document = report(kept(regions=found, limits=(limit,)), reader=reader, simulated=True)
    told = list(texts(document.finish)) + list(texts(document.finish_limits))
    assert len(told) > 60
    assert [text for text in told if find_banned(text)] == []
    assert not any("original" in text.lower() for text in told)


def test_a_face_is_named_by_its_slot_or_by_its_frame() -> None:
    state = demo_state(*glowing())
    assert face_name(state, "u2") == "front"
    assert face_name(state, "u9") == "face in u9"


def test_a_look_without_a_kept_finding_makes_no_section() -> None:
    assert finish_section(demo_state(*glowing()), {}) == ((), ())
    assert finish_section(demo_state(), kept()) == ((), ())
