"""A pair taken from files or from a dossier, examined, drawn, and entered when asked.

The originals are only read. Pictures are written beside their final names and renamed, so that each
is whole or not there; nothing is written for a refused pair but the preview and proposed masks.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError, StorageError
from heelstamp.shop.folder import is_shop, open_shop
from heelstamp.shop.paper_issue import write_whole
from heelstamp.shop.subjects import chronology_for, read_file

if TYPE_CHECKING:
    from heelstamp.casework.finish import Face, FinishFinding, PairFile, PairRequest
    from heelstamp.casework.ports import Shop
    from heelstamp.catalogue import Entry
    from heelstamp.luminescence import Stage

MAP, PICTURE, PREVIEW = "map.png", "picture.jpg", "preview.jpg"
MASKS = "masks.json"
_FRAME = re.compile(r"([A-Za-z0-9][A-Za-z0-9_.-]{0,39}):([A-Za-z0-9][A-Za-z0-9_.:-]{0,63})")


@dataclass(frozen=True, slots=True)
class Source:
    """Both photographs, and where they came from: a dossier's ``tag``, or ``originals`` on disk."""

    visible: PairFile
    uv: PairFile
    tag: str | None = None
    originals: tuple[Path, ...] = ()


def load_pair(visible: str, uv: str, shop: Path) -> Source:
    """Read a pair: two files, or two frames of one dossier written ``TAG:FRAME``.

    Raises
    ------
    InputError
        Neither, one of each, frames of two dossiers, an unknown frame, or a frame in another light.
    IntegrityError
        A kept file is missing or has changed.
    """
    from heelstamp.casework.finish import PairFile

    frames = [None if Path(one).exists() else _FRAME.fullmatch(one) for one in (visible, uv)]
    if frames[0] is None and frames[1] is None:
        paths = Path(visible), Path(uv)
        first, second = (PairFile(read_file(path), path.name) for path in paths)
        return Source(first, second, originals=paths)
    if frames[0] is None or frames[1] is None or frames[0][1] != frames[1][1]:
        raise InputError(
            "a pair is two files, or two frames of one dossier",
            where="glow",
            received=f"{visible} and {uv}",
            remedy="Write both as TAG:FRAME with the same tag, or name two files.",
        )
    if not is_shop(shop):
        raise InputError(
            "no shop to find these frames in",
            where=str(shop),
            received=visible,
            remedy="Give the shop's folder with --shop.",
        )
    tag = frames[0][1]
    with open_shop(shop) as opened:
        first = _frame(opened, tag, frames[0][2], "visible")
        second = _frame(opened, tag, frames[1][2], "UV-A")
    return Source(first, second, tag)


def _frame(shop: Shop, tag: str, frame: str, light: str) -> PairFile:
    from heelstamp.casework.dossier import state_of
    from heelstamp.casework.finish import PairFile
    from heelstamp.catalogue.conversion import nearest

    known = state_of(shop, tag).photographs
    if frame not in known:
        raise InputError(
            "no such photograph in the dossier",
            where=tag,
            received=frame,
            remedy=nearest(frame, known) if known else "Add it first.",
        )
    entry = known[frame]
    if entry.light != light:
        raise InputError(
            f"not a photograph in {light} light",
            where=f"{tag}, frame {frame}",
            received=entry.light,
            remedy="Give the visible frame first and the UV-A frame second, or correct its entry.",
        )
    return PairFile(shop.files.get(entry.file), frame)


def examine(
    source: Source,
    request: PairRequest,
    *,
    out: Path | None = None,
    tell: Callable[[Stage], None] | None = None,
) -> Face:
    """Examine a pair; with *out* write map, picture and, early on, a rough preview there.

    Masks that were proposed go beside them in the form in which ``--masks`` takes them.

    Raises
    ------
    InputError
        A photograph cannot be decoded, or the request is impossible.
    StorageError
        The folder cannot be written.
    """
    from heelstamp.casework.finish import examine_pair
    from heelstamp.media.decoding import upright_rgb

    if out is not None:
        _made(out, source.originals, proposes=request.masks is None)

    def told(stage: Stage) -> None:
        if out is not None and stage.preview is not None:
            from heelstamp.report.finish_pictures import preview_jpg

            write_whole(out / PREVIEW, preview_jpg(stage.preview))
        if tell is not None:
            tell(stage)

    face = examine_pair(source.visible, source.uv, request, read=upright_rgb, tell=told)
    proposed = face.finding.proposed_masks()
    if out is not None and proposed is not None:
        write_whole(out / MASKS, json.dumps(proposed, indent=1).encode())
    if out is not None and face.finding.assessed:
        from heelstamp.report.finish_pictures import map_png, picture_jpg

        write_whole(out / MAP, map_png(face))
        write_whole(out / PICTURE, picture_jpg(face))
    return face


def can_enter(source: Source, finding: FinishFinding) -> bool:
    """Tell whether a look was had that can be entered; files are handed on, to be refused."""
    from heelstamp.casework.finish.entry import NO_PAIR

    codes = {reason.code for reason in finding.assessment.reasons}
    return source.tag is None or not codes & NO_PAIR


def kept_file(face: Face) -> bytes:
    """Give the file that a shop keeps of a face: the finding, and its pictures when assessed."""
    from heelstamp.casework.finish import packed
    from heelstamp.casework.finish.kept import MAP as KEPT_MAP
    from heelstamp.casework.finish.kept import OVERLAY, PAIR
    from heelstamp.report.finish_pictures import map_png, overlay_jpg, pair_jpg

    if not face.finding.assessed:
        return packed(face.finding, {})
    pictures = {PAIR: pair_jpg(face), OVERLAY: overlay_jpg(face), KEPT_MAP: map_png(face)}
    return packed(face.finding, pictures)


def enter(
    source: Source,
    face: Face,
    shop: Path,
    *,
    at: str,
    by: str,
    id_: str | None = None,
    kept: bytes | None = None,
    seed: str | None = None,
) -> Entry:
    """Append what a pair of frames says of the finish, and keep the finding with its pictures.

    Parameters
    ----------
    id_
        Id of the observation; the next free one when None.
    kept
        The file to keep, when `kept_file` made it before.
    seed
        Of the entry, in hexadecimal, where it is no secret; drawn without.

    Raises
    ------
    InputError
        The pair is of files, or was refused because it is no pair.
    ConflictError
        This look is entered already, or another process wrote.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.dossier import append, next_id, state_of
    from heelstamp.casework.finish import glow_entry
    from heelstamp.casework.finish.kept import MEDIA_TYPE
    from heelstamp.casework.ports import FileRecord
    from heelstamp.casework.replay import with_seeds

    if source.tag is None:
        raise InputError(
            "only frames of a dossier can be entered",
            where="--enter",
            received=f"{source.visible.name} and {source.uv.name}",
            remedy="Add both photographs to the dossier, then name them as TAG:FRAME.",
        )
    kept = kept or kept_file(face)
    with open_shop(shop) as opened:
        state = state_of(opened, source.tag)
        chronology = chronology_for(state.instrument.chronology, shop)
        id_ = id_ or next_id(state, "o")
        kind, body = glow_entry(face.finding, state, chronology, id_=id_, file=sha256(kept))
        digest = opened.files.put(kept)
        opened.journals.record_file(FileRecord(digest, len(kept), MEDIA_TYPE))
        seeded = opened if seed is None else with_seeds(opened, [seed])
        return append(seeded, source.tag, kind, body, at=at, by=by)


def _made(folder: Path, originals: tuple[Path, ...], *, proposes: bool) -> None:
    """Make the folder, and take away what an earlier pair left; never one of the originals.

    Masks are left alone where they were handed in: they may be the ones in the folder.
    """
    taken = {path.resolve() for path in originals}
    names = (MAP, PICTURE, PREVIEW, *((MASKS,) if proposes else ()))
    if taken & {(folder / name).resolve() for name in names}:
        raise InputError(
            "a picture would replace one of the photographs",
            where="--out",
            received=str(folder),
            remedy="Name another folder.",
        )
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name in names:
            (folder / name).unlink(missing_ok=True)
    except OSError as error:
        raise StorageError(
            "the folder for pictures cannot be written",
            where=str(folder),
            received=error.strerror or error,
            remedy="Name another folder with --out, or free some space.",
        ) from error
