"""The examination report as PDF/A-3a and PDF/UA-1, typeset by typst.

The template reads one JSON file, so no text of a record is ever read as markup. Drawings are made
here as SVG, photographs are turned upright, reduced and stripped of everything but pixels (a
camera's file carries place and serial of the camera), and the examination data travel inside the
PDF (ISO 19005-3, embedded files). Equal document, timestamp and bytes give equal bytes of the same
program version. The file ends with a newline, so that objects which a signature appends begin on a
line of their own (ISO 19005-3, 6.1.9). typst's exporter keeps the standards; nothing here
validates the result. Its virtual files hold text only, so the sheets pass through a temporary
folder that only this user can read.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import msgspec

from heelstamp.casework.papers.document import ReportDocument
from heelstamp.errors import InputError, StorageError
from heelstamp.luminescence import Kind
from heelstamp.report.drawing import drawing_svg
from heelstamp.report.finish_drawing import swatch_png
from heelstamp.report.payload import payload, plate_path, swatch_path
from heelstamp.report.pictures import print_pictures
from heelstamp.report.printable import BOX, BOX_TOLD, printable_value, shown
from heelstamp.report.timeline import timeline_svg
from heelstamp.report.typesetter import typesetter
from heelstamp.report.typesetting import MAIN

HERE = Path(__file__).parent
TEMPLATE = HERE / "templates" / "report.typ"
COMMON = "common.typ"

_MEDIA_TYPES = {".json": "application/json", ".toml": "application/toml", ".csv": "text/csv"}
DOCUMENT = "document.json"
_RESERVED = frozenset({MAIN, DOCUMENT, COMMON, "timeline.svg", "drawing.svg"})
_DESCRIPTIONS = {
    "examination.json": "Examination data of this paper",
    "finding.json": "Computed finding that this paper states",
    "finish.json": "Computed findings of the finish under UV-A, one a face",
    "doubts.json": "Computed doubts: what does not fit, what the answer hangs on",
    "journal.json": "Journal of the dossier",
    "copy.json": "Fields of the entry that fixes the files of this paper",
}


@dataclass(frozen=True, slots=True)
class _Attachment:
    name: str
    mime: str
    description: str
    relationship: str = "data"


def render_report(
    document: ReportDocument,
    *,
    timestamp: datetime,
    attachments: Mapping[str, bytes],
    photographs: Mapping[str, bytes],
    plates: Mapping[str, bytes] | None = None,
    printed: bool = False,
) -> bytes:
    """Typeset a report.

    Parameters
    ----------
    document
        What the paper says, already cut to its reader.
    timestamp
        Written into the file as its time of making; needs a time zone.
    attachments
        Files to carry inside, by name, such as ``examination.json``; already cut to the reader.
    photographs
        Picture files by frame id; only those that the document lists are used.
    printed
        They were made ready by `heelstamp.report.pictures.print_picture` already.
    plates
        Pictures made of findings, by key; only those that the document lists are used.

    Returns
    -------
    bytes
        A PDF that ends with a newline.

    Raises
    ------
    InputError
        The timestamp has no zone, a photograph is missing or no picture, an attachment's name is
        taken or not a plain file name, or there is no drawing of that kind of instrument.
    StorageError
        The typesetter could not run.
    """
    if timestamp.tzinfo is None:
        raise InputError(
            "the time of a paper has no zone", received=timestamp, remedy="Give it in UTC."
        )
    told = _attachments(attachments)
    files: dict[str, bytes] = {MAIN: TEMPLATE.read_bytes()}
    files.update({name: attachments[name] for name in sorted(attachments)})
    plain = payload(document)
    plain["attachments"] = [msgspec.to_builtins(one) for one in told]
    if document.timeline is not None:
        files["timeline.svg"] = timeline_svg(document.timeline).encode()
    if plain["drawing"]:
        files["drawing.svg"] = drawing_svg(document.kind, document.parts).encode()
    wanted = _wanted(document, photographs)
    prints = [data for _, data in wanted] if printed else print_pictures(wanted)
    for index, made in enumerate(prints):
        files[f"pictures/{index}.jpg"] = made
    files.update(_plates(document, plates or {}))
    files["document.json"] = json.dumps(plain, ensure_ascii=False, sort_keys=True).encode()
    return typeset(files, timestamp)


def _wanted(document: ReportDocument, photographs: Mapping[str, bytes]) -> list[tuple[str, bytes]]:
    """The photographs that the document lists, in its order, each named for errors."""
    wanted = []
    for picture in document.pictures:
        content = photographs.get(picture.frame)
        if content is None:
            raise InputError(
                "a photograph of the report is missing",
                where=f"frame {picture.frame}",
                remedy="Give its file, or leave it out of the document.",
            )
        wanted.append((f"frame {picture.frame}", content))
    return wanted


def _plates(document: ReportDocument, plates: Mapping[str, bytes]) -> dict[str, bytes]:
    """The pictures of findings, which this program made, and the patterns of their legend."""
    files: dict[str, bytes] = {}
    for index, plate in enumerate(one for face in document.finish for one in face.plates):
        content = plates.get(plate.key)
        if content is None:
            raise InputError(
                "a picture of a finding is missing",
                where=plate.key,
                remedy="Give its file, or leave it out of the document.",
            )
        files[plate_path(index)] = content
    for kind in {row.kind for face in document.finish for row in face.regions}:
        files[swatch_path(kind)] = swatch_png(Kind(kind))
    return files


def typeset(files: dict[str, bytes], timestamp: datetime) -> bytes:
    """Typeset files of text, of which `MAIN` is the template; no text in them stops it.

    What no typeface shows stands as a box (`heelstamp.report.printable`).

    Raises
    ------
    StorageError
        The typesetter could not run.
    """
    files = {name: _printable(name, content) for name, content in files.items()}
    files[COMMON] = (HERE / "templates" / COMMON).read_bytes()
    for _ in range(UNSHOWN_MAX):
        try:
            return _typeset(files, timestamp)
        except StorageError as error:
            unshown = _unshown(str(error))
            if not any(unshown.encode() in content for content in _texts(files)):
                raise
            boxes = BOX * max(1, len(unshown))
            files |= {
                name: content.replace(unshown.encode(), boxes.encode())
                for name, content in files.items()
                if name.endswith(_TEXTS)
            }
    return _typeset(files, timestamp)


UNSHOWN_MAX = 40
"""Combinations of characters that no typeface shows together, put right one after another."""
_TEXTS = (DOCUMENT, ".svg")
_UNSHOWN = re.compile(r'(?:the text|the codepoint) `"((?:[^"\\]|\\.)*)"`')
_ESCAPED = re.compile(r"\\u\{([0-9a-f]+)\}")


def _printable(name: str, content: bytes) -> bytes:
    if name == DOCUMENT:
        told = printable_value(json.loads(content))
        assert isinstance(told, dict)
        told.setdefault("boxes", BOX_TOLD if BOX.encode() in content else "")
        return json.dumps(told, ensure_ascii=False, sort_keys=True).encode()
    return shown(content.decode()).encode() if name.endswith(".svg") else content


def _texts(files: Mapping[str, bytes]) -> list[bytes]:
    return [content for name, content in files.items() if name.endswith(_TEXTS)]


def _unshown(message: str) -> str:
    """Return the characters that the typesetter says it cannot show, or nothing it could."""
    found = _UNSHOWN.search(message)
    if found is None:
        return "\0"
    return _ESCAPED.sub(lambda hit: chr(int(hit[1], 16)), found[1]) or "\0"


def _typeset(files: Mapping[str, bytes], timestamp: datetime) -> bytes:
    with tempfile.TemporaryDirectory(prefix="heelstamp-paper-") as folder:
        try:
            for name, content in files.items():
                path = Path(folder, name)
                path.parent.mkdir(exist_ok=True)
                path.write_bytes(content)
        except OSError as error:
            raise StorageError(
                "the paper could not be typeset",
                received=error.strerror,
                remedy="Keep the dossier as it is and report this message.",
            ) from error
        pdf = typesetter.pdf(Path(folder), timestamp)
    return pdf if pdf.endswith(b"\n") else pdf + b"\n"


def _attachments(attachments: Mapping[str, bytes]) -> list[_Attachment]:
    told = []
    for name in sorted(attachments):
        if not name or "/" in name or "\\" in name or name.startswith(".") or name in _RESERVED:
            raise InputError(
                "not a name for an attached file",
                received=name,
                remedy="Give a plain file name, such as examination.json.",
            )
        mime = _MEDIA_TYPES.get(Path(name).suffix, "application/octet-stream")
        told.append(_Attachment(name, mime, _DESCRIPTIONS.get(name, f"Attached file {name}")))
    return told
