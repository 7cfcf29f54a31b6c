"""Examining takes of a control: decoded through a port, judged by the engine, kept with a digest.

Nothing is read from or written to a disk here. The digest is that of all files, the number of turns
and the program's version.
"""

from __future__ import annotations

from typing import Protocol

from heelstamp import __version__
from heelstamp.acoustics.control_noise import control_noise
from heelstamp.acoustics.event_rates import compare
from heelstamp.acoustics.recording import Recording
from heelstamp.archive import digest_of, sha256
from heelstamp.casework.control_noise.finding import NoiseFinding, TakeFinding
from heelstamp.casework.ports import NamedFile


class ReadsSound(Protocol):
    """Decodes a recording to one channel."""

    def __call__(self, data: bytes, name: str) -> Recording:
        """Samples relative to full scale.

        Raises
        ------
        InputError
            Not a recording of a known kind, too long, or cut short.
        """
        ...


def examine_noise(
    sweep: NamedFile,
    still: NamedFile,
    *,
    read: ReadsSound,
    turns: float | None = None,
    switch: bool = False,
    before: NamedFile | None = None,
    before_still: NamedFile | None = None,
    before_turns: float | None = None,
) -> NoiseFinding:
    """Judge a take against the one with the control at rest, and against an earlier one.

    Parameters
    ----------
    turns, before_turns
        Turns of each take; counted when absent.
    before, before_still
        Takes made before a treatment; the same still take serves when it has none of its own.

    Raises
    ------
    InputError
        A recording cannot be decoded, or a number of turns is none.
    """
    files = {"sweep": sweep, "still": still}
    after = _judged(sweep, still, read, turns, switch=switch)
    earlier = change = None
    if before is not None:
        rest = before_still or still
        files |= {"before": before, "before still": rest}
        earlier = _judged(before, rest, read, before_turns, switch=switch)
        first, second = earlier.noise, after.noise
        if first.turns is not None and second.turns is not None:
            change = compare(len(first.events), first.turns, len(second.events), second.turns)
    inputs = {name: sha256(one.data) for name, one in files.items()}
    asked = {"turns": turns, "before turns": before_turns, "switch": switch}
    digest = digest_of({"files": inputs, "asked": asked, "program": __version__})
    return NoiseFinding(after, earlier, change, digest)


def _judged(
    sweep: NamedFile, still: NamedFile, read: ReadsSound, turns: float | None, *, switch: bool
) -> TakeFinding:
    take, rest = read(sweep.data, sweep.name), read(still.data, still.name)
    noise = control_noise(
        take.samples, take.rate_hz, rest.samples, rest.rate_hz, turns=turns, switch=switch
    )
    return TakeFinding(sweep.name, still.name, take, noise, switch=switch)
