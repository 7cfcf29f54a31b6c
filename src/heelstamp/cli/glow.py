"""``glow``: where the glow of a finish differs, from a visible / UV-A pair."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.finish import Face, FinishFinding, Lamp, PairRequest
    from heelstamp.luminescence import Stage
    from heelstamp.shop.finish import Pair
    from heelstamp.shop.opened import OpenShop


def glow(
    visible: Annotated[str, typer.Argument(help="Photograph in ordinary light, or TAG:FRAME.")],
    uv: Annotated[str, typer.Argument(help="The same under UV-A, or TAG:FRAME.")],
    out: Annotated[
        Path | None,
        typer.Option("--out", help="Folder for map.png, picture.jpg, proposed masks.json."),
    ] = None,
    masks: Annotated[
        Path | None, typer.Option("--masks", help="JSON of outline and parts in visible pixels.")
    ] = None,
    scale: Annotated[
        float | None, typer.Option("--scale", help="Pixels per mm of the visible photograph.")
    ] = None,
    ruler: Annotated[
        str | None, typer.Option("--ruler", help="Known length: x0,y0,x1,y1,MM.")
    ] = None,
    grey: Annotated[
        list[str] | None,
        typer.Option("--grey", help="Grey standard that does not glow: x0,y0,x1,y1,REFLECTANCE."),
    ] = None,
    point: Annotated[
        list[str] | None,
        typer.Option("--point", help="One point in both, when not found: xv,yv,xu,yu; 4 or more."),
    ] = None,
    moved: Annotated[
        list[str] | None,
        typer.Option(
            "--moved",
            help="UV-A frame with the lamp on the opposite side; a second one at a right angle.",
        ),
    ] = None,
    flat: Annotated[
        list[str] | None,
        typer.Option("--flat", help="Even glowing sheet, one for each UV-A frame in turn."),
    ] = None,
    brushed: Annotated[
        bool, typer.Option("--brushed", help="The surface was brushed between the UV-A frames.")
    ] = False,
    lamp: Annotated[
        str | None, typer.Option("--lamp", help="For the record: NM,MM_AWAY or NM,MM_AWAY,FILTER.")
    ] = None,
    enter: Annotated[
        bool, typer.Option("--enter", help="Enter the look in the dossier of the frames.")
    ] = False,
    shop: Shop = HERE,
    by: By = EXAMINER,
    as_json: AsJson = False,
) -> int:
    """Compare a visible / UV-A pair: where the glow differs, how large, what may have caused it.

    Example: heelstamp glow back.jpg back-uv.jpg --scale 4.2 --grey 40,40,120,120,0.18 --out glow

    With the lamp moved: heelstamp glow back.jpg left.jpg --moved right.jpg --brushed
    """
    from heelstamp.shop.finish import compare_frames, draw_pair, load_pair
    from heelstamp.shop.opened import shop_for

    entered = None
    further, flats = moved or [], flat or []
    with shop_for((visible, uv, *further), shop, "these frames") as opened:
        pair = load_pair(opened, visible, uv, further=further, flats=flats)
        request = replace(
            _request(masks, scale, ruler, grey or [], point or []),
            brushed=brushed,
            lamp=_lamp(lamp),
        )
        with _progress(quiet=as_json) as tell:
            if out is None:
                face = compare_frames(pair.frames, request, tell=tell)
            else:
                face = draw_pair(pair, request, out, tell=tell)
        finding = face.finding
        if enter:
            entered = _entered(opened, pair, face, by)
    if as_json:
        emit({**finding.data(), "entered": entered} if enter else finding.data())
    else:
        _print(finding, out)
        if entered is not None:
            say(f"{pair.uv.tag}, entry {entered['seq']}: observation {entered['id']}")
        elif enter:
            say("Nothing was entered.")
    return Exit.DONE if finding.assessed else Exit.UNDECIDED


def _entered(shop: OpenShop | None, pair: Pair, face: Face, by: str) -> dict[str, Any] | None:
    """Enter the look; None when none was had that could be entered."""
    from heelstamp.casework.dossier import next_id
    from heelstamp.casework.new_entry import EntryStamp
    from heelstamp.shop.finish import looked_at
    from heelstamp.shop.uv_lamp import Compared, enter_look

    if shop is None or pair.uv.tag is None:
        raise InputError(
            "only frames of a dossier can be entered",
            where="--enter",
            received=f"{pair.visible.file.name} and {pair.uv.file.name}",
            remedy="Add both photographs to the dossier, then name them as TAG:FRAME.",
        )
    if not looked_at(face.finding):
        return None
    stamp = EntryStamp(next_id(shop.subject(pair.uv.tag).state, "o"), "", "")
    entry = enter_look(shop, pair.uv.tag, Compared.of(face), stamp, by=by)
    told = entry.body.get("replacement") or entry.body
    return {"seq": entry.seq, "id": told["id"], "digest": entry.digest}


def _request(
    masks: Path | None, scale: float | None, ruler: str | None, greys: list[str], points: list[str]
) -> PairRequest:
    from heelstamp.casework.finish import PairRequest, read_masks, read_numbers
    from heelstamp.shop.files import read_file

    return PairRequest.of(
        masks=None if masks is None else read_masks(read_file(masks), masks.name),
        px_per_mm=scale,
        ruler=None if ruler is None else read_numbers(ruler, "x0,y0,x1,y1,MM", "--ruler"),
        greys=[read_numbers(one, "x0,y0,x1,y1,REFLECTANCE", "--grey") for one in greys],
        points=[read_numbers(one, "xv,yv,xu,yu", "--point") for one in points],
    )


def _lamp(told: str | None) -> Lamp:
    from heelstamp.casework.finish import Lamp, read_numbers

    if told is None:
        return Lamp()
    first, second, *rest = (*told.split(",", 2), "")[:3]
    nanometres, away = read_numbers(f"{first},{second}", "NM,MM_AWAY", "--lamp")
    return Lamp(nanometres, "".join(rest).strip(), away)


@contextmanager
def _progress(*, quiet: bool) -> Iterator[Callable[[Stage], None] | None]:
    """Show the stages on the error stream; not at all when *quiet*."""
    if quiet:
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("decoding", total=1.0)
        yield lambda stage: bar.update(task, description=stage.name, completed=stage.share)


def _print(finding: FinishFinding, out: Path | None) -> None:
    one = finding.assessment
    if not finding.assessed:
        say("Refused: this pair is not good enough to say anything of the finish.")
    else:
        count = len(one.regions)
        word = "no region" if not count else f"{count} region{'s' if count > 1 else ''}"
        left = f"; {len(one.doubts)} left open" if one.doubts else ""
        say(f"Assessed: {word} where the glow differs{left}.")
    for statement in finding.statements():
        bullet(statement.text)
    if finding.assessed:
        heading(
            "Accuracy was measured on simulated pairs only; no real instrument was photographed."
        )
        if out is not None:
            say(f"Map and picture are in {out}.")
    if out is not None and finding.proposed_masks() is not None:
        say(f"Proposed masks are in {out / 'masks.json'}: correct them, then give --masks.")
    say(f"Finding {finding.digest}")
