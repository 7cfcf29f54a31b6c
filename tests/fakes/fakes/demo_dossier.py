"""A dossier of the invented guitar S10350 in memory, with a finding of the form the report takes.

The record follows the invented demonstration instrument: what was found on it, how it was read,
and the ranges worked out for it. The figures of the finding are an example for papers, not the
output of the dating engine.
"""

from __future__ import annotations

import hashlib
import io
import tomllib
from importlib.resources import files

from PIL import Image, ImageDraw

from heelstamp.casework.feature_names import FeatureNames
from heelstamp.catalogue import DossierState, Folding, PartsTree, parse_parts_tree

CONSIGNOR = "Invented Person"
PLACE = "Invented Street depot"
SERIAL = "S10350"

_FRAMES = (
    ("f01", "case", "case closed", "visible"),
    ("f02", None, "front", "visible"),
    ("f03", None, "back", "visible"),
    ("f04", "badge", "head, front", "visible"),
    ("f05", "tuner_4", "housing", "visible"),
    ("f06", "tuners", "six housings", "visible"),
    ("f07", "neck_plate", "number", "raking"),
    ("f08", "guard", "outside", "visible"),
    ("f09", "finish", "front under UV-A", "UV-A"),
    ("f10", "finish", "back under UV-A", "UV-A"),
    ("f11", "pot_volume", "code", "visible"),
    ("f12", "pot_tone", "code", "visible"),
    ("f13", "pot_volume", "joint", "visible"),
    ("f14", "socket", "tags", "visible"),
    ("f15", "body", "cavity, whole", "visible"),
    ("f16", "capacitor", "value", "visible"),
    ("f17", "neck", "heel, stamp", "raking"),
    ("f18", "shim", "in the pocket", "visible"),
    ("f19", "neck", "pocket floor", "visible"),
    ("f20", "strings", "as found", "visible"),
)
_PRIVATE = ("p01", "p02", "p03", "p04", "p05", "p06")


def guitar_tree() -> PartsTree:
    """The parts tree that comes with the program."""
    text = files("heelstamp.reference").joinpath("parts/guitar.toml").read_text("utf-8")
    return parse_parts_tree(tomllib.loads(text))


def picture(frame: str, *, size: tuple[int, int] = (1600, 1200), gps: bool = True) -> bytes:
    """A drawn picture with its frame's name, carrying a place as a camera's file would."""
    image = Image.new("RGB", size, (214, 208, 196))
    pen = ImageDraw.Draw(image)
    seed = hashlib.sha256(frame.encode()).digest()
    for index in range(0, 24, 3):
        x, y = seed[index] * size[0] // 255, seed[index + 1] * size[1] // 255
        tone = (90 + seed[index] // 4, 80 + seed[index + 1] // 4, 60 + seed[index + 2] // 5)
        pen.ellipse((x - 260, y - 160, x + 260, y + 160), fill=tone)
    pen.rectangle((40, 40, 560, 160), fill=(250, 250, 248))
    pen.text((60, 60), f"simulated frame {frame}", fill=(30, 30, 30), font_size=52)
    out = io.BytesIO()
    if not gps:
        image.save(out, "JPEG", quality=90)
        return out.getvalue()
    exif = Image.Exif()
    exif[0x010F] = "Camera of a person"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 26.0)
    image.save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()


def picture_files(*frames: str) -> dict[str, bytes]:
    """Pictures by frame id; all frames of the dossier when none is named."""
    names = frames or (*(one[0] for one in _FRAMES), *_PRIVATE)
    return {name: picture(name) for name in names}


def _photograph(id_: str, part: str | None, slot: str, light: str, private: bool) -> dict:
    body = {
        "id": id_,
        "file": hashlib.sha256(id_.encode()).hexdigest(),
        "name": f"{id_}.jpg",
        "media_type": "image/jpeg",
        "width": 1600,
        "height": 1200,
        "slot": slot,
        "light": light,
        "private": private,
        "simulated": True,
    }
    return body if part is None else {**body, "part": part}


def _feature(id_: str, part: str, feature: str, *frames: str) -> dict:
    return {
        "id": id_,
        "part": part,
        "kind": "feature",
        "status": "read",
        "feature": feature,
        "variant": "B",
        "frames": list(frames),
    }


def _entries() -> list[tuple[str, dict]]:
    acts = [
        (
            "instrument",
            {
                "kind": "guitar",
                "maker": "Sallowby Instrument Works",
                "model": "Wherry",
                "claimed": "1965, everything as it left the factory",
                "chronology": "sallowby-wherry",
                "tag": "H-0001",
            },
        ),
        ("consent", {"id": "c1", "act": "take strings off", "granted": True, "by": CONSIGNOR}),
        ("consent", {"id": "c2", "act": "lift guard", "granted": True, "by": CONSIGNOR}),
        (
            "consent",
            {
                "id": "c3",
                "act": "take neck off",
                "granted": True,
                "by": CONSIGNOR,
                "condition": "only if a question remains whose answer changes the report",
            },
        ),
        (
            "custody",
            {
                "id": "k1",
                "event": "received",
                "giver": CONSIGNOR,
                "receiver": "examiner A",
                "place": PLACE,
                "weight_g": 3284.0,
                "weight_uncertainty_g": 2.0,
            },
        ),
    ]
    acts += [("photograph", _photograph(*one, private=False)) for one in _FRAMES]
    acts += [
        ("photograph", _photograph(id_, "body", "private set", "raking", True)) for id_ in _PRIVATE
    ]
    observed = [
        {
            "id": "o01",
            "part": "neck_plate",
            "kind": "serial",
            "status": "read",
            "text": SERIAL,
            "frames": ["f07", "p01"],
        },
        _feature("o02", "badge", "f07", "f04"),
        _feature("o03", "guard", "f10", "f08"),
        _feature("o04", "rod", "f13", "f04"),
        _feature("o05", "tuners", "f01", "f06"),
        _feature("o06", "plate_screws", "f03", "f07"),
        {
            "id": "o07",
            "part": "tuner_4",
            "kind": "feature",
            "status": "read",
            "feature": "g6",
            "variant": "B",
            "frames": ["f05"],
            "note": "second screw hole beside the present one, filled with dark wax",
        },
        {
            "id": "o08",
            "part": "body",
            "kind": "mark",
            "status": "absent",
            "frames": ["f15"],
            "note": "looked for with the guard off",
        },
        {
            "id": "o09",
            "part": "pot_tone",
            "kind": "mark",
            "status": "read",
            "text": "3046446",
            "lot": "pots",
            "frames": ["f12"],
        },
        {
            "id": "o10",
            "part": "pot_volume",
            "kind": "mark",
            "status": "read",
            "text": "3046519",
            "lot": "pots",
            "frames": ["f11"],
        },
        {
            "id": "o11",
            "part": "pot_volume",
            "kind": "sign",
            "status": "read",
            "sign": "joint",
            "outcome": "undisturbed",
            "frames": ["f13"],
        },
        {
            "id": "o12",
            "part": "pot_tone",
            "kind": "sign",
            "status": "read",
            "sign": "joint",
            "outcome": "undisturbed",
            "frames": ["f12", "p02"],
        },
        {
            "id": "o13",
            "part": "socket",
            "kind": "sign",
            "status": "read",
            "sign": "joint",
            "outcome": "second wetting",
            "frames": ["f14"],
        },
        {
            "id": "o14",
            "part": "neck",
            "kind": "mark",
            "status": "read",
            "text": "65/0? R",
            "readings": [
                {"period": "1965-03", "weight": 0.75},
                {"period": "1965-08", "weight": 0.25},
            ],
            "frames": ["f17"],
        },
        _feature("o15", "neck", "f08", "f19"),
        _feature("o16", "capacitor", "f11", "f16"),
        {
            "id": "o17",
            "part": "shim",
            "kind": "sign",
            "status": "read",
            "sign": "outline",
            "outcome": "pressed into the primer",
            "frames": ["f18"],
        },
        {
            "id": "o18",
            "part": "finish",
            "kind": "sign",
            "status": "read",
            "sign": "uv_look",
            "outcome": "even but for named places",
            "frames": ["f09", "f10"],
        },
        {
            "id": "o19",
            "part": "pickup_neck",
            "kind": "mark",
            "status": "not looked",
            "note": "covers stay on",
        },
        {
            "id": "o20",
            "part": "pickup_bridge",
            "kind": "mark",
            "status": "illegible",
            "frames": ["f15"],
        },
        {
            "id": "o21",
            "part": "foil",
            "kind": "feature",
            "status": "read",
            "feature": "f06",
            "variant": "B",
            "frames": ["f15"],
        },
        {
            "id": "o22",
            "part": "strap_buttons",
            "kind": "feature",
            "status": "not applicable",
            "feature": "p1",
            "note": "the felt washers belong to 1959",
        },
    ]
    acts += [("observation", one) for one in observed]
    acts += [
        (
            "contents",
            {
                "id": "i1",
                "item": "repair docket of 1988, “new socket”",
                "link": "unrelated",
                "frames": ["f01"],
            },
        ),
        (
            "statement",
            {
                "id": "s1",
                "role": "the consignor",
                "about": "strings",
                "text": "I put them on about ten years ago.",
                "signed": True,
            },
        ),
        (
            "measurement",
            {
                "id": "m1",
                "quantity": "relief at the 8th fret",
                "part": "neck",
                "value": 0.46,
                "unit": "mm",
                "uncertainty": 0.03,
                "stage": "found",
            },
        ),
        (
            "measurement",
            {
                "id": "m2",
                "quantity": "relief at the 8th fret",
                "part": "neck",
                "value": 0.25,
                "unit": "mm",
                "uncertainty": 0.03,
                "stage": "final",
            },
        ),
        (
            "measurement",
            {
                "id": "m3",
                "quantity": "DC resistance at the jack, volume full",
                "part": "pickup_neck",
                "value": 6.42,
                "unit": "kΩ",
                "uncertainty": 0.03,
                "stage": "found",
                "temperature": 24.5,
            },
        ),
        (
            "measurement",
            {
                "id": "m4",
                "quantity": "capacitance",
                "part": "capacitor",
                "value": 0.049,
                "unit": "µF",
                "uncertainty": 0.0005,
                "stage": "found",
            },
        ),
        (
            "treatment",
            {
                "id": "t1",
                "act": "cleaned the control",
                "part": "pot_tone",
                "reason": "19 crackles a turn",
                "reversible": False,
                "material": "contact cleaner",
                "amount": "0.1 ml",
                "minutes": 5.0,
                "before": ["f12"],
                "after": ["f16"],
            },
        ),
        (
            "treatment",
            {
                "id": "t2",
                "act": "take strings off",
                "part": "strings",
                "reason": "not the first set, by the consignor's signed word; bagged and kept",
                "reversible": True,
                "before": ["f20"],
                "after": ["f02"],
            },
        ),
    ]
    return acts


def demo_state(*more: tuple[str, dict]) -> DossierState:
    """The state after all entries, and after *more*."""
    folding = Folding(guitar_tree())
    for seq, (kind, body) in enumerate([*_entries(), *more], start=1):
        digest = hashlib.sha256(f"{seq}{kind}".encode()).hexdigest()
        folding.add(
            kind, body, at="2026-11-02T09:14:00Z", by="examiner A", digest=digest, where=f"{seq}"
        )
    return folding.state


def demo_names() -> FeatureNames:
    """Words of the invented maker's chronology."""
    return FeatureNames(
        names={
            "f01": "pattern",
            "f03": "drive",
            "f06": "foil",
            "f07": "mark",
            "f08": "pocket floor",
            "f10": "material",
            "f11": "value and make",
            "f13": "adjuster",
            "g6": "cover",
            "p1": "felt washers",
            "uv_look": "fluorescence at 365 nm",
            "joint": "joint",
            "outline": "outline",
        },
        variants={
            ("f01", "B"): "six single, covered",
            ("f03", "B"): "cross-recess, dome head",
            ("f06", "B"): "copper patch, stuck with shellac",
            ("f07", "B"): "pressed badge on two pins",
            ("f08", "B"): "grey-green primer",
            ("f10", "B"): "three-layer laminate, 11 screws",
            ("f11", "B"): "0.047 µF moulded film",
            ("f13", "B"): "at the head, 5.5 mm square key",
            ("g6", "B"): "ribbed cover",
        },
    )


def _states(*shares: float) -> dict[str, float]:
    names = ("original", "period_replacement", "later_replacement", "from_another_instrument")
    return dict(zip(names, shares, strict=True))


def demo_finding(**changes: object) -> dict:
    """A finding in the form of the date command's JSON; *changes* replace top-level keys."""
    months = {
        "1965-02": 0.001,
        "1965-03": 0.007,
        "1965-04": 0.032,
        "1965-05": 0.19,
        "1965-06": 0.31,
        "1965-07": 0.22,
        "1965-08": 0.125,
        "1965-09": 0.07,
        "1965-10": 0.031,
        "1965-11": 0.01,
        "1965-12": 0.004,
    }
    original = (0.97, 0.02, 0.005, 0.005)
    keys = (
        "neck",
        "neck_plate",
        "plate_screws",
        "badge",
        "rod",
        "tuners",
        "guard",
        "pot_volume",
        "pot_tone",
        "capacitor",
        "foil",
    )
    parts = {key: _states(*original) for key in keys}
    parts |= {
        "body": _states(1, 0, 0, 0),
        "tuner_4": _states(0.004, 0.006, 0.96, 0.03),
        "socket": _states(0.42, 0.5, 0.06, 0.02),
        "shim": _states(0.55, 0.2, 0.2, 0.05),
        "pickup_neck": _states(0.93, 0.04, 0.02, 0.01),
        "finish": {
            "original": 0.6,
            "touched_up": 0.37,
            "old_refinish": 0.02,
            "recent_refinish": 0.01,
        },
    }
    priors = {key: _states(0.9, 0.05, 0.04, 0.01) for key in parts}
    priors |= {
        "body": _states(1, 0, 0, 0),
        "finish": {
            "original": 0.8,
            "touched_up": 0.1,
            "old_refinish": 0.07,
            "recent_refinish": 0.03,
        },
    }

    def mark(part: str, *readings: tuple[str, float, float], **rest: object) -> dict:
        return {
            "part": part,
            "kind": "mark",
            "surprise": 0.4,
            "used": True,
            "why_not": None,
            "readings": [
                {"period": p, "weight": w, "posterior": q, "rule": "r", "source": "s"}
                for p, w, q in readings
            ],
            "leave_one_out": {
                "predictive": 0.1,
                "total_variation": 0.02,
                "interval": {"90": ["1965-05", "1965-09"]},
                "median": "1965-06",
            },
            **rest,
        }

    moved = {
        "predictive": 0.02,
        "total_variation": 0.46,
        "interval": {"90": ["1965-03", "1965-08"]},
        "median": "1965-04",
    }
    observations = {
        "o01": mark("neck_plate", kind="serial"),
        "o09": mark("pot_tone", ("1964-11", 1.0, 1.0)),
        "o10": mark("pot_volume", ("1965-05", 1.0, 1.0), leave_one_out=moved),
        "o14": mark("neck", ("1965-03", 0.75, 0.79), ("1965-08", 0.25, 0.21)),
        "o07": mark(
            "tuner_4",
            kind="feature",
            surprise=0.004,
            used=False,
            why_not="the tuner is a later replacement, so it says nothing of the date",
        ),
    }
    observations |= {
        one: mark("x", kind="feature") for one in ("o02", "o03", "o04", "o05", "o06", "o15", "o16")
    }
    finding = {
        "completion": {
            "median": "1965-06",
            "interval": {"50": ["1965-06", "1965-07"], "90": ["1965-05", "1965-09"]},
            "modes": [{"months": ["1965-02", "1965-12"], "p": 1.0}],
            "months": months,
            "prior": {"median": "1961-06", "interval": {"90": ["1953-12", "1967-10"]}},
            "withheld": None,
        },
        "parts": parts,
        "part_priors": priors,
        "part_dates": {
            "neck": {"median": "1965-06", "interval": {"90": ["1965-03", "1965-11"]}},
            "pot_volume": {"median": "1965-09", "interval": {"90": ["1965-06", "1966-08"]}},
        },
        "observations": observations,
        "digest": hashlib.sha256(b"finding").hexdigest(),
    }
    return {**finding, **changes}
