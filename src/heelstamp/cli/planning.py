"""``next``: what to look at next, or to stop."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop, What
from heelstamp.cli.output import bullet, emit, heading, say, table

if TYPE_CHECKING:
    from heelstamp.casework.inspections import Option, Plan

HEAD = ("inspection", "90 % range", "bit", "level", "min", "consent", "advice", "tells of")
MONEY_HEAD = (*HEAD[:3], "price open", "regret", *HEAD[3:])
TOLD_PARTS = 3
ROWS = 12


def next_inspection(
    what: What,
    most: Annotated[
        int | None, typer.Option("--most", min=1, help="Most rows: 12 of the table, all of --json.")
    ] = None,
    order: Annotated[
        str, typer.Option("--order", help="evidence, money, or both: order of the looks.")
    ] = "evidence",
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Name the next inspection with its gain, cost and consent, or stop and say why.

    Example: heelstamp next examples/outside-only.toml
    """
    import msgspec

    from heelstamp.casework.inspections.ordering import ordered
    from heelstamp.shop.opened import open_subject
    from heelstamp.shop.prices import money_gain
    from heelstamp.shop.subjects import plan_of

    with open_subject(what, shop) as (opened, subject):
        plan = plan_of(subject, money_gain(opened, subject))
    plan = msgspec.structs.replace(plan, options=ordered(plan, order))
    if as_json:
        emit(plan.data()[:most])
    else:
        print_plan(plan, {part.key: part.label for part in subject.tree}, most or ROWS)
    return Exit.DONE


def print_plan(plan: Plan, labels: dict[str, str], most: int) -> None:
    """Print what to do, the front, and what is not done and why."""
    say(plan.sentences[0])
    for sentence in plan.sentences[1:]:
        bullet(sentence)
    allowed = [one for one in plan.options if one.advice != "stop"]
    front = [one for one in allowed if one.front]
    if front:
        heading("What may be done: nothing here is beaten by another in every gain and cost")
        priced = all(one.gain.money is not None for one in front)
        table([_row(one, labels, priced) for one in front[:most]], MONEY_HEAD if priced else HEAD)
        if len(front) > most:
            say(f"{len(front) - most} more with --most {len(front)}.")
    for option in allowed:
        if option.condition:
            bullet(f"{option.name}: the owner's condition is “{option.condition}”")
    beaten = [one.name for one in allowed if not one.front]
    if beaten:
        say("As good elsewhere for less: " + ", ".join(beaten) + ".")
    left = [one for one in plan.options if one.advice == "stop"]
    if left:
        heading("Not to be done now, and why")
        for option in left:
            bullet(f"{option.name}: {' '.join(option.reasons)}")
    if plan.refused:
        heading("Refused by what was recorded")
        for refusal in plan.refused:
            bullet(refusal)
    say()
    say(f"Plan {plan.digest}, on chronology {plan.chronology} of {plan.chronology_edition}")


def _row(one: Option, labels: dict[str, str], priced: bool) -> tuple[str, ...]:
    from heelstamp.wording.about_inspections import bits_told, range_told

    told = [labels.get(part, part) for part in one.tells_of]
    named = ", ".join(told[:TOLD_PARTS])
    if len(told) > TOLD_PARTS:
        named += f" and {len(told) - TOLD_PARTS} more"
    falls = (f"{one.gain.money or 0:,.0f}", f"{one.gain.regret or 0:,.0f}") if priced else ()
    return (
        one.name,
        range_told(*one.gain.months),
        bits_told(one.gain.date_bits, one.gain.standard_error).removesuffix(" bit"),
        *falls,
        str(one.invasiveness),
        f"{one.minutes:.0f}",
        one.consent,
        one.advice,
        named,
    )
