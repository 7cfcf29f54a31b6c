"""What is due: one sentence a rule, with the day and why (rule 13 where money or law is near)."""

from __future__ import annotations

from heelstamp.wording.banned import without_banned as quoted
from heelstamp.wording.sentences import counted, listed, sentence


@sentence("due hit", "seen", 13)
def hit(*, register: str) -> str:
    return (
        f"Stop: {quoted(register)} holds it. Tell the police and take legal advice before anything "
        "is offered, handed over, paid or paid out."
    )


@sentence("due consent", "seen", 2)
def consent(*, acts: list[str]) -> str:
    return f"Ask the owner: nobody did yet about {listed([quoted(one) for one in acts])}."


@sentence("due rest", "seen", 2)
def rest(*, day: str, days: int) -> str:
    return (
        f"Read the relief again: strings were fitted on {day}, and a neck moves for about "
        f"{counted(days, 'day')}."
    )


@sentence("due revaluation", "opinion", 13)
def revaluation(*, day: str) -> str:
    return f"Value it anew for insurance: the sum was agreed on {day}, a year before."


@sentence("due search", "seen", 13)
def search(*, register: str, day: str, days: int) -> str:
    return (
        f"Search {quoted(register)} again: the last search of {day} is {days} days old by then, "
        "and shows only that day."
    )


@sentence("due price cut", "opinion", 13)
def price_cut(*, price: str, first: str) -> str:
    return f"Lower the asking price to {price}, as agreed, counted from the first offer on {first}."


@sentence("due term", "seen", 13)
def term(*, days: int, received: str) -> str:
    return f"The term of {days} days since {received} ends: agree anew, or give it back."


@sentence("due hold", "seen", 13)
def hold(*, party: str, place: int) -> str:
    turn = "It is first in the queue" if place == 1 else f"It stands at place {place} of the queue"
    return f"The hold of {quoted(party)} ends. {turn}."


@sentence("due deposit", "seen", 13)
def deposit(*, party: str) -> str:
    return f"Nothing is paid by {quoted(party)} since the price was agreed: ask for the deposit."


@sentence("due balance", "seen", 13)
def balance(*, party: str, left: str) -> str:
    return f"{left} of the price is not paid by {quoted(party)}: ask for the balance."


@sentence("due funds", "seen", 13)
def funds(*, sum_: str, means: str, day: str) -> str:
    return (
        f"Look whether {sum_} by {means} of {day} has cleared; nothing leaves the shop and nothing "
        "is paid out on money that can still be called back."
    )


@sentence("due collection", "seen", 13)
def collection(*, party: str) -> str:
    return f"It is paid and still here: hand it to {quoted(party)}, or to the carrier."


@sentence("due delivery", "seen", 13)
def delivery() -> str:
    return "Enter the day on which it reached the buyer: the return window runs from then."


@sentence("due window", "seen", 13)
def window() -> str:
    return "The return window is over: the sale is final from today unless it comes back."


@sentence("due payout", "seen", 13)
def payout(*, left: str, final: str) -> str:
    return f"Pay {left} to the consignor: the sale is final since {final}."


@sentence("due settling", "seen", 13)
def settling() -> str:
    return "Everything is paid out: settle the sale."


@sentence("due refund", "seen", 13)
def refund(*, left: str) -> str:
    return f"It came back: give the buyer {left} back."


@sentence("due cover", "seen", 13)
def cover(*, until: str) -> str:
    return f"Renew the cover that ends on {until}, or agree that there is none."


@sentence("due panel", "seen", 2)
def panel(*, day: str) -> str:
    return f"Photograph the panel: the last time was {day}."


@sentence("due follow-up", "seen", 13)
def follow_up(*, day: str) -> str:
    return f"Ask the buyer how it is: it was handed over on {day}, a year before."


@sentence("due enquiry", "seen", 9)
def enquiry(*, party: str, day: str) -> str:
    return f"Answer {quoted(party)}, who asked on {day}."


@sentence("due viewing", "seen", 13)
def viewing(*, party: str) -> str:
    return f"{quoted(party)} comes to see it: photograph it before and after."


@sentence("due after viewing", "seen", 9)
def after_viewing(*, party: str, day: str) -> str:
    return (
        f"Photograph it: {quoted(party)} had it in hand on {day}, and nothing shows how it was "
        "afterwards."
    )


@sentence("due names", "seen", 13)
def names(*, count: int) -> str:
    return f"Erase {counted(count, 'name')} whose time is over, or keep them with a reason."


@sentence("due backup", "seen", 2)
def backup(*, last: str) -> str:
    told = f"the last one is of {last}" if last else "no backup of it is known"
    return f"Back the shop up: {told}."
