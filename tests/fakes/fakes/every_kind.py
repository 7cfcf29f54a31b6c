"""One entry of each kind, for tests that walk all of them."""

from __future__ import annotations

from typing import Any

FILE = "ab" * 32
SUM = "48123779"
"""A sum that stands nowhere else."""

BODIES: dict[str, dict[str, Any]] = {
    "observation": {"part": "body", "kind": "mark", "status": "absent"},
    "measurement": {
        "quantity": "relief",
        "part": "neck",
        "value": 0.2,
        "unit": "mm",
        "stage": "found",
    },
    "treatment": {"act": "look", "part": "body", "reason": "as asked", "reversible": True},
    "photograph": {
        "file": FILE,
        "name": "front.jpg",
        "media_type": "image/jpeg",
        "width": 10,
        "height": 10,
    },
    "picture_box": {"frame": "f1", "x": 0.1, "y": 0.2, "width": 0.3, "height": 0.1},
    "picture_scale": {
        "frame": "f1",
        "x0": 0.1,
        "y0": 0.2,
        "x1": 0.6,
        "y1": 0.2,
        "length_mm": 100.0,
    },
    "recording": {"file": FILE, "name": "a.wav", "media_type": "audio/wav", "what": "note"},
    "consent": {"act": "lift guard", "granted": True, "by": "owner"},
    "custody": {"event": "received", "giver": "owner", "receiver": "shop"},
    "contents": {"item": "strap", "link": "same period"},
    "statement": {"role": "owner", "about": "neck", "text": "as bought", "signed": False},
    "exposure": {"part": "body", "minutes": 2.0},
    "string_set": {"which": "found", "strings": ".010 .013 .017 plain", "reason": "read"},
    "pair_marks": {"visible": "f1", "uv": "f2", "file": FILE},
    "region": {"look": "o1", "finding": FILE, "region": 1, "verdict": "stands", "reason": "seen"},
    "border": {"look": "o1", "finding": FILE, "region": 1},
    "condition": {"damage": "chip", "material": "finish", "face": "front", "length_mm": 4.0},
    "face_looked": {"face": "front"},
    "difference_look": {"before": "f1", "after": "f2", "it_is": "light"},
    "work_plan": {
        "acts": [{"act": "fit strings", "part": "strings"}],
        "signed": "2026-11-02",
        "by": "owner",
    },
    "grade": {"grade": "B", "reason": "looked at"},
    "colour": {"colour": "rare", "reason": "looked at"},
    "case_included": {"included": True, "reason": "it came so"},
    "changed_parts": {"count": 2, "reason": "counted"},
    "price": {"of": "insured value", "amount": SUM, "reason": "agreed"},
    "terms": {"file": FILE, "reason": "agreed"},
    "agreement": {"role": "a consignor", "terms": FILE, "how": "on paper", "day": "2026-11-02"},
    "title_search": {"register": "a list", "hit": False},
    "title_note": {"subject": "a receipt", "open": True, "reason": "wanting"},
    "near_number": {"number": "12345", "settled": "another maker", "reason": "compared"},
    "material": {"rule": "rosewood", "answer": "no", "reason": "looked at"},
    "materials_looked": {"found": "none", "reason": "looked at"},
    "owner": {"role": "a consignor", "signed": "2026-11-02"},
    "sale": {"event": "examined", "day": "2026-11-02"},
    "tax": {"scheme": "margin", "rate": "20 %", "bought": SUM, "currency": "USD", "reason": "so"},
    "enquiry": {"party": "enquirer 1", "event": "asked", "day": "2026-11-02", "text": "Is it?"},
    "packing": {
        "day": "2026-11-02",
        "route": "JP",
        "weight_g": 6200.0,
        "length_mm": 1200.0,
        "width_mm": 450.0,
        "height_mm": 180.0,
    },
    "transit_log": {"file": FILE, "name": "log.csv", "room_c": 20.5, "room_rh": 45.0},
    "wording": {"sentence": "part:neck", "word": "probably", "reason": "by eye"},
    "paper": {"paper": "report", "reader": "buyer", "file": FILE},
    "question": {"question": "q1", "asked": "Is it first?", "state": "to be looked at"},
    "return_verdict": {"slot": "front", "verdict": "same"},
    "later_known": {
        "about": "part:neck",
        "source": "an invented receipt",
        "original": True,
        "stated": 0.93,
    },
    "decision": {"about": "price", "decided": f"{SUM} USD", "reason": "agreed"},
    "screw": {"part": "neck", "opening": "neck off", "number": 1, "x": 0.5, "y": 0.5},
    "issue": {"reader": "buyer", "day": "2026-11-02", "files": {"report.pdf": FILE}},
    "clock": {"clock": "unsure", "last": "2026-11-02T09:14:00Z"},
}
"""Bodies without their ids; instrument and correction are made by whoever walks."""


def body_of(kind: str, id_: str) -> dict[str, Any]:
    """A body of this kind under this id."""
    return {"id": id_, **BODIES[kind]}


BEFORE: dict[str, tuple[tuple[str, str], ...]] = {
    "pair_marks": (("photograph", "f1"), ("photograph", "f2")),
    "difference_look": (("photograph", "f1"), ("photograph", "f2")),
    "picture_box": (("photograph", "f1"),),
    "picture_scale": (("photograph", "f1"),),
    "region": (("observation", "o1"),),
    "border": (("observation", "o1"),),
}
"""Kinds and ids of what must stand before an entry of a kind."""


def acts_before(kind: str) -> list[tuple[str, dict[str, Any]]]:
    """Entries that one of this kind names."""
    return [(other, body_of(other, id_)) for other, id_ in BEFORE.get(kind, ())]
