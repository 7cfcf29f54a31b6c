"""Takes of a control from files or from a dossier's recordings, judged and drawn."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError
from heelstamp.shop.folder import is_shop, open_shop
from heelstamp.shop.subjects import read_file

if TYPE_CHECKING:
    from heelstamp.casework.control_noise import NoiseFinding, TakeFile

_RECORDING = re.compile(r"([A-Za-z0-9][A-Za-z0-9_.-]{0,39}):([A-Za-z0-9][A-Za-z0-9_.:-]{0,63})")


@dataclass(frozen=True, slots=True)
class Takes:
    """What was named: files, or recordings of a dossier written ``TAG:RECORDING``."""

    sweep: str
    still: str | None
    before: str | None = None
    before_still: str | None = None


def examine(
    takes: Takes, shop: Path, *, turns: float | None, before_turns: float | None, switch: bool
) -> NoiseFinding:
    """Read and judge the takes that were named.

    Raises
    ------
    InputError
        No still take, no such file or recording, or one that cannot be decoded.
    IntegrityError
        A kept recording is missing or has changed.
    """
    from heelstamp.casework.control_noise import examine_noise
    from heelstamp.media.decoding import read_recording

    if takes.still is None:
        raise InputError(
            "no take with the control at rest",
            where="--still",
            remedy="Record some seconds without touching anything, at the same gain: what strings, "
            "room and amplifier do by themselves must be known.",
        )
    found = {
        name: _take(word, shop)
        for name, word in (
            ("sweep", takes.sweep),
            ("still", takes.still),
            ("before", takes.before),
            ("before_still", takes.before_still),
        )
        if word is not None
    }
    return examine_noise(
        found["sweep"],
        found["still"],
        read=read_recording,
        turns=turns,
        switch=switch,
        before=found.get("before"),
        before_still=found.get("before_still"),
        before_turns=before_turns,
    )


def draw(finding: NoiseFinding, path: Path) -> None:
    """Write the picture of all takes."""
    from heelstamp.shop.paper_issue import write_whole

    write_whole(path, picture(finding).encode("utf-8"))


def picture(finding: NoiseFinding) -> str:
    """Draw all takes."""
    from heelstamp.report.noise_drawing import DrawnTake, noise_svg

    drawn = []
    for one in finding.takes:
        noise = one.noise
        rate = "" if noise.per_turn is None else f", {noise.per_turn:.1f} a turn"
        drawn.append(
            DrawnTake(
                one.sweep,
                f"{len(noise.events)} events{rate}",
                one.recording.samples,
                one.recording.rate_hz,
                tuple(event.at_s for event in noise.events),
            )
        )
    return noise_svg(drawn)


def _take(word: str, shop: Path) -> TakeFile:
    from heelstamp.casework.control_noise import TakeFile

    match = None if Path(word).exists() else _RECORDING.fullmatch(word)
    if match is None:
        return TakeFile(read_file(Path(word)), Path(word).name)
    if not is_shop(shop):
        raise InputError(
            "no shop to find this recording in",
            where=str(shop),
            received=word,
            remedy="Name a file, or give the shop's folder with --shop.",
        )
    from heelstamp.casework.dossier import state_of
    from heelstamp.catalogue.conversion import nearest

    with open_shop(shop) as opened:
        known = state_of(opened, match[1]).recordings
        if match[2] not in known:
            raise InputError(
                "no such recording in the dossier",
                where=match[1],
                received=match[2],
                remedy=nearest(match[2], known) if known else "Add it first.",
            )
        return TakeFile(opened.files.get(known[match[2]].file), match[2])
