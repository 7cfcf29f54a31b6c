"""The UV-A frames of one face as they were taken: how many, with what, and taken alike or not.

The lamp stands on opposite sides for the first two and at a right angle for a third. All have to
come from one camera with one setting, or what differs is not the light alone; a flat frame stands
for the setting of its own UV-A frame. What a file does not tell is not held against it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from heelstamp.casework.ports import NamedFile
from heelstamp.errors import InputError

MOST_FURTHER = 2


@dataclass(frozen=True, slots=True)
class Taken:
    """How a file was taken, as far as it tells: kind of file, camera, settings."""

    kind: str
    camera: str = ""
    settings: str = ""


@dataclass(frozen=True, slots=True)
class Frames:
    """The photographs of one face.

    Attributes
    ----------
    visible, uv
        In ordinary light, and under UV-A with the lamp at its first place.
    further
        Under UV-A with the lamp on the opposite side, then at a right angle; none or up to two.
    flats
        An even glowing sheet for each UV-A frame in turn; none, or as many.
    """

    visible: NamedFile
    uv: NamedFile
    further: tuple[NamedFile, ...] = ()
    flats: tuple[NamedFile, ...] = ()

    def __post_init__(self) -> None:
        if len(self.further) > MOST_FURTHER:
            raise InputError(
                "too many UV-A frames",
                where=self.uv.name,
                received=1 + len(self.further),
                remedy="Hand in two with the lamp on opposite sides, and at most one at a right "
                "angle.",
            )
        if len(self.flats) not in (0, 1 + len(self.further)):
            raise InputError(
                "a flat frame is missing",
                where=self.uv.name,
                received=f"{len(self.flats)} for {1 + len(self.further)} UV-A frames",
                remedy="Photograph the even sheet once for each place of the lamp, or give none.",
            )

    @property
    def glowing(self) -> tuple[NamedFile, ...]:
        """All UV-A frames, in the order of the places of the lamp."""
        return (self.uv, *self.further)


def check_taken(frames: Frames, taken: Sequence[Taken]) -> None:
    """Refuse UV-A frames and flat frames that were not taken alike.

    Parameters
    ----------
    taken
        Of each UV-A frame in turn, then of each flat frame.

    Raises
    ------
    InputError
        Another kind of file, another camera, or other settings than those of its UV-A frame.
    """
    count = len(frames.glowing)
    first = taken[0]
    named = (*frames.glowing, *frames.flats)
    for k, (one, how) in enumerate(zip(named, taken, strict=True)):
        other = first if k < count else taken[k - count]
        role = "UV-A frame" if k < count else "flat frame"
        beside = frames.uv.name if k < count else named[k - count].name
        for what, mine, its in (
            ("of another kind of file", how.kind, other.kind),
            ("of another camera", how.camera, other.camera),
            ("with other camera settings", how.settings, other.settings),
        ):
            if mine and its and mine != its:
                raise InputError(
                    f"a {role} {what}",
                    where=one.name,
                    received=f"{mine}; {its} in {beside}",
                    remedy="Take all UV-A frames and their flat frames with one camera, as one "
                    "kind of file, with time, aperture and gain set by hand and left alone.",
                )
