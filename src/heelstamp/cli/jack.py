"""``jack``: pickup and controls from readings at the output jack, nothing de-soldered."""

from __future__ import annotations

from contextlib import nullcontext
from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say


def jack(
    what: Annotated[
        str | None,
        typer.Argument(help="Tag of a dossier, or an examination file, that holds the readings."),
    ] = None,
    full: Annotated[
        str | None, typer.Option("--full", help="Volume full, as the meter shows it: 6.42k.")
    ] = None,
    sweep: Annotated[
        str | None, typer.Option("--sweep", help="Greatest while the volume is swept: 61.90k.")
    ] = None,
    zero: Annotated[
        str | None, typer.Option("--zero", help="Volume at nothing: 0 or the reading.")
    ] = None,
    temperature: Annotated[
        float | None, typer.Option("--temperature", help="Of the room, °C.")
    ] = None,
    meter: Annotated[
        str, typer.Option("--meter", help="Accuracy: per cent of the reading + last digits.")
    ] = "0.5+1",
    pot: Annotated[str | None, typer.Option("--pot", help="Mark on the volume pot: 250k.")] = None,
    capacitor: Annotated[
        str | None, typer.Option("--capacitor", help="Tone capacitor as read: 0.049uF.")
    ] = None,
    mark: Annotated[str | None, typer.Option("--capacitor-mark", help="Its mark: 0.047uF.")] = None,
    tolerance: Annotated[
        float | None, typer.Option("--capacitor-tolerance", help="Share: 0.2 for ±20 %.")
    ] = None,
    seen: Annotated[
        str | None, typer.Option("--seen", help="Range seen on others at 20 °C: 6.3k-7.1k.")
    ] = None,
    gauge: Annotated[
        str | None, typer.Option("--gauge", help="Wire: 42, 42-43 or 0.063mm.")
    ] = None,
    turn: Annotated[
        str | None, typer.Option("--turn-length", help="Mean length of a turn: 145-165mm.")
    ] = None,
    inductance: Annotated[
        str | None, typer.Option("--inductance", help="Of the pickup: 2.4H.")
    ] = None,
    winding: Annotated[
        str | None, typer.Option("--winding", help="Capacitance of the winding: 120pF.")
    ] = None,
    tone_pot: Annotated[str, typer.Option("--tone-pot", help="Tone pot.")] = "250k",
    cable: Annotated[str, typer.Option("--cable", help="Capacitance of the cable.")] = "500pF",
    input_: Annotated[str, typer.Option("--input", help="Input resistance.")] = "1M",
    volume: Annotated[float, typer.Option("--volume", help="Share of the volume track.")] = 1.0,
    tone: Annotated[float, typer.Option("--tone", help="Share of the tone track.")] = 1.0,
    out: Annotated[
        Path | None, typer.Option("--out", help="Picture of the response, an SVG file.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Work out volume pot and pickup from two readings at the jack, and the loaded resonance.

    Example: heelstamp jack --full 6.42k --sweep 61.90k --temperature 24.5
    """
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.jack import Options, examine_jack, response_picture
    from heelstamp.shop.opened import open_subject

    options = Options(
        full=full,
        sweep=sweep,
        zero=zero,
        temperature=temperature,
        pot=pot,
        capacitor=capacitor,
        mark=mark,
        tolerance=tolerance,
        seen=seen,
        gauge=gauge,
        turn=turn,
        inductance=inductance,
        winding_capacitance=winding,
        tone_pot=tone_pot,
        cable=cable,
        input=input_,
        volume=volume,
        tone=tone,
        accuracy=meter,
    )
    nothing = nullcontext((None, None))
    with nothing if what is None else open_subject(what, shop) as (_, subject):
        finding = examine_jack(subject, options, draw=out is not None)
    drawn = response_picture(finding) if out is not None else ""
    if out is not None and drawn:
        write_whole(out, drawn.encode("utf-8"))
    if as_json:
        emit({**finding.data(), "picture": str(out) if drawn else None})
    else:
        for statement in finding.statements():
            bullet(statement.text)
        if drawn:
            say(f"Response drawn in {out}.")
        elif out is not None:
            say("No response was drawn: the readings do not tell the circuit.")
        say(f"Finding {finding.digest}")
    if finding.undecided:
        return Exit.UNDECIDED
    return Exit.FINDINGS if finding.against else Exit.DONE
