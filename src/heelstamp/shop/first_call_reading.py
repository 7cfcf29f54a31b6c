"""What an owner sent by mail or in a folder, read into a call: kept in the shop, or only looked at.

A mail is an ``.eml`` file. Of a folder the pictures count, by their names, and the text files as
the reply. Which frame a picture shows is said by a line of the reply or by the picture's own name.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop.files import read_file
from heelstamp.shop.first_call import asked_of, call_open, measured, take_answers, take_picture
from heelstamp.shop.first_call_weighing import call_questions

if TYPE_CHECKING:
    from heelstamp.casework.first_call.record import FirstCall, Way
    from heelstamp.shop.opened import OpenShop

MOST_FILES = 200
MOST_REPLY = 200_000


@dataclass(frozen=True)
class Brought:
    """A mail or a folder, read.

    Attributes
    ----------
    text
        The reply in words.
    pictures
        Name and bytes of each picture.
    """

    way: Way
    text: str
    pictures: tuple[tuple[str, bytes], ...]


def read_source(path: Path) -> Brought:
    """Read a mail or a folder.

    Raises
    ------
    InputError
        Neither, or it cannot be read; a folder without a picture or a reply.
    LimitError
        More than one mail or folder is given.
    """
    from heelstamp.media.decoding import read_mail
    from heelstamp.media.mail import PICTURE_ENDINGS

    if path.suffix.lower() == ".eml":
        mail = read_mail(read_file(path), path.name)
        return Brought("mail", mail.text, tuple((one.name, one.data) for one in mail.pictures))
    if not path.is_dir():
        raise InputError(
            "neither a folder of pictures nor a mail",
            where=str(path),
            received="no such folder" if not path.exists() else "another kind of file",
            remedy="Name a folder, an .eml file, or a call as call-0001.",
        )
    files = sorted(one for one in path.iterdir() if one.is_file() and one.name[0] != ".")
    if len(files) > MOST_FILES:
        raise InputError(
            "too many files in the folder",
            where=str(path),
            received=len(files),
            remedy=f"At most {MOST_FILES}; put those of this instrument in a folder of their own.",
        )
    pictures = tuple(
        (one.name, read_file(one)) for one in files if one.suffix.lower() in PICTURE_ENDINGS
    )
    texts = [
        read_file(one)[:MOST_REPLY].decode("utf-8", "replace")
        for one in files
        if one.suffix.lower() == ".txt"
    ]
    if not pictures and not texts:
        raise InputError(
            "no picture and no reply in the folder",
            where=str(path),
            remedy="Put JPEG, PNG, TIFF or HEIF files in it, and the reply as a .txt file.",
        )
    return Brought("folder", "\n".join(texts), pictures)


def looked_at(
    shop: OpenShop | None, call: FirstCall, brought: Brought, at: str
) -> tuple[FirstCall, tuple[str, ...]]:
    """A call with what was brought, kept nowhere; and what could not be read, in words."""
    from heelstamp.casework.first_call.record import next_picture, with_answers, with_picture

    slots, answers, faults = _said(shop, call, brought)
    for name, data in brought.pictures:
        try:
            sent = measured(
                data, next_picture(call), name=name, slot=slots[name], way=brought.way, at=at
            )
            call = with_picture(call, sent, asked_of())
        except HeelstampError as error:
            faults.append(f"{name}: {error}")
    questions = call_questions(shop, call)
    for key, text in answers.items():
        try:
            call = with_answers(call, {key: text}, questions)
        except InputError as error:
            faults.append(str(error))
    return call, tuple(faults)


def taken_in(shop: OpenShop, call: FirstCall, brought: Brought, at: str) -> tuple[str, ...]:
    """Keep what was brought with a call of the shop; what could not be read is told in words.

    Raises
    ------
    ConflictError
        The call has become a dossier.
    """
    call_open(shop, call.id)
    slots, answers, faults = _said(shop, call, brought)
    for name, data in brought.pictures:
        try:
            take_picture(shop, call.id, data, name=name, slot=slots[name], way=brought.way, at=at)
        except HeelstampError as error:
            faults.append(f"{name}: {error}")
    for key, text in answers.items():
        try:
            take_answers(shop, call.id, {key: text})
        except InputError as error:
            faults.append(str(error))
    return tuple(faults)


def _said(
    shop: OpenShop | None, call: FirstCall, brought: Brought
) -> tuple[dict[str, str], dict[str, str], list[str]]:
    from heelstamp.casework.first_call.reply import answers_in, frame_of_name, frames_in

    asked, names = asked_of(), [name for name, _ in brought.pictures]
    told = frames_in(brought.text, names, asked)
    slots = {name: told.get(name) or frame_of_name(name, asked) for name in names}
    return slots, answers_in(brought.text, call_questions(shop, call)), []
