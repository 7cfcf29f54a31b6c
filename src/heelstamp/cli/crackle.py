"""``crackle``: noise of a control, from a take of sweeps and a take with the control at rest."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say
from heelstamp.errors import InputError


def crackle(
    sweep: Annotated[str, typer.Argument(help="Recording of sweeps, or TAG:RECORDING.")],
    still: Annotated[
        str | None, typer.Option("--still", help="The same with the control at rest.")
    ] = None,
    turns: Annotated[
        float | None, typer.Option("--turns", help="Turns, each way one; heard when absent.")
    ] = None,
    before: Annotated[
        str | None, typer.Option("--before", help="Sweeps recorded before a treatment.")
    ] = None,
    before_still: Annotated[
        str | None, typer.Option("--before-still", help="Its own take at rest, if it has one.")
    ] = None,
    before_turns: Annotated[
        float | None, typer.Option("--before-turns", help="Turns of the earlier take.")
    ] = None,
    switch: Annotated[
        bool, typer.Option("--switch", help="A switch: tell throws and bounces.")
    ] = False,
    out: Annotated[
        Path | None, typer.Option("--out", help="Picture of the takes, an SVG file.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Count crackle of a turned control, a turn and in decibels, before and after.

    Mute the strings, keep the gain, record both takes; five sweeps. Example:
    heelstamp crackle after.flac --still rest.flac --turns 5 --before before.flac --out noise.svg
    """
    from heelstamp.casework.ports import NamedFile
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.opened import shop_for
    from heelstamp.shop.recordings import control_picture, examine_control, recording_named

    if still is None:
        raise InputError(
            "no take with the control at rest",
            where="--still",
            remedy="Record some seconds without touching anything, at the same gain: what strings, "
            "room and amplifier do by themselves must be known.",
        )
    words = [one for one in (sweep, still, before, before_still) if one is not None]
    with shop_for(words, shop, "this recording") as opened:
        sources = {one: recording_named(opened, one) for one in words}
    takes = {
        word: NamedFile(one.file.data, one.entry or one.file.name) for word, one in sources.items()
    }
    finding = examine_control(
        takes[sweep],
        takes[still],
        turns=turns,
        before=takes.get(before or ""),
        before_still=takes.get(before_still or ""),
        before_turns=before_turns,
        switch=switch,
    )
    if out is not None and not finding.refused:
        write_whole(out, control_picture(finding).encode("utf-8"))
    if as_json:
        emit(finding.data())
    else:
        for statement in finding.statements():
            bullet(statement.text)
        if out is not None:
            say("Nothing was drawn." if finding.refused else f"Takes are drawn in {out}.")
        say(f"Finding {finding.digest}")
    if finding.undecided:
        return Exit.UNDECIDED
    return Exit.FINDINGS if finding.against else Exit.DONE
