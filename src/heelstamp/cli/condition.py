"""``condition``: where an instrument is not whole, what changed since, and its grades."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, heading

if TYPE_CHECKING:
    from heelstamp.casework.condition.describe import ConditionFinding


def condition(
    tag: Annotated[str, typer.Argument(help="Tag of the dossier.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Say where the instrument is not whole, what changed between visits, and how it was graded.

    Exit 1 when a difference between two visits is explained by no act in the record.

    Example: heelstamp condition H-0001
    """
    from heelstamp.casework.condition.describe import describe_condition
    from heelstamp.shop.opened import open_subject

    with open_subject(tag, shop) as (_, subject):
        found = describe_condition(subject.state, subject.tree)
    if as_json:
        emit(found.data())
    else:
        _show(found)
    return Exit.FINDINGS if found.questions else Exit.DONE


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
