"""``federation enter``, ``mask`` and ``sum``: what shops of few instruments tell together."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import emit, say

Id = Annotated[str, typer.Argument(metavar="ID", help="Id of the chronology.")]
SumName = Annotated[str, typer.Argument(metavar="NAME", help="Name that its shops agreed on.")]
Out = Annotated[Path, typer.Option("--out", "-o", help="File to hand to every shop of the sum.")]


def enter(id_: Id, name: SumName, out: Out, shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Take part in a sum under masks: for shops of too few instruments for tables of their own.

    At least five shops of at least five instruments; an instrument enters one sum only.

    Example: heelstamp federation enter sallowby-wherry spring -o entry.json --shop shop
    """
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.masked_sums import enter_sum
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        write_whole(out, enter_sum(here, id_, name))
    if as_json:
        emit({"path": str(out), "sum": name})
    else:
        say(f"Hand {out} to every shop of the sum {name}; then say: heelstamp federation mask.")
    return Exit.DONE


def mask(
    id_: Id,
    name: SumName,
    files: Annotated[list[Path], typer.Argument(help="Entries of all other shops.")],
    of: Annotated[int, typer.Option("--of", min=2, help="Shops of the sum, this one with them.")],
    out: Out,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Mask this shop's tables against all others of a sum, once; all shops use the same entries.

    Example: heelstamp federation mask sallowby-wherry spring entries/*.json --of 6 -o part.json
    """
    from heelstamp.shop.files import read_file, write_whole
    from heelstamp.shop.masked_sums import mask_sum
    from heelstamp.shop.opened import OpenShop
    from heelstamp.wording import about_federation as about

    with OpenShop(shop) as here:
        entries = {one.name: read_file(one) for one in files}
        write_whole(out, mask_sum(here, id_, name, entries, shops=of))
    if as_json:
        emit({"path": str(out), "sum": name})
    else:
        say(about.masked_can_be_found.say())
        say(f"Hand {out} to every shop of the sum {name}; then say: heelstamp federation sum.")
    return Exit.DONE


def sum_(
    id_: Id,
    name: SumName,
    files: Annotated[list[Path], typer.Argument(help="Masked parts of all other shops.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Add the masked parts of all shops; what they say is joined from then on.

    Example: heelstamp federation sum sallowby-wherry spring parts/*.json --shop shop
    """
    from heelstamp.shop.files import read_file
    from heelstamp.shop.masked_sums import add_sum
    from heelstamp.shop.opened import OpenShop

    with OpenShop(shop) as here:
        done = add_sum(here, id_, name, {one.name: read_file(one) for one in files})
    if as_json:
        emit({"sum": name, "shops": done.shops, "change_overs": list(done.features)})
    else:
        say(
            f"The sum {name} of {done.shops} shops speaks of {len(done.features)} change-overs; "
            "heelstamp federation join takes it in. No shop can be tested in it or taken off it."
        )
    return Exit.DONE


def masked_sum_commands(federation: typer.Typer) -> None:
    """Put them among the commands of ``federation``."""
    federation.command("enter")(enter)
    federation.command("mask")(mask)
    federation.command("sum")(sum_)
