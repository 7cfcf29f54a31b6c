"""A second reading of entries of form 2 and of copies, with the standard library alone.

Written from the description of the form, not from the program: what both agree on is what the
description says. It tells digests and whether a copy holds, not why one does not.
"""

import hashlib
import hmac
import json
from collections.abc import Mapping
from typing import Any


def jcs(value: Any) -> bytes:
    """RFC 8785."""
    if isinstance(value, dict):
        names = sorted(value, key=lambda name: name.encode("utf-16-be"))
        return b"{" + b",".join(jcs(name) + b":" + jcs(value[name]) for name in names) + b"}"
    if isinstance(value, list):
        return b"[" + b",".join(map(jcs, value)) + b"]"
    if isinstance(value, float):
        return _number(value).encode()
    return json.dumps(value, ensure_ascii=False).encode()


def _number(value: float) -> str:
    """ECMA-262, Number::toString."""
    if value == 0:
        return "0"
    if value < 0:
        return "-" + _number(-value)
    whole, _, exponent = f"{value!r}".partition("e")
    before, _, after = whole.partition(".")
    after = "" if after == "0" else after
    point = len(before) + int(exponent or 0)
    digits = (before + after).lstrip("0")
    point -= len(before + after) - len(digits)
    digits = digits.rstrip("0")
    if 0 < point <= 21:
        padded = digits.ljust(point, "0")
        return padded[:point] + ("." + padded[point:] if padded[point:] else "")
    if -6 < point <= 0:
        return "0." + "0" * -point + digits
    return digits[0] + ("." + digits[1:] if digits[1:] else "") + f"e{point - 1:+d}"


def pairs(entry: Mapping[str, Any]) -> list[list[Any]]:
    """Paths and values of an entry."""
    found: list[list[Any]] = []

    def table(path: str, fields: dict[str, Any], names: tuple[str, ...]) -> None:
        if not fields:
            found.append([path, fields])
        for name, value in fields.items():
            here = path + "/" + name.replace("~", "~0").replace("/", "~1")
            if names and name == names[0] and isinstance(value, dict):
                table(here, value, names[1:])
                continue
            found.append([here, value])
            text = isinstance(value, list) and all(isinstance(item, str) for item in value)
            if path and name in ("frames", "before", "after") and text:
                found.extend([here + "/-", item] for item in sorted(set(value)))

    covered = {name: value for name, value in entry.items() if name not in ("digest", "seed")}
    table("", covered, ("body", "replacement"))
    return found


def digest(entry: Mapping[str, Any]) -> str:
    """Digest of an entry of form 2."""
    data = sorted(map(jcs, pairs(entry)))
    size = 32
    while size < len(data):
        size *= 2
    leaves = []
    for number, one in enumerate(data + [b""] * (size - len(data))):
        message = b"heelstamp/leaf/2\0" + number.to_bytes(4, "big")
        key = hmac.new(bytes.fromhex(entry["seed"]), message, "sha256").digest()
        leaves.append((key[16:], leaf(key[:16], one)))
    level = [one for _, one in sorted(leaves)]
    while len(level) > 1:
        level = [node(level[at], level[at + 1]) for at in range(0, len(level), 2)]
    return level[0].hex()


def leaf(salt: bytes, data: bytes) -> bytes:
    """Hash of a leaf."""
    return hashlib.sha256(b"\0heelstamp/entry/2\0" + salt + data).digest()


def node(left: bytes, right: bytes) -> bytes:
    """Hash of a node."""
    return hashlib.sha256(b"\1" + left + right).digest()


def copy_holds(text: bytes, attachments: Mapping[str, bytes], head: str) -> bool:
    """Whether a copy that is well formed belongs to its head and attachments."""
    copy = json.loads(text)
    hashes = [bytes.fromhex(one) for one in copy["hashes"]]
    level = {
        place: leaf(bytes.fromhex(salt), jcs([path, value]))
        for place, salt, path, value in copy["shown"]
    }
    size = copy["size"]
    while size > 1:
        for place in sorted(level):
            if place ^ 1 not in level and hashes:
                level[place ^ 1] = hashes.pop(0)
        lefts = [place for place in sorted(level) if place % 2 == 0 and place + 1 in level]
        level = {place // 2: node(level[place], level[place + 1]) for place in lefts}
        size //= 2
    shown = {path: value for _, _, path, value in copy["shown"]}
    files = {name: hashlib.sha256(data).hexdigest() for name, data in attachments.items()}
    five = {"/form", "/kind", "/body/reader", "/body/day", "/body/files"}
    return (
        level.get(0, b"").hex() == copy["digest"] == head
        and not hashes
        and set(shown) == five
        and (shown["/form"], shown["/kind"]) == (2, "issue")
        and shown["/body/files"] == files
    )
