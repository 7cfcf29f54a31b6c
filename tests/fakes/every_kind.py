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
    "recording": {"file": FILE, "name": "a.wav", "media_type": "audio/wav", "what": "note"},
    "consent": {"act": "lift guard", "granted": True, "by": "owner"},
    "custody": {"event": "received", "giver": "owner", "receiver": "shop"},
    "contents": {"item": "strap", "link": "same period"},
    "statement": {"role": "owner", "about": "neck", "text": "as bought", "signed": False},
    "decision": {"about": "price", "decided": f"{SUM} USD", "reason": "agreed"},
    "screw": {"part": "neck", "opening": "neck off", "number": 1, "x": 0.5, "y": 0.5},
    "issue": {"reader": "buyer", "day": "2026-11-02", "files": {"report.pdf": FILE}},
    "clock": {"clock": "unsure", "last": "2026-11-02T09:14:00Z"},
}
"""Bodies without their ids; instrument and correction are made by whoever walks."""


def body_of(kind: str, id_: str) -> dict[str, Any]:
    """A body of this kind under this id."""
    return {"id": id_, **BODIES[kind]}
