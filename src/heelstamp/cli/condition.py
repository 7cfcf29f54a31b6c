"""``condition``: where an instrument is not whole, what changed since, and its grades."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, heading
from heelstamp.errors import InputError

TOLD = 4
"""Places of a pair of frames that are told; the page draws more."""

if TYPE_CHECKING:
    from heelstamp.casework.condition.describe import ConditionFinding
    from heelstamp.casework.condition.watch import Watched
    from heelstamp.catalogue import PartsTree


def condition(
    tag: Annotated[str, typer.Argument(help="Tag of the dossier.")],
    photographs: Annotated[
        bool,
        typer.Option(
            "--photographs", help="Compare photographs of one slot too; some seconds a pair."
        ),
    ] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Say where the instrument is not whole, what changed between visits, and how it was graded.

    Exit 1 when a difference between two visits is explained by no act in the record.

    Example: heelstamp condition H-0001 --photographs
    """
    from heelstamp.casework.condition.describe import describe_condition
    from heelstamp.shop.change_watch import watch
    from heelstamp.shop.opened import open_subject

    seen: tuple[Watched, ...] = ()
    with open_subject(tag, shop) as (opened, subject):
        found = describe_condition(subject.state, subject.tree)
        if photographs:
            if opened is None:
                raise InputError(
                    "an examination file keeps no photographs",
                    where="--photographs",
                    received=tag,
                    remedy="Name a dossier of a shop.",
                )
            seen = watch(opened, tag)
    if as_json:
        told = found.data()
        emit(told | {"photographs": [one.data() for one in seen]} if photographs else told)
    else:
        _show(found)
        _show_seen(seen, subject.tree)
    asked = found.questions or any(one.asks for one in seen)
    return Exit.FINDINGS if asked else Exit.DONE


def _show(found: ConditionFinding) -> None:
    for title, rows in (
        (f"Places seen, {found.visit}", [said for _, said in found.places]),
        ("Since the visit before", [said for _, said in found.compared]),
        ("Grades", [said for _, said in found.grades]),
        ("Not seen", list(found.gaps)),
    ):
        if rows:
            heading(title)
            for said in rows:
                bullet(said.text)


def _show_seen(seen: tuple[Watched, ...], tree: PartsTree) -> None:
    from heelstamp.casework.condition.watch import describe_spot, describe_watched

    if seen:
        heading("Photographs compared")
    for one in seen:
        bullet(describe_watched(one, tree).text)
        for spot in one.places[1:TOLD]:
            bullet(f"then: {describe_spot(spot, one.pair)}.")
