"""Sealed entries for tests: of form 2 with seeds known beforehand, and of form 1 as once made."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from heelstamp.archive import digest_of, seal

WHERRY_FORM_1 = Path(__file__).parent / "wherry_form_1.jsonl"
"""The demonstration's journal as a version before form 2 exported it: 206 entries, W-0001."""


def seed_of(number: int) -> bytes:
    """A seed that is the same in every run."""
    return bytes.fromhex(digest_of(f"seed {number}"))


def seal_form_1(fields: Mapping[str, Any]) -> dict[str, Any]:
    """An entry as it was sealed before there was form 2."""
    bare = {name: value for name, value in fields.items() if name not in ("digest", "form", "seed")}
    return {**bare, "digest": digest_of(bare)}


def sealed_again(entry: Mapping[str, Any], **changes: Any) -> dict[str, Any]:
    """An entry changed and sealed in its own form, with its own seed."""
    changed = {**entry, **changes}
    if "form" in entry:
        return seal(changed, bytes.fromhex(entry["seed"]))
    return seal_form_1(changed)


def chained(
    bodies: list[tuple[str, dict[str, Any]]], *, forms: Mapping[int, int] | int = 2
) -> list[dict[str, Any]]:
    """Entries of kinds and bodies, each after the last, of one form or of that told by number."""
    entries: list[dict[str, Any]] = []
    for seq, (kind, body) in enumerate(bodies, start=1):
        fields = {
            "seq": seq,
            "at": f"2026-11-02T09:{seq % 60:02}:00Z",
            "by": "examiner A",
            "kind": kind,
            "body": body,
            "previous": entries[-1]["digest"] if entries else None,
        }
        form = forms if isinstance(forms, int) else forms[seq]
        entries.append(seal_form_1(fields) if form == 1 else seal(fields, seed_of(seq)))
    return entries
