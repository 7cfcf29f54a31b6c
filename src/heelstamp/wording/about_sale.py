"""A sale: what stands against its next step, and what lifts that (rule 13).

Every block names what lifts it. A hit in a list names whom to ask first; nothing here is legal
advice. Words of the record are quoted, and a phrase that no paper may carry is left out of them.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import sentence


@sentence("sale block hit", "seen", 13)
def block_hit(*, register: str, result: str) -> str:
    return (
        f"{quoted(register)}: {quoted(result.rstrip('.'))}. Stop: offer nothing, hand nothing "
        "over, pay nothing out. Tell the police and take legal advice first, and ask who keeps the "
        "list. A later search of the same list without a hit lifts it; an override does not."
    )


@sentence("sale block note", "seen", 13)
def block_note(*, note: str) -> str:
    return f"An open note on title: {quoted(note)}. Closing the note lifts it."


@sentence("sale block search", "seen", 13)
def block_search() -> str:
    return (
        "No list of stolen goods was searched, as far as recorded. A search entered with list and "
        "result lifts it."
    )


@sentence("sale block materials", "seen", 13)
def block_materials() -> str:
    return (
        "Nobody looked for protected materials, as far as recorded. Entering what was found, or "
        "that nothing was, lifts it."
    )


@sentence("sale block owner", "seen", 13)
def block_owner(*, role: str) -> str:
    return f"No signature of {quoted(role)} stands. The day on which they signed lifts it."


@sentence("sale block no owner", "seen", 13)
def block_no_owner() -> str:
    return (
        "Nobody is entered as owner. An owner with the day of their signature, or a signed "
        "statement of ownership, lifts it."
    )


@sentence("sale block consent", "seen", 13)
def block_consent(*, act: str, standing: str) -> str:
    return (
        f"It was done, and the owner's consent to it is {standing}: {quoted(act)}. The owner's "
        "answer lifts it."
    )


@sentence("sale block terms", "seen", 13)
def block_terms() -> str:
    return "No terms of consignment hold for it. Agreeing terms under Money lifts it."


@sentence("sale block unsigned", "seen", 13)
def block_unsigned() -> str:
    return (
        "Nobody signed the terms that hold for it. The consignor's signature, on the screen or on "
        "paper, entered under Money, Terms, lifts it."
    )


@sentence("sale block other sum", "seen", 13)
def block_other_sum(*, due: str) -> str:
    return f"Of what the buyer paid and kept the terms make {due} due. Entering that sum lifts it."


@sentence("sale block near number", "seen", 13)
def block_near(*, number: str, where: str) -> str:
    return (
        f"The number {quoted(number)} in {quoted(where)} may be this one. Entering how it was "
        "settled lifts it."
    )


@sentence("sale block material", "seen", 13)
def block_material(*, rule: str, question: str) -> str:
    return f"{quoted(rule)}: {quoted(question)} An answer lifts it."


@sentence("sale block unpaid", "seen", 13)
def block_unpaid(*, state: str) -> str:
    return (
        f"The sale is {state}. It may go to a buyer once it is paid in cleared funds; the steps up "
        "to paid lift it."
    )


@sentence("sale block packed", "seen", 13)
def block_packed() -> str:
    return (
        "How it was packed for this sale is not entered: weight, sides, seal, photographs. "
        "Entering it under Shipping lifts it."
    )


@sentence("sale block custody", "seen", 13)
def block_custody(*, custody: str) -> str:
    return (
        f"It is {custody}. Entering under Intake that it went to the carrier or to the buyer "
        "lifts it."
    )


@sentence("sale overridden", "seen", 13)
def overridden(*, step: str, reason: str) -> str:
    return f"The owner of the shop let \u201c{step}\u201d pass: {quoted(reason)}."


@sentence("sale paid before clearance", "seen", 13)
def paid_uncleared() -> str:
    return "A price paid is entered while what follows is not settled."


@sentence("sale time chances", "inferred", 13)
def time_chances(*, chances: Sequence[tuple[int, float]]) -> str:
    told = ", ".join(f"within {weeks} weeks {100 * share:.0f} %" for weeks, share in chances)
    return f"Chance of a sale from now on: {told}."


@sentence("sale time range", "inferred", 13)
def time_range(*, low: float | None, high: float | None) -> str:
    first = "more than ten years" if low is None else _weeks(low)
    last = "more than ten years" if high is None else _weeks(high)
    return (
        f"Eight of ten such pieces are sold after {first} to {last}. Chance rules a single sale: "
        "the range is that wide however much is known."
    )


@sentence("sale time waited", "inferred", 13)
def time_waited(*, weeks: int) -> str:
    return (
        f"It was on offer for {_weeks(float(weeks))} without a buyer, holds left out; that speaks "
        "for fewer buyers at this price, and is counted."
    )


@sentence("sale time prior", "inferred", 13)
def time_prior() -> str:
    return "This is common practice alone: no sale of this shop is in it."


@sentence("sale time learned", "inferred", 13)
def time_learned(*, sold: int, unsold: int) -> str:
    return (
        f"Learned from {sold} sold and {unsold} unsold of this shop's offers, beside common "
        "practice."
    )


@sentence("sale time left out", "inferred", 13)
def time_left_out(*, count: int) -> str:
    which = "1 offer is" if count == 1 else f"{count} offers are"
    return f"{which} left out: no value was kept on the first day, or a week is not over."


@sentence("sale time approximate", "inferred", 13)
def time_approximate() -> str:
    return "The figures are approximate: what was sold fits what was expected badly."


def _weeks(weeks: float) -> str:
    whole = max(1, round(weeks))
    return "1 week" if whole == 1 else f"{whole} weeks"
