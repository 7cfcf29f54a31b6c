"""``strings``: the tension of a set at pitch, and what another set or tuning changes."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import AsJson
from heelstamp.cli.output import bullet, emit, heading, say, table

if TYPE_CHECKING:
    from heelstamp.casework.setup import StringSet
    from heelstamp.mechanics import TunedSet


def strings(
    first: Annotated[
        str,
        typer.Argument(metavar="SET", help="Set, the highest string first: 9 11 16 24w 32w 42w."),
    ],
    second: Annotated[
        str | None, typer.Argument(metavar="[OTHER]", help="Another set to compare with.")
    ] = None,
    scale: Annotated[float, typer.Option("--scale", help="Scale length, mm.")] = 647.7,
    scale_doubt: Annotated[
        float, typer.Option("--scale-doubt", help="Its standard uncertainty, mm.")
    ] = 0.5,
    kind: Annotated[
        str, typer.Option("--kind", help="guitar or bass: the usual tuning.")
    ] = "guitar",
    tuning: Annotated[
        str | None, typer.Option("--tuning", help='Notes, the highest first: "E4 B3 G3 D3 A2 E2".')
    ] = None,
    down: Annotated[
        float, typer.Option("--down", help="Semitones by which all strings of OTHER go down.")
    ] = 0.0,
    out: Annotated[Path | None, typer.Option("--out", help="Picture, .svg.")] = None,
    as_json: AsJson = False,
) -> int:
    """The tension of each string and of the set, and what another set or tuning changes.

    Example: heelstamp strings "11 14 18 28w 38w 50w" "9 11 16 24w 32w 42w" --scale 641.4
    """
    from heelstamp.casework.setup.practice import tuning_for
    from heelstamp.casework.setup.set_text import read_set
    from heelstamp.casework.setup.sheet_values import change_data, set_data
    from heelstamp.mechanics import Estimate, change, tuned
    from heelstamp.shop.files import write_picture
    from heelstamp.shop.setup import bench_for, tension_picture

    bench = bench_for(kind)
    length = Estimate.of(scale, scale_doubt, "scale length")
    sets = [read_set(first, bench.materials, name="first set")]
    other = second if second is not None else first if down else None
    if other is not None:
        name = "second set" if second is not None else "first set"
        sets.append(read_set(other, bench.materials, name=name))
    notes = tuple(tuning.split()) if tuning else None
    at_pitch = [
        tuned(one.masses, notes or tuning_for(kind, len(one.strings)), length) for one in sets
    ]
    if down and len(at_pitch) > 1:
        at_pitch[1] = at_pitch[1].moved(-down)
    moved = change(*at_pitch) if len(at_pitch) > 1 else None
    if out is not None:
        after = at_pitch[1] if len(at_pitch) > 1 else None
        title = f"Tension by string, scale {scale:g} mm"
        write_picture(out, tension_picture(at_pitch[0], after, title))
    if as_json:
        emit(
            {
                "scale_mm": scale,
                "first": set_data(at_pitch[0]),
                "second": set_data(at_pitch[1]) if moved else None,
                "change": change_data(moved),
                "assumed": list(dict.fromkeys(w for one in sets for w in one.assumed)),
            }
        )
        return Exit.DONE
    for one, pitch in zip(sets, at_pitch, strict=True):
        _print_set(one, pitch, scale)
    if moved is not None:
        heading("Change (± one standard deviation)")
        each = " ".join(f"{value.value:+.1f}" for value in moved.each_n).replace("-", "−")
        say(f"String by string {each} N; in all {moved.total_n.quantity('N')}.", "  ")
        ratio = moved.ratio
        say(
            f"Ratio {ratio.value:.3f} ± {ratio.uncertainty:.3f}; weight "
            f"{moved.mass_g.quantity('g')}.",
            "  ",
        )
    assumed = list(dict.fromkeys(what for one in sets for what in one.assumed))
    if assumed:
        heading("Assumed")
        for what in assumed:
            bullet(what)
    heading("Care")
    bullet("Strings at pitch can blind: goggles on, slacken evenly, never cut at pitch.")
    bullet("Lift strings out of an old nut's slots, not sideways.")
    return Exit.DONE


def _print_set(one: StringSet, pitch: TunedSet, scale: float) -> None:
    heading(f"{one.text} at {scale:g} mm (± one standard deviation)")
    table(
        [
            (
                str(string.number),
                string.label,
                string.note,
                f"{string.frequency_hz:.2f}",
                str((1e3 * string.mass_kg_m).quantity("g")).removesuffix(" g"),
                str(string.tension_n.quantity("N")).removesuffix(" N"),
            )
            for string in pitch.strings
        ],
        ("no", "string", "note", "Hz", "g/m", "N"),
    )
    pounds = pitch.tension_n.value / 4.4482216152605
    say(f"In all {pitch.tension_n.quantity('N')} ({pounds:.1f} lbf).", "  ")
