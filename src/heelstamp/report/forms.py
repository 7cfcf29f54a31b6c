"""The shop's other papers as PDF/A-3a and PDF/UA-1, their data inside; labels with QR codes.

One template sets all of them, in the design of the report. Codes are those of ISO/IEC 18004, error
correction M, for paper that hangs in a workshop.
"""

from __future__ import annotations

import io
import json
from collections.abc import Mapping
from datetime import datetime

import msgspec
import segno

from heelstamp.casework.papers.form import FormPaper
from heelstamp.errors import InputError
from heelstamp.report.pictures import print_pictures
from heelstamp.report.typesetting import MAIN
from heelstamp.report.typst_report import DOCUMENT, HERE, typeset


def render_form(
    paper: FormPaper,
    *,
    timestamp: datetime,
    program: str,
    photographs: Mapping[str, tuple[bytes, str]],
    footer: str = "",
    banner: str = "",
    signed: str = "",
    single: bool = False,
) -> bytes:
    """Typeset a paper; equal content and timestamp give equal bytes.

    Parameters
    ----------
    timestamp
        Written into the file as its time of making; needs a time zone.
    photographs
        Picture file and caption by frame; those that the paper names.
    footer
        Version and day.
    banner
        On every page of a demonstration.
    signed
        With which key it is signed; empty for a preview. Labels have no room for it.
    single
        Labels one to a page, for a printer of labels.

    Raises
    ------
    InputError
        The timestamp has no zone, or a photograph is missing or no picture.
    StorageError
        The typesetter could not run.
    """
    if timestamp.tzinfo is None:
        raise InputError(
            "the time of a paper has no zone", received=timestamp, remedy="Give it in UTC."
        )
    plain = msgspec.to_builtins(paper)
    files: dict[str, bytes] = {}
    frames = list(dict.fromkeys(frame for one in paper.sections for frame in one.frames))
    wanted = []
    for frame in frames:
        if frame not in photographs:
            raise InputError(
                "a photograph of the paper is missing",
                where=f"frame {frame}",
                remedy="Give its file, or leave it out.",
            )
        wanted.append((f"frame {frame}", photographs[frame][0]))
    pictures = {}
    for index, (frame, made) in enumerate(zip(frames, print_pictures(wanted), strict=True)):
        files[f"pictures/{index}.jpg"] = made
        caption = photographs[frame][1]
        pictures[frame] = {
            "path": f"pictures/{index}.jpg",
            "frame": frame,
            "caption": caption,
            "alt": f"Photograph {frame}: {caption}.",
        }
    for section in plain["sections"]:
        section["pictures"] = [pictures[frame] for frame in section["frames"]]
    labels = []
    for index, label in enumerate(paper.labels):
        files[f"codes/{index}.svg"] = _code(label.code)
        lines = [line for line in label.lines if line]
        labels.append({"path": f"codes/{index}.svg", "code": label.code, "lines": lines})
    document = {
        "form": plain,
        "labels": labels,
        "single": single,
        "heading": paper.tag or paper.title,
        "title": f"{paper.title}, {paper.tag}",
        "description": f"{paper.title} of {paper.subtitle}",
        "program": program,
        "running": f"{paper.tag} · {paper.title}",
        "footer": footer,
        "banner": banner,
        "signed": signed,
    }
    template = "labels.typ" if paper.labels else "form.typ"
    files[MAIN] = (HERE / "templates" / template).read_bytes()
    files[DOCUMENT] = json.dumps(document, ensure_ascii=False, sort_keys=True).encode()
    return typeset(files, timestamp)


def _code(text: str) -> bytes:
    out = io.BytesIO()
    segno.make(text, micro=False, error="m").save(out, kind="svg", scale=4, border=2, xmldecl=False)
    return out.getvalue()
