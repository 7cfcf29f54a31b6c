"""A pair of frames of a dossier: compared beside the requests, its marks kept, its look entered.

A comparison is remembered until it is entered or the bench stops; nothing is entered that a person
did not enter. What is entered reaches the dating and the papers on one way, whether it was
compared on the bench or by ``heelstamp glow``.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any
from urllib.parse import quote, urlencode

from heelstamp import __version__
from heelstamp.archive import digest_of, sha256
from heelstamp.casework.finish import Frames, PairRequest, glow_entry
from heelstamp.casework.finish.borders import border_file, border_files, said_of
from heelstamp.casework.finish.finding_file import MEDIA_TYPE as KEPT_TYPE
from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.papers.part_section import touched_chance
from heelstamp.casework.ports import NamedFile
from heelstamp.casework.uv_lamp.marks import (
    MEDIA_TYPE,
    Marks,
    file_of,
    kept_marks,
    marks_entries,
    standing_marks,
    thinned,
)
from heelstamp.casework.uv_lamp.pairs import Pairing, chosen_pair, look_at, proposed_pairs
from heelstamp.casework.uv_lamp.regions import (
    Answer,
    answer_of,
    border_entries,
    border_of,
    entered_look,
    region_entries,
)
from heelstamp.errors import ConflictError
from heelstamp.shop.files import keep_file
from heelstamp.shop.finish import compare_frames, finding_file
from heelstamp.shop.jobs import Job, Progress
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import photo_plan
from heelstamp.shop.uv_faces import kept_finding

if TYPE_CHECKING:
    from heelstamp.casework.finish import Face, FinishFinding
    from heelstamp.casework.lamp import LampLog
    from heelstamp.catalogue import Entry, Photograph
    from heelstamp.luminescence import Stage


@dataclass(frozen=True, slots=True, eq=False)
class Compared:
    """What a comparison came to, the file that is kept of it, and what had been drawn for it."""

    finding: FinishFinding
    kept: bytes
    marks: Marks | None = None

    @classmethod
    def of(cls, face: Face, marks: Marks | None = None) -> Compared:
        """Make the file that is kept of a comparison."""
        return cls(face.finding, finding_file(face), marks)


@dataclass(frozen=True, slots=True, eq=False)
class Shown:
    """The answer that a pair shows, and whether it is entered."""

    answer: Answer
    data: Mapping[str, Any]
    entered: bool


def lamp_doses(shop: OpenShop, tag: str) -> LampLog:
    """Return the UV-A dose of each day of a dossier.

    Raises
    ------
    InputError
        No such dossier, or no irradiance was entered.
    """
    from heelstamp.casework.lamp import lamp_log

    return lamp_log(shop.subject(tag).state)


def pairs_at(shop: OpenShop, tag: str) -> tuple[Pairing, ...]:
    """Return the pairs that the frames propose."""
    return proposed_pairs(shop.subject(tag).state, photo_plan())


def pair_at(shop: OpenShop, tag: str, visible: str, uv: str) -> Pairing:
    """Return a pair by its frames; raises as `chosen_pair` does."""
    return chosen_pair(shop.subject(tag).state, photo_plan(), visible, uv)


def key_of(pair: Pairing) -> tuple[str, str]:
    """Name a pair by the ids of its frames."""
    assert pair.visible is not None
    assert pair.uv is not None
    return pair.visible.id, pair.uv.id


def marks_at(shop: OpenShop, tag: str, pair: Pairing) -> Marks | None:
    """Return the marks that were kept for a pair; None when none were."""
    digest = standing_marks(shop.subject(tag).state, pair)
    return None if digest is None else kept_marks(shop.files.get(digest), f"file {digest}")


def keep_marks(
    shop: OpenShop, tag: str, pair: Pairing, marks: Marks, stamp: EntryStamp, *, by: str
) -> None:
    """Keep what was drawn, and enter the digest of its file."""
    data = file_of(marks, pair)
    entries = marks_entries(shop.subject(tag).state, stamp, pair, marks, sha256(data))
    if entries:
        keep_file(shop, data, MEDIA_TYPE)
        shop.enter(tag, entries, by=by)


def proposed_masks(shop: OpenShop, photograph: Photograph) -> dict[str, Any]:
    """Propose outline and parts; empty where the program finds no body.

    Kept in the shop beside the digest of the photograph, for it costs a second.
    """
    from heelstamp.luminescence import propose
    from heelstamp.media.decoding import upright_rgb

    key = sha256(f"lamp outline {__version__} {photograph.file}".encode())
    kept = shop.journals.findings([key]).get(key)
    if kept is not None:
        found: dict[str, Any] = json.loads(kept)
        return found
    masks = propose(upright_rgb(shop.files.get(photograph.file), photograph.name))
    told: dict[str, Any] = {}
    if masks is not None:
        plain = {
            "outline": masks.outline.tolist(),
            "parts": [{"name": name, "polygon": one.tolist()} for name, one in masks.parts],
        }
        told = thinned(plain, (photograph.width, photograph.height))
    shop.journals.keep_findings("lamp outline", {key: json.dumps(told).encode()})
    return told


def compare(shop: OpenShop, tag: str, pair: Pairing, marks: Marks) -> Job:
    """Begin to compare a pair; the same question about the same pair is not begun twice.

    Raises
    ------
    InputError
        Marks that are impossible in themselves.
    ConflictError
        The pair is at work with other marks, or the bench is busy.
    IntegrityError
        A kept photograph is missing or has changed.
    """
    assert pair.visible is not None
    assert pair.uv is not None
    request = marks.request()
    named = [one for one in (pair.visible, pair.uv, pair.moved) if one is not None]
    for one in named:
        shop.files.get(one.file)  # refused now, not when its turn comes
    asks = {
        "visible": pair.visible.file,
        "uv": pair.uv.file,
        "moved": None if pair.moved is None else pair.moved.file,
        "request": request.data(),
        "program": __version__,
    }

    act = partial(_compare, shop, [(one.file, one.id) for one in named], request, marks)
    return shop.jobs.start(
        "pairs", "compare", tag, act, on=key_of(pair), base=digest_of(asks), alone=True
    )


def _compare(
    shop: OpenShop,
    named: Sequence[tuple[str, str]],
    request: PairRequest,
    marks: Marks,
    tell: Progress,
) -> Compared:
    import cv2

    first, second, *further = (NamedFile(shop.files.get(file), id_) for file, id_ in named)
    frames = Frames(first, second, tuple(further))

    cv2.setNumThreads(1)  # as many pairs at once as there are cores

    def told(stage: Stage) -> None:
        preview = None
        if stage.preview is not None:
            from heelstamp.report.finish_pictures import preview_jpg

            preview = preview_jpg(stage.preview)
        tell(0.9 * stage.share, 1.0, stage.name, preview)

    face = compare_frames(frames, request, tell=told)
    tell(0.92, 1.0, "drawing")
    return Compared.of(face, marks)


def compared_at(shop: OpenShop, tag: str, pair: Pairing) -> Job | None:
    """Return the last comparison of a pair; None when none was begun, or it was let go."""
    return shop.jobs.at("compare", tag, key_of(pair))


def job_told(job: Job) -> dict[str, Any]:
    """Tell where a comparison stands, as a page and the live channel tell it."""
    visible, uv = job.on
    words = {
        "waiting": "waits for another pair",
        "working": f"{job.stage}, {round(100 * job.share)} %",
        "done": "compared",
        "failed": str(job.error or "not done"),
    }[job.standing]
    asked = urlencode({"visible": visible, "uv": uv})
    return {
        "pair": f"{visible}+{uv}",
        "share": round(job.share, 3),
        "words": words,
        "open": not job.finished,
        "preview": job.preview is not None,
        "path": f"/dossier/{quote(job.about)}/uv-lamp?{asked}",
    }


def shown_at(shop: OpenShop, tag: str, pair: Pairing) -> Shown | None:
    """Return the answer of a pair: of the last comparison, else of the look that is entered."""
    entered = _entered(shop, tag, pair)
    job = compared_at(shop, tag, pair)
    if job is not None and job.standing == "done":
        data = job.result.finding.data()
        if entered is None or entered.data["digest"] != data["digest"]:
            return Shown(answer_of(data, "", {}), data, entered=False)
    return entered


def enter_look(
    shop: OpenShop,
    tag: str,
    compared: Compared,
    stamp: EntryStamp,
    *,
    by: str,
    pair: Pairing | None = None,
    again: str = "",
    at: str = "",
    seed: str | None = None,
) -> Entry:
    """Enter what a comparison says of the finish, and keep the finding with its pictures.

    Parameters
    ----------
    stamp
        Its id is that of the observation.
    pair
        The pair, to enter with the look the marks it was made with; None where they were handed in.
    again
        Reason why it takes the place of an entered one; see `glow_entry`.
    at
        UTC time of the entry; now when empty.
    seed
        Of the entry, in hexadecimal, where it is no secret; drawn without.

    Raises
    ------
    ConflictError
        The look is entered already.
    InputError
        The two frames are no pair.
    """
    subject = shop.subject(tag)
    kind, body = glow_entry(
        compared.finding,
        subject.state,
        subject.chronology,
        id_=stamp.id,
        file=sha256(compared.kept),
        again=again,
    )
    drawn: list[NewEntry] = []
    if pair is not None and compared.marks is not None:
        file = keep_file(shop, file_of(compared.marks, pair), MEDIA_TYPE)
        told = EntryStamp(stamp.second("marks"), stamp.made, stamp.at)
        drawn = marks_entries(subject.state, told, pair, compared.marks, file)
    keep_file(shop, compared.kept, KEPT_TYPE)
    return shop.enter(tag, [*drawn, NewEntry(kind, body)], by=by, at=at, seed=seed)[-1]


def enter_compared(
    shop: OpenShop,
    tag: str,
    pair: Pairing,
    stamp: EntryStamp,
    *,
    finding: str,
    by: str,
    again: str = "",
) -> None:
    """Enter the last comparison of a pair, unless this was entered before; see `enter_look`.

    Parameters
    ----------
    finding
        Digest of the finding that the person saw; another one is not entered in its place.

    Raises
    ------
    ConflictError
        Nothing was compared, another comparison was made since, or the look is entered already.
    """
    entered = shop.subject(tag).state.entered
    if stamp.id in entered or f"{stamp.id}-again" in entered:
        return
    job = compared_at(shop, tag, pair)
    if job is None or job.standing != "done":
        raise ConflictError(
            "nothing was compared that could be entered",
            where=tag,
            received=" and ".join(key_of(pair)),
            remedy="Compare the pair, then enter the look.",
        )
    compared: Compared = job.result
    if compared.finding.digest != finding:
        raise ConflictError(
            "another comparison was made since",
            where=tag,
            received=finding[:16],
            remedy="Look at the answer that stands now, then enter it.",
        )
    enter_look(shop, tag, compared, stamp, by=by, pair=pair, again=again)


def say_of_region(
    shop: OpenShop,
    tag: str,
    pair: Pairing,
    number: int,
    stamp: EntryStamp,
    *,
    aside: bool,
    reason: str,
    by: str,
) -> None:
    """Set a region of the entered look aside, or let it stand again."""
    shown = _entered(shop, tag, pair)
    look = entered_look(pair.look if shown else None)
    assert shown is not None
    state = shop.subject(tag).state
    entries = region_entries(state, stamp, look, shown.data, number, aside=aside, reason=reason)
    shop.enter(tag, entries, by=by)


def draw_border(
    shop: OpenShop,
    tag: str,
    pair: Pairing,
    number: int,
    stamp: EntryStamp,
    *,
    polygon: Sequence[Sequence[float]],
    reason: str,
    by: str,
) -> None:
    """Keep a border drawn by hand; an empty one lets the program's border stand again."""
    shown = _entered(shop, tag, pair)
    look = entered_look(pair.look if shown else None)
    assert shown is not None
    state, drawn = shop.subject(tag).state, None
    if polygon:
        border = border_of(shown.data, number, polygon)
        data = border_file(look.id, str(shown.data["digest"]), number, border)
        drawn = (sha256(data), border)
    entries = border_entries(state, stamp, look, shown.data, number, drawn=drawn, reason=reason)
    if polygon and entries:
        keep_file(shop, data, MEDIA_TYPE)
    shop.enter(tag, entries, by=by)


def _entered(shop: OpenShop, tag: str, pair: Pairing) -> Shown | None:
    assert pair.uv is not None
    state = shop.subject(tag).state
    look = look_at(state, pair.uv.id)
    if look is None or look.file is None:
        return None
    data = kept_finding(shop, tag, look.id, look.file)
    files = {
        number: shop.files.get(digest)
        for number, digest in border_files(state, look.id, data).items()
    }
    said, touched = said_of(state, look.id, data, files), touched_chance(shop.finding(tag).data())
    return Shown(answer_of(data, look.id, said, touched), data, entered=True)
