"""A PDF made ready to be signed as a whole, and the signature put in its place.

The field of the signature is invisible, named for who cannot see it and part of the structure, so
that PDF/A-3 and PDF/UA-1 hold: flags Print and Locked, no appearance for a place without size
(ISO 19005-3, 6.3.3), an alternate name (``TU``) and a ``Form`` element that refers to it (ISO
14289-1, 7.18.4). All is written in one piece: no revision follows the first. Byte range and place
of the signature as in ISO 32000-1, 12.8.1; the subfilter and the time, of which the day alone is
told, as in ETSI EN 319 142-1, 5.3.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable

ROOM, ROOM_STAMPED = 2048, 16384
"""Bytes kept for a signature, and for one with a time stamp."""
FIELD, SAID = "Signature", "Signature of the shop over the whole file"
_PLACE = 9_999_999_999
_RANGE = re.compile(rb"/ByteRange \[ 0 9999999999 9999999999 9999999999 \]")


def signed_pdf(pdf: bytes, make: Callable[[bytes], bytes], *, day: str, room: int = ROOM) -> bytes:
    """Sign a PDF of this program; equal bytes and an equal signature give equal bytes.

    Parameters
    ----------
    make
        Gives the signature (CMS, DER) of the bytes that it is given.
    day
        On which it is signed, as ``2026-11-02``; told in the file.
    room
        Bytes kept for the signature.

    Raises
    ------
    ValueError
        The signature needs more room; nothing else than a time stamp can.
    """
    ready = _ready(pdf, day, room)
    found = _RANGE.search(ready)
    holder = b"<" + b"0" * (2 * room) + b">"
    before = ready.find(holder)
    if found is None or before < 0:
        raise ValueError("the place for the signature is not in the file")
    after = before + len(holder)
    told = f"/ByteRange [ 0 {before} {after} {len(ready) - after} ]".encode()
    length = found.end() - found.start()
    ready = ready[: found.start()] + told.ljust(length) + ready[found.end() :]
    container = make(ready[:before] + ready[after:])
    if len(container) > room:
        raise ValueError(f"a signature of {len(container)} bytes in a place of {room}")
    return ready[: before + 1] + container.hex().encode().ljust(2 * room, b"0") + ready[after - 1 :]


def _ready(pdf: bytes, day: str, room: int) -> bytes:
    import pikepdf  # noqa: PLC0415 - wanted only when a paper is issued
    from pikepdf import Array, Dictionary, Name, String  # noqa: PLC0415

    with pikepdf.open(io.BytesIO(pdf)) as opened:
        root, page = opened.Root, opened.pages[0]
        signature = opened.make_indirect(
            Dictionary(
                Type=Name.Sig,
                Filter=Name("/Adobe.PPKLite"),
                SubFilter=Name("/ETSI.CAdES.detached"),
                ByteRange=Array([0, _PLACE, _PLACE, _PLACE]),
                Contents=String(b"\x00" * room),
                M=String(f"D:{day.replace('-', '')}"),
            )
        )
        tree = root.StructTreeRoot
        key = int(tree.get("/ParentTreeNextKey", 0))
        field = opened.make_indirect(
            Dictionary(
                Type=Name.Annot,
                Subtype=Name.Widget,
                FT=Name.Sig,
                T=String(FIELD),
                TU=String(SAID),
                V=signature,
                Rect=Array([0, 0, 0, 0]),
                F=132,
                P=page.obj,
                StructParent=key,
            )
        )
        within = tree.K[0] if isinstance(tree.K, Array) else tree.K
        refers = Dictionary(Type=Name.OBJR, Obj=field, Pg=page.obj)
        element = opened.make_indirect(
            Dictionary(
                Type=Name.StructElem, S=Name.Form, P=within, Pg=page.obj, K=Array([refers]),
                Alt=String(SAID),
            )
        )  # fmt: skip
        kids = within.get("/K", Array())
        within.K = Array([*(kids if isinstance(kids, Array) else [kids]), element])
        pikepdf.NumberTree(tree.ParentTree)[key] = element
        tree.ParentTreeNextKey = key + 1
        page.obj.Annots = Array([*page.obj.get("/Annots", Array()), field])
        page.obj.Tabs = Name.S
        root.AcroForm = Dictionary(Fields=Array([field]), SigFlags=3)
        written = io.BytesIO()
        opened.save(written, deterministic_id=True)
    return written.getvalue()
