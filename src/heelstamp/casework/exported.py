"""A dossier as a folder that a person reads: names of its files, tables of its entries, a guide.

Tables are comma-separated values (RFC 4180) in UTF-8 with a byte order mark, so that a spreadsheet
program reads the letters right. A text that such a program would take for a formula is preceded by
an apostrophe (OWASP, "CSV Injection"); numbers are left as they are.
"""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import PurePosixPath
from typing import Any

_ENDINGS = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/tiff": ".tif",
    "image/webp": ".webp",
    "image/heic": ".heic",
    "image/heif": ".heif",
    "image/x-adobe-dng": ".dng",
    "audio/wav": ".wav",
    "audio/x-wav": ".wav",
    "audio/flac": ".flac",
    "audio/mpeg": ".mp3",
    "audio/ogg": ".ogg",
    "audio/webm": ".webm",
    "application/pdf": ".pdf",
    "application/toml": ".toml",
    "application/json": ".json",
    "application/zip": ".zip",
    "text/html": ".html",
}
_FOLDERS = {"photograph": "photographs", "recording": "recordings"}
_OTHER_FOLDER = "other files"
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "|", "%")
_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?([eE][+-]?\d+)?")
_PAPERS_FOLDER = "papers"
LINKED_ART_FILE = "linked-art.jsonld"
LINKED_ART_LINE = """linked-art.jsonld
                What the shop's report says, as Linked Art (JSON-LD) for other collections."""
LONGEST_NAME = 80
"""Characters of a file's name without its ending."""

GUIDE = """\
How to read this folder
=======================

{contents}

Each dossier's folder holds:

journal.jsonl   The record itself: one entry a line, in the order in which they were made, as JSON.
                Nothing in it was ever changed; what was wrong stands there with its correction
                after it. "at" is the time by the shop's clock (UTC), "by" the hand, "kind" what
                the entry is about, "body" what it says.
photographs/    The photographs as they were taken, named by their number and what they show.
recordings/     Sound.
papers/         The papers that were issued, byte for byte, each signed by the shop.
other files/    What entries refer to besides: findings with their pictures, terms.
tables/         The entries of each kind as a table for a spreadsheet program. They repeat the
                journal and are there to be read; the journal counts.
findings/       What was computed from the record when this folder was written.{linked}

files.json      Every file with the digest by which entries name it.
check.html      A page that checks this folder, a paper or a journal in a browser, offline.

All this lies in a bag (BagIt 1.0, RFC 8493). Beside data/ stands manifest-sha256.txt, a digest of
every file: check them with sha256sum -c manifest-sha256.txt. tagmanifest-sha256.txt has the digest
of that list, and tagmanifest-sha256.txt.p7s is the shop's signature over it.

How to check that the record is as it was made
----------------------------------------------

The whole:            heelstamp verify FOLDER --key KEY
                      KEY is the fingerprint of the shop's key, as the shop tells it elsewhere.
With the program:     heelstamp verify journal.jsonl --last DIGEST
                      DIGEST is that of the last entry, as a paper or a backup gives it. Without
                      it nothing can be said of entries missing at the end.
Into another shop:    heelstamp import FOLDER --shop SHOP

Without the program:  every entry carries in "previous" the "digest" of the one before it. An entry
without "form" has as digest the SHA-256 of its other fields as canonical JSON (RFC 8785).
An entry with "form": 2 has the root of a Merkle tree (RFC 9162, section 2.1.1) over its fields:
  1. For each field but "digest" and "seed" the pair [path, value]; path is a JSON Pointer
     (RFC 6901). "body", and an object "replacement" in it, are split into their fields. The lists
     of text {lists}
     give besides one pair for each distinct item, at the list's path with "/-".
  2. Each pair as canonical JSON, sorted by bytes, then empty ones up to a power of two, at least
     {least}.
  3. HMAC-SHA-256 with the seed's 32 bytes as key over the ASCII letters "heelstamp/leaf/2", a zero
     byte, and the number of the leaf from 0 as four bytes, the first first: 16 bytes of salt, 16
     bytes of place. The leaves stand in ascending order of place.
  4. The data of a leaf: the letters "heelstamp/entry/2", a zero byte, its salt, its pair. A leaf is
     hashed as SHA-256 of a zero byte and its data, a node as SHA-256 of a one byte and both below.

This folder is for the shop and the owner. It holds names, prices, private frames and the seeds
with which masked fields of issued papers can be tried: do not hand it to anyone else.
"""


def exported_names(
    entries: Iterable[Mapping[str, Any]],
    media_types: Mapping[str, str],
    part_label: Callable[[str], str],
) -> dict[str, str]:
    """Readable path of each file that entries name, by its digest.

    Parameters
    ----------
    entries
        As their lines say them.
    media_types
        By digest.
    part_label
        Gives a part's name from its key.

    Examples
    --------
    >>> entry = {"kind": "photograph", "body": {"id": "F031", "file": "ab", "part": "tone_pot"}}
    >>> exported_names([entry], {"ab": "image/jpeg"}, lambda key: key.replace("_", " "))
    {'ab': 'photographs/F031 tone pot.jpg'}
    """
    names: dict[str, str] = {}
    taken: set[str] = set()
    for entry in entries:
        body = entry.get("body")
        for one in (body, body.get("replacement") if isinstance(body, dict) else None):
            digest = one.get("file") if isinstance(one, dict) else None
            if not isinstance(one, dict) or not isinstance(digest, str) or digest in names:
                continue
            folder, stem = _named(str(entry.get("kind")), one, part_label)
            ending = _ending(media_types.get(digest, str(one.get("media_type", ""))), one)
            names[digest] = free_name(f"{folder}/{stem}", ending, taken)
    return names


def _named(kind: str, body: Mapping[str, Any], part_label: Callable[[str], str]) -> tuple[str, str]:
    """Folder and stem of a file that an entry of *kind* names."""
    if "reader" in body and "files" in body:
        version = f", version {body['version']}" if body.get("version") else ""
        told = f"{body.get('paper', 'report')} for the {body['reader']}{version}"
        return _PAPERS_FOLDER, safe_name(told)
    about = _about(body, part_label)
    stem = safe_name(f"{body.get('id') or kind} {about}".strip())
    return _FOLDERS.get(kind, _OTHER_FOLDER), stem


def _about(body: Mapping[str, Any], part_label: Callable[[str], str]) -> str:
    part = body.get("part")
    if isinstance(part, str) and part:
        return part_label(part)
    for key in ("slot", "what", "about", "kind"):
        if isinstance(body.get(key), str) and body[key]:
            return str(body[key]).replace("_", " ")
    return ""


def _ending(media_type: str, body: Mapping[str, Any]) -> str:
    if media_type in _ENDINGS:
        return _ENDINGS[media_type]
    own = PurePosixPath(str(body.get("name", ""))).suffix.lower()
    return own if re.fullmatch(r"\.[a-z0-9]{1,5}", own) else ".bin"


def safe_name(text: str) -> str:
    """Text as a file's name that every system takes, without an ending."""
    plain = unicodedata.normalize("NFC", text).replace("'", "").replace("’", "")
    kept = "".join(char if char.isalnum() or char in " -_(),+" else "_" for char in plain)
    return " ".join(kept.split())[:LONGEST_NAME].strip() or "unnamed"


def free_name(stem: str, ending: str, taken: set[str]) -> str:
    """Name that is not taken yet in either case; it is taken then."""
    name, number = f"{stem}{ending}", 2
    while name.casefold() in taken:
        name, number = f"{stem} ({number}){ending}", number + 1
    taken.add(name.casefold())
    return name


def exported_tables(entries: Iterable[Mapping[str, Any]]) -> dict[str, bytes]:
    """A table for each kind of entry, by file name.

    One row an entry; fields within fields are columns named with a full stop, lists of texts are
    joined, other lists are JSON.
    """
    rows: dict[str, list[dict[str, object]]] = {}
    for entry in entries:
        body = entry.get("body")
        told = {key: entry.get(key) for key in ("seq", "at", "by")}
        rows.setdefault(str(entry.get("kind")), []).append(
            told | (_flat(body) if isinstance(body, dict) else {})
        )
    return {f"{safe_name(kind)}.csv": table_of(of_kind) for kind, of_kind in rows.items()}


def table_of(rows: Sequence[Mapping[str, object]]) -> bytes:
    """Rows as comma-separated values, with every field that one of them has as a column."""
    columns = list(dict.fromkeys(key for row in rows for key in row))
    text = io.StringIO(newline="")
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow([harmless(key) for key in columns])
    for row in rows:
        writer.writerow([harmless(_cell(row.get(key))) for key in columns])
    return text.getvalue().encode("utf-8-sig")


def _flat(body: Mapping[str, Any], before: str = "") -> dict[str, object]:
    flat: dict[str, object] = {}
    for key, value in body.items():
        if isinstance(value, dict):
            flat |= _flat(value, f"{before}{key}.")
        else:
            flat[f"{before}{key}"] = value
    return flat


def _cell(value: object) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    if isinstance(value, list) and all(isinstance(one, str) for one in value):
        return "; ".join(value)
    return json.dumps(value, ensure_ascii=False)


def harmless(text: str) -> str:
    """Text that a spreadsheet program does not take for a formula.

    Examples
    --------
    >>> harmless("=1+1"), harmless("-0.25"), harmless("plain")
    ("'=1+1", '-0.25', 'plain')
    """
    begins = text.lstrip(" ").startswith(_FORMULA) and not _NUMBER.fullmatch(text.strip())
    return f"'{text}" if begins else text
