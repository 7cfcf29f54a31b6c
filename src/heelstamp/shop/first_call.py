"""First calls of a shop: noted, sent to by a link, answered, weighed, and turned into a dossier.

A call lies in ``first-calls/ID/`` of the shop's folder: ``call.json`` and the pictures by the
SHA-256 of their bytes. It is in every backup and in no export. The record is replaced whole. What
has come to nothing is let go by a person, pictures and all.
"""

from __future__ import annotations

import hashlib
import re
import secrets
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import uuid4

import msgspec

from heelstamp.errors import (
    RESTORE,
    ConflictError,
    HeelstampError,
    InputError,
    IntegrityError,
    LimitError,
    NotFoundError,
)
from heelstamp.shop.files import folder_refusals, make_folder, write_whole
from heelstamp.shop.first_call_weighing import call_questions

if TYPE_CHECKING:
    from heelstamp.casework.first_call.asked import Asked
    from heelstamp.casework.first_call.record import FirstCall, Sent, Way
    from heelstamp.media.files import ContentFiles
    from heelstamp.shop.opened import OpenShop

FOLDER, RECORD, PICTURES = "first-calls", "call.json", "pictures"
_ID = re.compile(r"call-([0-9]{4,6})")
MOST_PICTURE = 30_000_000
"""Bytes of one picture from outside; telephones write 3 to 15 MB."""
MOST_OPEN = 500
"""Calls that a shop keeps at once."""
TOKEN_BYTES = 32


def asked_of() -> Asked:
    """What is asked of an owner."""
    from heelstamp.reference.first_call import load_first_call

    return load_first_call()


def calls(shop: OpenShop) -> tuple[FirstCall, ...]:
    """Every call, the newest first."""
    folder = shop.folder / FOLDER
    names = sorted((one.name for one in folder.iterdir()), reverse=True) if folder.is_dir() else []
    return tuple(call_at(shop, name) for name in names if _ID.fullmatch(name))


def call_at(shop: OpenShop, id_: str) -> FirstCall:
    """A call by its id.

    Raises
    ------
    NotFoundError
        There is none.
    IntegrityError
        Its record is damaged.
    """
    from heelstamp.casework.first_call.record import FirstCall

    path = shop.folder / FOLDER / id_ / RECORD
    if not _ID.fullmatch(id_) or not path.is_file():
        raise NotFoundError("no such call", received=id_, remedy="See the list of first calls.")
    try:
        return msgspec.json.decode(path.read_bytes(), type=FirstCall)
    except (msgspec.MsgspecError, OSError) as error:
        raise IntegrityError(
            "the record of a call is damaged", where=id_, received=str(error), remedy=RESTORE
        ) from None


def begin_call(shop: OpenShop, *, about: str, chronology: str, by: str, at: str) -> FirstCall:
    """Note a call.

    Parameters
    ----------
    about
        The shop's own words to tell it from others.
    chronology
        Id of the chronology to ask; empty where the maker is not known.

    Raises
    ------
    InputError
        The words are no plain text.
    NotFoundError
        There is no such chronology.
    ConflictError
        The shop keeps too many.
    """
    from heelstamp.casework.first_call.record import FirstCall

    plain = " ".join(about.split())
    if not plain.isprintable() or len(plain) > 200:
        raise InputError("not plain text of at most 200 characters", where="about")
    if chronology:
        shop.chronology(chronology)
    with shop.writing:
        known = [int(one.id[5:]) for one in calls(shop)]
        if len(known) >= MOST_OPEN:
            raise ConflictError(
                f"this shop keeps {MOST_OPEN} calls", remedy="Let go of those that are over."
            )
        call = FirstCall(
            id=f"call-{max(known, default=0) + 1:04d}",
            made=at,
            by=str(by),
            about=plain,
            chronology=chronology,
        )
        make_folder(shop.folder / FOLDER / call.id)
        _write(shop, call)
    return call


def ask_chronology(shop: OpenShop, id_: str, chronology: str) -> FirstCall:
    """Choose which chronology a call asks; empty asks none."""
    if chronology:
        shop.chronology(chronology)
    with shop.writing:
        call = msgspec.structs.replace(call_open(shop, id_), chronology=chronology)
        _write(shop, call)
    return call


def make_link(shop: OpenShop, id_: str, days: int, at: str) -> str:
    """Make a link's secret; an earlier link and the device that it let in end.

    Raises
    ------
    ConflictError
        The call has become a dossier.
    InputError
        Not a number of days that a link may stand.
    """
    from heelstamp.casework.first_call.record import Let, until_after

    token = secrets.token_urlsafe(TOKEN_BYTES)
    until = until_after(at, days, asked_of()).strftime("%Y-%m-%dT%H:%M:%SZ")
    with shop.writing:
        call = msgspec.structs.replace(
            call_open(shop, id_), link=Let(digest=digest_of_token(token), until=until), device=None
        )
        _write(shop, call)
    return token


def end_link(shop: OpenShop, id_: str) -> None:
    """End the link of a call, and what its device may do."""
    with shop.writing:
        _write(shop, msgspec.structs.replace(call_at(shop, id_), link=None, device=None))


def is_good(shop: OpenShop, token: str, at: str) -> bool:
    """Whether a link can still be opened; a look does not use it up."""
    from heelstamp.casework.first_call.record import stands

    call = _by(shop, "link", token)
    return call is not None and stands(call.link, at) and not call.dossier


def open_link(shop: OpenShop, token: str, at: str) -> tuple[FirstCall, str]:
    """Open a link, once; the second is the secret of the device.

    Raises
    ------
    ConflictError
        It is not good any more.
    """
    from heelstamp.casework.first_call.record import link_spent, opened

    device = secrets.token_urlsafe(TOKEN_BYTES)
    with shop.writing:
        call = _by(shop, "link", token)
        if call is None:
            raise link_spent()
        call = opened(call, digest_of_token(device), at)
        _write(shop, call)
    return call, device


def call_of_device(shop: OpenShop, device: str, at: str) -> FirstCall:
    """The call that a device may send to.

    Raises
    ------
    ConflictError
        None, or not any more.
    """
    from heelstamp.casework.first_call.record import link_spent, stands

    call = _by(shop, "device", device)
    if call is None or not stands(call.device, at) or call.dossier:
        raise link_spent()
    return call


def take_picture(
    shop: OpenShop, id_: str, data: bytes, *, name: str, slot: str, way: Way, at: str
) -> Sent:
    """Keep a picture of a call, measured; the same bytes for the same frame are kept once.

    Parameters
    ----------
    slot
        The frame it is said to show; empty where nothing is said.

    Raises
    ------
    InputError
        Not a photograph, or no such frame; nothing is kept then.
    LimitError
        Too large.
    ConflictError
        The call holds as many as it takes, or has become a dossier.
    """
    from heelstamp.casework.first_call.record import next_picture, refuse_full, with_picture

    asked = asked_of()
    if slot:
        asked.frame(slot)
    refuse_full(call_open(shop, id_), asked)  # before anything is decoded
    picture = measured(data, f"{id_}-00", name=name, slot=slot, way=way, at=at)
    with shop.writing:
        call = call_open(shop, id_)
        picture = msgspec.structs.replace(picture, id=next_picture(call))
        grown = with_picture(call, picture, asked)
        if grown is call:
            return next(one for one in call.sent if (one.file, one.slot) == (picture.file, slot))
        _pictures(shop, id_).put(data)
        _write(shop, grown)
    return picture


def measured(data: bytes, id_: str, *, name: str, slot: str, way: Way, at: str) -> Sent:
    """Read and measure a picture from outside, by the decoders that stand apart.

    Raises
    ------
    InputError
        Not a photograph.
    LimitError
        Too large.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.first_call.record import Sent
    from heelstamp.media.decoding import measure_photograph, read_photograph

    plain = "".join(one for one in Path(name.replace("\\", "/")).name if one.isprintable())
    plain = plain.strip()[-100:] or "picture"
    if len(data) > MOST_PICTURE:
        raise LimitError(
            "the picture is too large to send",
            where=plain,
            received=f"{len(data) / 1e6:.0f} MB",
            remedy=f"At most {MOST_PICTURE // 1_000_000} MB: as the telephone took it is enough.",
        )
    facts = read_photograph(data, plain)
    return Sent(
        id=id_,
        slot=slot,
        file=sha256(data),
        name=plain,
        media_type=facts.media_type,
        measures=measure_photograph(data, plain),
        taken=facts.taken,
        at=at,
        way=way,
    )


def take_answers(shop: OpenShop, id_: str, told: Mapping[str, str]) -> FirstCall:
    """Keep what an owner tells.

    Raises
    ------
    InputError
        No such question, or none of its answers; nothing is kept then.
    """
    from heelstamp.casework.first_call.record import with_answers

    with shop.writing:
        call = call_open(shop, id_)
        call = with_answers(call, told, call_questions(shop, call))
        _write(shop, call)
    return call


def name_picture(shop: OpenShop, id_: str, picture: str, slot: str) -> None:
    """Say which frame a picture shows."""
    from heelstamp.casework.first_call.record import renamed

    with shop.writing:
        _write(shop, renamed(call_open(shop, id_), picture, slot, asked_of()))


def finish_call(shop: OpenShop, id_: str, at: str) -> None:
    """Note that the owner has sent all; what the device may do ends."""
    with shop.writing:
        call = msgspec.structs.replace(call_open(shop, id_), finished=at, link=None, device=None)
        _write(shop, call)


def picture_copy(shop: OpenShop, id_: str, picture: str, wide: int) -> bytes:
    """A JPEG of a picture, of at most *wide* pixels, with nothing in it but the picture.

    Raises
    ------
    NotFoundError
        There is no such picture.
    """
    sent = next((one for one in call_at(shop, id_).sent if one.id == picture), None)
    if sent is None:
        raise NotFoundError("no such picture", where=id_, received=picture)

    def make() -> bytes:
        data = _pictures(shop, id_).get(sent.file)
        return shop.photographs.outgoing(data, sent.name, wide)

    return shop.copies.get((sent.file, wide), make)


def let_go(shop: OpenShop, id_: str) -> None:
    """Take a call away for good, with all that was sent.

    Raises
    ------
    NotFoundError
        There is none.
    """
    with shop.writing:
        call_at(shop, id_)
        folder = shop.folder / FOLDER
        gone = folder / f".{uuid4().hex}.gone"
        with folder_refusals(folder, "first calls"):
            (folder / id_).rename(gone)
            shutil.rmtree(gone)


def arrive(
    shop: OpenShop, id_: str, *, tag: str, by: str, at: str, chronology: str = ""
) -> FirstCall:
    """Open the dossier of an instrument that has come in: pictures, and words as claims.

    All or nothing: files are kept before the entries that name them.

    Raises
    ------
    InputError
        No chronology is asked, or the tag cannot be one.
    ConflictError
        There is a dossier of this tag, or the call has become one.
    IntegrityError
        A picture is no longer as it came.
    """
    from heelstamp.casework.dossier import open_with
    from heelstamp.casework.first_call.arriving import arrived_entries
    from heelstamp.casework.opening import instrument_body
    from heelstamp.shop.files import keep_file
    from heelstamp.shop.new_dossier import known_chronologies

    with shop.writing:
        call = call_open(shop, id_)
        chosen = chronology or call.chronology
        instrument = instrument_body(known_chronologies(shop)[0], chronology=chosen, tag=tag)
        questions = call_questions(shop, call)
        entries = arrived_entries(call, instrument, asked_of(), questions)
        if shop.journals.head(str(instrument["tag"])) is not None:
            raise ConflictError(
                "this dossier exists", where=str(instrument["tag"]), remedy="Give another tag."
            )
        for one in call.sent:
            keep_file(shop, _pictures(shop, id_).get(one.file), one.media_type)
        open_with(shop, entries, at=at, by=by)
        call = msgspec.structs.replace(
            call, dossier=str(instrument["tag"]), chronology=chosen, link=None, device=None
        )
        _write(shop, call)
    return call


def digest_of_token(token: str) -> str:
    """SHA-256 of a secret: what is kept of it."""
    return hashlib.sha256(token.encode("utf-8", "replace")).hexdigest()


def _by(shop: OpenShop, field: str, token: str) -> FirstCall | None:
    if not token:
        return None
    wanted = digest_of_token(token)
    for name in _names(shop):
        try:
            call = call_at(shop, name)
        except HeelstampError:  # a damaged record lets nobody in
            continue
        let = getattr(call, field)
        if let is not None and secrets.compare_digest(let.digest, wanted):
            return call
    return None


def _names(shop: OpenShop) -> list[str]:
    folder = shop.folder / FOLDER
    return [one.name for one in folder.iterdir()] if folder.is_dir() else []


def call_open(shop: OpenShop, id_: str) -> FirstCall:
    """A call that has not become a dossier.

    Raises
    ------
    ConflictError
        It has.
    """
    call = call_at(shop, id_)
    if call.dossier:
        raise ConflictError(
            "this call has become a dossier already", where=id_, received=call.dossier
        )
    return call


def _pictures(shop: OpenShop, id_: str) -> ContentFiles:
    from heelstamp.media.files import ContentFiles

    return ContentFiles(shop.folder / FOLDER / id_ / PICTURES)


def _write(shop: OpenShop, call: FirstCall) -> None:
    data = msgspec.json.format(msgspec.json.encode(call), indent=1)
    write_whole(shop.folder / FOLDER / call.id / RECORD, data)
