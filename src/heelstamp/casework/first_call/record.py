"""What is kept of a first call: what was told, what was sent, and the link it came by.

A call is no dossier and proves nothing of when; it is a list of what an owner sent, each picture
under the SHA-256 of its bytes as they came. Of a link and of the device that opened it only
digests are kept. A link serves one device; what that device may do ends on a day, or when the shop
says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Annotated, Literal

import msgspec

from heelstamp.casework.first_call.asked import DONT_KNOW, FEATURE, Asked, FrameAsked, Question
from heelstamp.casework.first_call.usable import Usable, judge_picture
from heelstamp.casework.photo_care import PhotoMeasures
from heelstamp.catalogue.bodies.base import FileDigest, Id, Instant
from heelstamp.catalogue.entries import parse_time
from heelstamp.chronology import Chronology
from heelstamp.chronology.records import FeatureRow
from heelstamp.errors import ConflictError, InputError

LONGEST_ANSWER = 400
Way = Literal["link", "mail", "folder"]


class Sent(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, omit_defaults=True
):
    """A picture as it came.

    Attributes
    ----------
    id
        As its photograph is called in a dossier later.
    slot
        Frame that the sender says it shows; empty where nothing was said.
    file
        SHA-256 of its bytes.
    taken
        As the camera wrote it.
    at, way
        When and how it reached the shop.
    """

    id: Id
    slot: str
    file: FileDigest
    name: Annotated[str, msgspec.Meta(min_length=1, max_length=100)]
    media_type: str
    measures: PhotoMeasures
    at: Instant
    way: Way
    taken: str | None = None


class Let(msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True):
    """A link, or the device that opened one: SHA-256 of its secret, and until when it stands."""

    digest: FileDigest
    until: Instant


class FirstCall(
    msgspec.Struct, frozen=True, forbid_unknown_fields=True, kw_only=True, omit_defaults=True
):
    """One call.

    Attributes
    ----------
    id
        ``call-0001``.
    made, by
        When the shop noted it, and whose hand.
    about
        The shop's own words to tell it from others; no outsider sees them.
    chronology
        Id of the chronology that is asked; empty where the maker is not known.
    answers
        What the owner told, by key of the question.
    link, device
        The link that stands, and the device that opened one.
    finished
        When the owner said that all is sent.
    dossier
        Tag of the dossier that it became.
    """

    schema: Literal["heelstamp/first-call-record/1"] = "heelstamp/first-call-record/1"
    id: Id
    made: Instant
    by: str
    about: str = ""
    chronology: str = ""
    answers: dict[str, str] = {}
    sent: list[Sent] = []
    link: Let | None = None
    device: Let | None = None
    finished: Instant | None = None
    dossier: str = ""


@dataclass(frozen=True, slots=True)
class Shown:
    """A picture and what is judged of it."""

    sent: Sent
    usable: Usable


@dataclass(frozen=True, slots=True)
class FrameSent:
    """A frame that is asked for, and what was sent for it, the newest first.

    Attributes
    ----------
    best
        The newest that can be used, else the newest; None where nothing was sent.
    """

    asked: FrameAsked
    pictures: tuple[Shown, ...]

    @property
    def best(self) -> Shown | None:
        """The picture that counts."""
        usable = [one for one in self.pictures if one.usable.usable]
        return next(iter((*usable, *self.pictures)), None)

    @property
    def done(self) -> bool:
        """Whether there is one that can be used."""
        return self.best is not None and self.best.usable.usable


def frames_of(call: FirstCall, asked: Asked) -> tuple[FrameSent, ...]:
    """Every frame that is asked for, with what was sent for it."""
    return tuple(
        FrameSent(
            frame,
            tuple(
                Shown(one, judge_picture(one.measures, frame))
                for one in reversed(call.sent)
                if one.slot == frame.slot
            ),
        )
        for frame in asked.frames
    )


def unnamed(call: FirstCall, asked: Asked) -> tuple[Sent, ...]:
    """Pictures of which nobody said which frame they are."""
    known = {one.slot for one in asked.frames}
    return tuple(one for one in call.sent if one.slot not in known)


def sent_twice(call: FirstCall) -> tuple[str, ...]:
    """Names of pictures that came for two frames with the same bytes."""
    by_file: dict[str, set[str]] = {}
    for one in call.sent:
        by_file.setdefault(one.file, set()).add(one.slot)
    return tuple(dict.fromkeys(one.name for one in call.sent if len(by_file[one.file]) > 1))


def features_asked(chronology: Chronology) -> tuple[FeatureRow, ...]:
    """Features of a maker that an owner can see without touching anything.

    Those that a number, a mark or a code shows are left out: they follow from it.
    """
    return tuple(
        row
        for row in chronology.features
        if row.seen_from == "outside"
        and row.from_mark is None
        and row.from_serial is None
        and not row.from_source_code
    )


def questions_of(
    asked: Asked, chronology: Chronology | None, words: Mapping[str, str]
) -> tuple[Question, ...]:
    """The questions of a call: those of all, and one a feature where the maker is known.

    Parameters
    ----------
    words
        Words of the chronology's own, by name of a feature or variant.
    """
    rows = () if chronology is None else features_asked(chronology)
    own = tuple(
        Question(
            key=FEATURE + row.id,
            label=words.get(row.name, row.name).capitalize(),
            choices=[*row.variants, DONT_KNOW],
        )
        for row in rows
    )
    return (*asked.questions, *own)


def with_answers(
    call: FirstCall, told: Mapping[str, str], questions: Sequence[Question]
) -> FirstCall:
    """A call with what was told; an answer left empty is withdrawn, others stay.

    Raises
    ------
    InputError
        No such question, an answer that is none of its choices, too long, or no plain text.
    """
    known = {one.key: one for one in questions}
    answers = dict(call.answers)
    for key, text in told.items():
        question = known.get(key)
        if question is None:
            raise InputError("no such question", received=key, remedy=f"One of {', '.join(known)}.")
        plain = " ".join(text.split())
        if len(plain) > LONGEST_ANSWER or not plain.isprintable():
            raise InputError(
                f"an answer is plain text of at most {LONGEST_ANSWER} characters",
                where=question.label,
                received=ascii(plain[:60]),
                remedy="Make it shorter.",
            )
        if plain and question.choices and plain not in question.choices:
            raise InputError(
                "none of the answers to choose from",
                where=question.label,
                received=plain,
                remedy=f"One of {', '.join(question.choices)}.",
            )
        answers.pop(key, None)
        if plain and plain != DONT_KNOW:
            answers[key] = plain
    return msgspec.structs.replace(call, answers=answers)


def with_picture(call: FirstCall, picture: Sent, asked: Asked) -> FirstCall:
    """A call with one picture more; the same bytes for the same frame are kept once.

    Raises
    ------
    ConflictError
        It holds as many as a call takes.
    """
    if any((one.file, one.slot) == (picture.file, picture.slot) for one in call.sent):
        return call
    refuse_full(call, asked)
    return msgspec.structs.replace(call, sent=[*call.sent, picture])


def refuse_full(call: FirstCall, asked: Asked) -> None:
    """Refuse a picture more where a call holds as many as it takes."""
    if len(call.sent) >= asked.most_pictures:
        raise ConflictError(
            f"no more than {asked.most_pictures} pictures are taken with one call",
            where=call.id,
            remedy="What was sent stays; ask the shop.",
        )


def renamed(call: FirstCall, picture: str, slot: str, asked: Asked) -> FirstCall:
    """A call in which a picture is said to show another frame.

    Raises
    ------
    InputError
        There is no such picture, or no such frame.
    """
    asked.frame(slot)
    if picture not in {one.id for one in call.sent}:
        raise InputError("no such picture", where=call.id, received=picture)
    moved = [
        msgspec.structs.replace(one, slot=slot) if one.id == picture else one for one in call.sent
    ]
    return msgspec.structs.replace(call, sent=moved)


def next_picture(call: FirstCall) -> str:
    """Id of the next picture of a call."""
    return f"{call.id}-{len(call.sent) + 1:02d}"


def stands(let: Let | None, at: str) -> bool:
    """Whether a link or a device still stands at a time in UTC."""
    return let is not None and parse_time(at) < parse_time(let.until)


def opened(call: FirstCall, device: str, at: str) -> FirstCall:
    """A call whose link was opened: it is spent, and the device with this digest may send.

    Raises
    ------
    ConflictError
        No link stands: too old, opened before, or ended.
    """
    if not stands(call.link, at) or call.dossier:
        raise link_spent()
    assert call.link is not None
    let = Let(digest=device, until=call.link.until)
    return msgspec.structs.replace(call, link=None, device=let)


def link_spent() -> ConflictError:
    """What is said of a link that opens nothing."""
    return ConflictError(
        "this link is not good any more",
        remedy="It serves one device, and until its day. Ask the shop for a new one.",
    )


def until_after(at: str, days: int, asked: Asked) -> datetime:
    """The end of a link made at a time in UTC.

    Raises
    ------
    InputError
        Not a number of days that a link may stand.
    """
    if not 1 <= days <= asked.most_days:
        raise InputError(
            f"a link stands for 1 to {asked.most_days} days", where="days", received=days
        )
    return parse_time(at) + timedelta(days=days)
