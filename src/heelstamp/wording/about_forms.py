"""What the shop's other papers say: receipt, permission, agreement, insurance, work, labels.

Facts and agreed words only; nothing is inferred on them. None is legal, tax or insurance advice,
which each says where it could be taken for it.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.wording.sentences import counted, listed, sentence

TITLES = {
    "receipt": "Receipt",
    "permission": "Permission sheet",
    "agreement": "Consignment agreement",
    "insurance": "Schedule for the insurer",
    "work": "Treatment and setup sheet",
    "screws": "Screw sheet",
    "labels": "Labels",
    "invoice": "Invoice",
    "money": "Receipt for money",
    "refund": "Refund slip",
    "settlement": "Settlement for the consignor",
}
"""Name of each paper."""
READERS = {
    "receipt": "consignor",
    "permission": "consignor",
    "agreement": "consignor",
    "insurance": "insurer",
    "work": "consignor",
    "screws": "shop",
    "labels": "shop",
    "invoice": "buyer",
    "money": "buyer",
    "refund": "buyer",
    "settlement": "consignor",
}
"""To whom each goes."""
READER_LINES = {
    "consignor": "For the consignor and the shop",
    "insurer": "For the insurer; holds the owner and the full number",
    "buyer": "For the buyer; the number is masked",
    "shop": "For the bench",
}


@sentence("receipt says", "seen", 1)
def receipt_says(*, giver: str, receiver: str, day: str) -> str:
    return f"Received by {receiver or 'the shop'} from {giver or 'who is not named'} on {day}."


@sentence("receipt infers nothing", "seen", 1)
def receipt_infers_nothing() -> str:
    return (
        "This receipt tells what was handed over and how it looked. It says nothing of age, "
        "originality or price."
    )


@sentence("condition as received", "seen", 1)
def as_received(*, part: str, seen: str) -> str:
    return f"{part}: {seen}."


@sentence("no condition noted", "seen", 9)
def no_condition_noted() -> str:
    return "No damage was entered before it was taken in; the photographs below show its state."


@sentence("value to insure", "opinion", 13)
def value_to_insure(*, amount: str, day: str, reason: str) -> str:
    why = f": {reason.rstrip('.')}" if reason else ""
    return f"Insured value {amount}, agreed on {day}{why}. Not an appraisal under any licence."


@sentence("no value agreed", "seen", 9)
def no_value_agreed() -> str:
    return "No insured value is agreed yet: agree one before it stays."


@sentence("pictures listed", "seen", 1)
def pictures_listed(*, count: int) -> str:
    return (
        f"{counted(count, 'photograph was', 'photographs were')} taken before it changed hands. "
        "Each is fixed by the SHA-256 of its file, so that neither side can put another in its "
        "place."
    )


@sentence("permission asked", "seen", 14)
def permission_asked() -> str:
    return (
        "What is not allowed here is not done. Opening may use up evidence that no later "
        "examination can see. Ask before you sign."
    )


@sentence("permission row", "seen", 14)
def permission_row(*, act: str, standing: str, condition: str) -> str:
    told = f"; {condition.rstrip('.')}" if condition else ""
    return f"{act}: {standing}{told}."


@sentence("agreement advice", "opinion", 13)
def agreement_advice() -> str:
    return (
        "Laws on consignment, tax and liability differ by place, and goods of private owners may "
        "be treated apart. This is not legal or tax advice: have it read by who may give it."
    )


@sentence("net at a price", "measured", 13)
def net_at(*, price: str, net: str, lines: Sequence[str]) -> str:
    return f"Sold at {price}: {net} to you, after {listed(list(lines))}."


@sentence("work told", "seen", 14)
def work_told() -> str:
    return "Every act of the shop on this instrument that the record holds, in order."


@sentence("sheet refused", "seen", 9)
def sheet_refused(*, missing: Sequence[str]) -> str:
    return f"The setup is not told, for evidence is missing: {listed(list(missing))}."


@sentence("screws told", "seen", 1)
def screws_told(*, opening: str, out: int, back: int) -> str:
    return f"{opening}: {counted(out, 'screw')} out, {back} in place again."


@sentence("screw caution", "opinion", 14)
def screw_caution() -> str:
    return (
        "Start each screw by hand until it runs free in its own thread. Stop where it does not "
        "start, and where lacquer bridges its head."
    )
