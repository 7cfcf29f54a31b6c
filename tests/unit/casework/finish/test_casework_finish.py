"""What is asked of a pair, what is said of it, and what it leaves in a dossier."""

import io
import json
import zipfile
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from heelstamp.casework.finish import (
    FinishFinding,
    PairRequest,
    glow_entry,
    packed,
    read_masks,
    read_numbers,
    unpacked,
)
from heelstamp.casework.finish.describe import describe_glow
from heelstamp.catalogue import fold
from heelstamp.catalogue.bodies.observation import Observation
from heelstamp.catalogue.journal import Entry
from heelstamp.errors import ConflictError, InputError, IntegrityError
from heelstamp.luminescence import Assessment, Kind, Reason, Region
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.wording import find_banned

SQUARE = np.array([(10.0, 10.0), (30.0, 10.0), (30.0, 30.0), (10.0, 30.0)])
CAUSES = {"touch-up": 0.84, "overspray, later clear or fill": 0.14, "surface film": 0.02}


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


def finding(**changes: Any) -> FinishFinding:
    made = Assessment(
        "assessed",
        (),
        transform=np.eye(3),
        px_per_mm=2.0,
        frame=(90, 120),
        coat_px=4000.0,
        smallest_mm=3.0,
    )
    return FinishFinding("F1", "F2", replace(made, **changes), "ab" * 32)


REFUSED = {"verdict": "refused", "reasons": (Reason("shaken", "edges are wide", "Use a tripod."),)}


def dossier(*bodies: Mapping[str, Any], slots: Mapping[str, str] | None = None) -> Any:
    opening = {
        "kind": "guitar",
        "maker": "Sallowby Instrument Works",
        "model": "Wherry",
        "chronology": "sallowby-wherry",
        "tag": "H-0001",
    }
    acts = [("instrument", opening)]
    named = slots or {"F1": "", "F2": ""}
    for k, slot in named.items():
        acts.append(
            (
                "photograph",
                {
                    "id": k,
                    "file": "0" * 64,
                    "name": k,
                    "media_type": "image/jpeg",
                    "width": 9,
                    "height": 9,
                    "light": "visible" if k in ("F1", "F3") else "UV-A",
                    **({"slot": slot} if slot else {}),
                },
            )
        )
    acts += [("observation", dict(body)) for body in bodies]
    entries = [
        Entry(
            seq=n,
            at="2026-11-02T09:14:00Z",
            by="examiner A",
            kind=kind,
            body=body,
            previous=None,
            digest="0" * 64,
        )
        for n, (kind, body) in enumerate(acts, start=1)
    ]
    return fold(entries)


WHERRY = load_chronology("sallowby-wherry", None)


def entered(*given: Any, **more: Any) -> dict[str, Any]:
    kind, body = glow_entry(*given, **more)
    assert kind == "observation"
    return body


def test_numbers_are_as_many_as_their_names() -> None:
    assert read_numbers("1, 2,3.5", "x,y,z", "--o") == (1.0, 2.0, 3.5)
    for text in ("1,2", "1,2,3,4", "1,2,a", "1,2,inf", "", "1,2,nan"):
        with pytest.raises(InputError, match="not 3 numbers"):
            read_numbers(text, "x,y,z", "--o")


def test_a_ruler_gives_pixels_per_millimetre() -> None:
    request = PairRequest.of(ruler=(10, 20, 10, 420, 100))
    assert request.scale is not None
    assert request.scale.px_per_mm == pytest.approx(4.0)
    assert request.data()["scale"][2] == "known length"


def test_points_are_pairs_of_visible_and_uv() -> None:
    points = [(1, 2, 3, 4), (5, 6, 7, 8), (9, 1, 2, 3), (4, 5, 6, 7)]
    assert PairRequest.of(points=points).points[1] == ((5, 6), (7, 8))


def test_masks_are_polygons_with_names() -> None:
    text = {"outline": SQUARE.tolist(), "parts": [{"name": "guard", "polygon": SQUARE.tolist()}]}
    masks = read_masks(json.dumps(text).encode(), "m.json")
    assert masks.outline.tolist() == SQUARE.tolist()
    assert masks.parts[0][0] == "guard"


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("not json", "m.json"),
        ("[]", "m.json"),
        ('{"parts": []}', "outline"),
        ('{"outline": [[1, 2], [3, 4]]}', "fewer than three corners"),
        ('{"outline": []}', "fewer than three corners"),
        ('{"outline": [[1, 2, 3], [3, 4, 5], [1, 1, 1]]}', "m.json"),
        ('{"outline": [[1, 2], [3, 4], [5, "a"]]}', "m.json"),
        ('{"outline": [[1, 2], [3, 4], [5, 1]], "hole": []}', "hole"),
        (json.dumps({"outline": [[k, k % 7] for k in range(20_001)]}), "more corners"),
    ],
)
def test_masks_of_another_form_are_refused(text: str, told: str) -> None:
    with pytest.raises(InputError, match=told):
        read_masks(text.encode(), "m.json")


def test_an_even_face_is_even_and_no_more() -> None:
    told = [one.text for one in finding().statements()]
    assert told[0].startswith(
        "No area of differing glow was found under UV-A on the 10 cm² of this face"
    )
    assert "does not by itself show" in told[0]
    assert told[-1].startswith("A finish of any age can be even once it has aged")


def test_a_region_is_told_in_layers_that_are_not_blended() -> None:
    told = finding(regions=(region(),)).statements()[:4]
    assert [one.layer for one in told] == ["seen", "measured", "inferred", "inferred"]
    assert told[0].text == (
        "Region 1, at the upper left of the photograph: the glow differs here (darker); "
        "not visible in ordinary light."
    )
    assert told[1].text == (
        "Region 1: glow 0.45 of that of the finish around it, over 1.00 ± 0.05 cm²."
    )
    assert "touch-up 0.84, overspray, later clear or fill 0.14 and others 0.02" in told[2].text
    assert "loupe" in told[2].text
    assert "on simulated pairs" in told[3].text
    assert all(one.frames == ("F1", "F2") for one in told)


def test_places_are_the_nine_fields_of_the_photograph() -> None:
    places = {
        (60.0, 45.0): "in the middle of",
        (60.0, 80.0): "at the lower middle of",
        (119.0, 45.0): "at the middle right of",
        (130.0, -4.0): "at the upper right of",
    }
    for centre, place in places.items():
        told = finding(regions=(region(centre=centre),)).statements()[0].text
        assert f", {place} the photograph:" in told


@pytest.mark.parametrize("kind", list(Kind))
def test_no_sentence_holds_banned_words_or_calls_a_coat_original(kind: Kind) -> None:
    limit = Reason("no scale", "no scale was given", "Give one.")
    one = region(kind=kind, visible=True, area_mm2=None, area_uncertainty_mm2=None)
    for found in (
        finding(regions=(one,), limits=(limit,), px_per_mm=None),
        finding(),
        finding(**REFUSED),
    ):
        assert found.statements()
        for statement in found.statements():
            assert find_banned(statement.text) == ()
            assert "original" not in statement.text.lower()


def test_a_refusal_says_why_and_what_to_do() -> None:
    (told,) = finding(**REFUSED).statements()
    assert told.text == "Not assessable, because edges are wide (shaken). Use a tripod."
    data = finding(**REFUSED).data()
    assert data["reasons"] == ["edges are wide (shaken). Use a tripod."]
    assert data["likelihoods"] is None


def test_an_entry_holds_likelihoods_and_a_note() -> None:
    body = entered(finding(regions=(region(),)), dossier(), WHERRY, id_="o1")
    assert body["likelihoods"]["touched_up"] == 1.0
    assert body["likelihoods"]["original"] == body["likelihoods"]["old_refinish"]
    assert body["frames"] == ["F1", "F2"]
    assert body["note"].startswith("Differs in 1 place: region 1 darker, 1.00 cm².")
    assert "simulated pairs" in body["note"]
    assert find_banned(body["note"]) == ()
    assert dossier(body).observations["o1"].sign == "glow"


def test_a_look_is_entered_once() -> None:
    body = entered(finding(), dossier(), WHERRY, id_="o1")
    with pytest.raises(ConflictError, match="entered already"):
        glow_entry(finding(), dossier(body), WHERRY, id_="o2")


def test_a_look_that_a_weighed_sign_holds_is_entered_without_weight() -> None:
    earlier = {
        "id": "u1",
        "part": "finish",
        "kind": "sign",
        "status": "read",
        "sign": "uv_colour",
        "outcome": "aged_even",
        "frames": ["F2"],
    }
    body = entered(finding(), dossier(earlier), WHERRY, id_="o1")
    assert "likelihoods" not in body
    assert body["outcome"] == "even"
    assert "The same look as u1, counted once" in body["note"]
    unweighed = {**earlier, "sign": "uv_patch", "outcome": "darker_hard_rim"}
    assert "likelihoods" in entered(finding(), dossier(unweighed), WHERRY, id_="o1")
    elsewhere = {**earlier, "frames": ["F1"]}
    assert "likelihoods" in entered(finding(), dossier(elsewhere), WHERRY, id_="o1")


def test_a_refused_look_is_entered_as_illegible_with_its_reasons() -> None:
    body = entered(finding(**REFUSED), dossier(), WHERRY, id_="o1", file="ef" * 32)
    assert (body["status"], body["file"]) == ("illegible", "ef" * 32)
    assert body["note"].startswith("Not assessable, because edges are wide (shaken).")
    assert not {"likelihoods", "outcome"} & body.keys()
    assert not dossier(body).observations["o1"].is_read


FOUR = {"F1": "uv-front-visible", "F2": "uv-front", "F3": "", "F4": "uv-front"}


@pytest.mark.parametrize("slot", ["uv-front", "return-uv-front", "uv-under-pickguard"])
def test_a_face_weighs_once_however_often_it_is_looked_at(slot: str) -> None:
    slots = {**FOUR, "F4": slot}
    first = entered(finding(), dossier(slots=slots), WHERRY, id_="o1")
    assert "likelihoods" in first
    later = replace(finding(), visible="F3", uv="F4")
    body = entered(later, dossier(first, slots=slots), WHERRY, id_="o2")
    assert "likelihoods" not in body
    assert (body["outcome"], body["places"]) == ("even", 0)
    assert "The same face as in o1, counted once" in body["note"]
    dossier(first, body, slots=slots)


def test_another_face_weighs_and_the_neck_does_not_bear_on_the_body() -> None:
    first = entered(finding(), dossier(slots=FOUR), WHERRY, id_="o1")
    later = replace(finding(), visible="F3", uv="F4")
    back = entered(later, dossier(first, slots={**FOUR, "F4": "uv-back"}), WHERRY, id_="o2")
    assert "likelihoods" in back
    neck = entered(later, dossier(first, slots={**FOUR, "F4": "uv-neck-back"}), WHERRY, id_="o2")
    assert "likelihoods" not in neck
    assert "does not bear on the finish of the body" in neck["note"]


def test_a_face_compared_anew_still_weighs() -> None:
    first = entered(finding(), dossier(slots=FOUR), WHERRY, id_="o1")
    kind, body = glow_entry(
        finding(), dossier(first, slots=FOUR), WHERRY, id_="o2", again="Outline drawn anew."
    )
    assert kind == "correction"
    assert "likelihoods" in body["replacement"]


def test_a_look_examined_again_corrects_the_refused_one() -> None:
    refused = entered(finding(**REFUSED), dossier(), WHERRY, id_="o1")
    kind, body = glow_entry(finding(), dossier(refused), WHERRY, id_="o2")
    assert (kind, body["corrects"]) == ("correction", "o1")
    assert (body["replacement"]["id"], body["replacement"]["status"]) == ("o1", "read")
    with pytest.raises(ConflictError, match="entered already"):
        glow_entry(finding(**REFUSED), dossier(refused), WHERRY, id_="o2")


@pytest.mark.parametrize("code", ["swapped pair", "same photograph twice", "different instrument"])
def test_what_is_no_pair_is_not_entered(code: str) -> None:
    none = {"verdict": "refused", "reasons": (Reason(code, "it is", "Take others."),)}
    with pytest.raises(InputError, match="a refused pair is not entered"):
        glow_entry(finding(**none), dossier(), WHERRY, id_="o1")


def test_a_kept_finding_comes_back_as_it_was() -> None:
    found = finding(regions=(region(),))
    content = packed(found, {"overlay.jpg": b"picture", "map.png": b"map"})
    assert content == packed(found, {"map.png": b"map", "overlay.jpg": b"picture"})
    kept = unpacked(content, where="o1")
    assert kept.pictures == {"overlay.jpg": b"picture", "map.png": b"map"}
    assert describe_glow(kept.data) == found.statements()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        assert archive.namelist() == ["finding.json", "map.png", "overlay.jpg"]


@pytest.mark.parametrize("change", ["cut", "no finding", "no archive", "no verdict", "a byte"])
def test_a_file_that_is_no_kept_finding_is_told(change: str) -> None:
    content = packed(finding(), {"map.png": b"map"})
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("other.json", b"{}")
        if change == "no verdict":
            archive.writestr("finding.json", b'{"verdict": "perhaps"}')
    at = content.index(b'"verdict"')
    broken = {
        "cut": content[: len(content) // 2],
        "no finding": out.getvalue(),
        "no archive": b"nothing",
        "no verdict": out.getvalue(),
        "a byte": content[:at] + b"#" + content[at + 1 :],
    }[change]
    with pytest.raises(IntegrityError, match="a kept finding cannot be read") as raised:
        unpacked(broken, where="H-0001, o1")
    assert raised.value.where == "H-0001, o1"


def test_an_observation_read_by_likelihoods_needs_no_outcome() -> None:
    body = entered(finding(), dossier(), WHERRY, id_="o1")
    assert dossier(body).observations["o1"].outcome is None
    assert isinstance(dossier(body).observations["o1"], Observation)
