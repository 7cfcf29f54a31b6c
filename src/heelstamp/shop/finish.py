"""A visible / UV-A pair from files or from a dossier, compared and drawn.

The originals are only read. Nothing is written for a refused pair but the preview and proposed
masks.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.casework.ports import NamedFile
from heelstamp.errors import InputError
from heelstamp.shop.files import Source, clear_folder, kept_id, named, write_whole
from heelstamp.shop.photographs import photograph_at

if TYPE_CHECKING:
    from heelstamp.casework.finish import Face, FinishFinding, Frames, PairRequest
    from heelstamp.luminescence import Stage
    from heelstamp.shop.opened import OpenShop

MAP, PICTURE, PREVIEW = "map.png", "picture.jpg", "preview.jpg"
MASKS = "masks.json"


@dataclass(frozen=True, slots=True)
class Pair:
    """Both photographs, and where they came from: two files, or two frames of one dossier."""

    visible: Source
    uv: Source
    further: tuple[Source, ...] = ()
    flats: tuple[Source, ...] = ()

    @property
    def frames(self) -> Frames:
        """The photographs, as they are examined."""
        from heelstamp.casework.finish import Frames

        return Frames(
            self.visible.file,
            self.uv.file,
            tuple(one.file for one in self.further),
            tuple(one.file for one in self.flats),
        )


def load_pair(
    shop: OpenShop | None,
    visible: str,
    uv: str,
    *,
    further: Sequence[str] = (),
    flats: Sequence[str] = (),
) -> Pair:
    """Read a pair: two files, or two frames of one dossier of *shop* written ``TAG:FRAME``.

    Parameters
    ----------
    further
        UV-A frames with the lamp moved, named as *uv* is.
    flats
        Flat frames: files, or frames of the dossier.

    Raises
    ------
    InputError
        Neither, one of each, frames of two dossiers, an unknown frame, or a frame in another light.
    IntegrityError
        A kept file is missing or has changed.
    """
    first, *rest = (kept_id(one) for one in (visible, uv, *further))
    even = tuple(_flat(shop, one) for one in flats)
    if first is None and not any(rest):
        return Pair(named(visible), named(uv), tuple(named(one) for one in further), even)
    glowing = [one for one in rest if one is not None and first and one[0] == first[0]]
    if shop is None or first is None or len(glowing) < len(rest):
        raise InputError(
            "a pair is two files, or two frames of one dossier",
            where="glow",
            received=" and ".join((visible, uv, *further)),
            remedy="Write both as TAG:FRAME with the same tag, or name two files.",
        )
    seen = _frame(shop, *first, "visible")
    lit = [_frame(shop, *one, "UV-A") for one in glowing]
    return Pair(seen, lit[0], tuple(lit[1:]), even)


def _flat(shop: OpenShop | None, name: str) -> Source:
    told = kept_id(name)
    if told is None or shop is None:
        return named(name)
    return _frame(shop, *told, "UV-A")


def _frame(shop: OpenShop, tag: str, frame: str, light: str) -> Source:
    entry = photograph_at(shop, tag, frame)
    if entry.light != light:
        raise InputError(
            f"not a photograph in {light} light",
            where=f"{tag}, frame {frame}",
            received=entry.light,
            remedy="Give the visible frame first and the UV-A frame second, or correct its entry.",
        )
    return Source(NamedFile(shop.files.get(entry.file), frame), tag, frame)


def compare_pair(
    visible: NamedFile,
    uv: NamedFile,
    request: PairRequest,
    *,
    tell: Callable[[Stage], None] | None = None,
) -> Face:
    """Compare a pair; see `compare_frames`."""
    from heelstamp.casework.finish import Frames

    return compare_frames(Frames(visible, uv), request, tell=tell)


def compare_frames(
    frames: Frames, request: PairRequest, *, tell: Callable[[Stage], None] | None = None
) -> Face:
    """Compare the photographs of one face.

    Raises
    ------
    InputError
        A photograph cannot be decoded, UV-A frames or flat frames were not taken alike, or the
        request is impossible.
    """
    import cv2

    from heelstamp.casework.finish import Taken, check_taken, examine_face
    from heelstamp.media.decoding import camera_settings, upright_rgb
    from heelstamp.media.photographs import kind_of

    # pairs are compared side by side; further threads within each wait for one another at full
    # speed, and double the work of a busy machine
    cv2.setNumThreads(1)
    glowing, settings = (*frames.glowing, *frames.flats), []
    if len(glowing) > 1:
        taken = [
            Taken(kind_of(one.data) or "", settings=camera_settings(one.data, one.name))
            for one in glowing
        ]
        check_taken(frames, taken)
        settings = [one.settings for one in taken[: len(frames.glowing)]]
    return examine_face(frames, request, read=upright_rgb, settings=settings, tell=tell)


def draw_pair(
    pair: Pair, request: PairRequest, out: Path, *, tell: Callable[[Stage], None] | None = None
) -> Face:
    """Compare a pair, and write map, picture and, early on, a rough preview into the folder *out*.

    Masks that were proposed go beside them in the form in which ``--masks`` takes them; masks that
    were handed in are left alone, for they may be the ones in the folder.

    Raises
    ------
    InputError
        As `compare_pair`, or a picture would replace one of the photographs.
    StorageError
        The folder cannot be written.
    """
    from heelstamp.report.finish_pictures import map_png, picture_jpg, preview_jpg

    names = (MAP, PICTURE, PREVIEW, *((MASKS,) if request.masks is None else ()))
    sources = (pair.visible, pair.uv, *pair.further, *pair.flats)
    paths = [one.path for one in sources if one.path is not None]
    clear_folder(out, names, paths, "photographs")

    def told(stage: Stage) -> None:
        if stage.preview is not None:
            write_whole(out / PREVIEW, preview_jpg(stage.preview))
        if tell is not None:
            tell(stage)

    face = compare_frames(pair.frames, request, tell=told)
    proposed = face.finding.proposed_masks()
    if proposed is not None:
        write_whole(out / MASKS, json.dumps(proposed, indent=1).encode())
    if face.finding.assessed:
        write_whole(out / MAP, map_png(face))
        write_whole(out / PICTURE, picture_jpg(face))
    return face


def looked_at(finding: FinishFinding) -> bool:
    """Whether a look was had that can be entered, assessed or not."""
    from heelstamp.casework.finish.entry import NO_PAIR

    return not {reason.code for reason in finding.assessment.reasons} & NO_PAIR


def finding_file(face: Face) -> bytes:
    """Make the file that a shop keeps: the finding, and its pictures when it was assessed."""
    from heelstamp.casework.finish import packed
    from heelstamp.casework.finish.finding_file import MAP as KEPT_MAP
    from heelstamp.casework.finish.finding_file import OVERLAY, PAIR
    from heelstamp.report.finish_pictures import map_png, overlay_jpg, pair_jpg

    if not face.finding.assessed:
        return packed(face.finding, {})
    pictures = {PAIR: pair_jpg(face), OVERLAY: overlay_jpg(face), KEPT_MAP: map_png(face)}
    return packed(face.finding, pictures)
