"""What a first call comes down to: the maker's chronology, the market and the pictures joined.

Told for pages and command alike. Months and price come from the same engines as those of a
dossier, with nothing seen and the owner's words at their own strength.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from heelstamp.errors import HeelstampError
from heelstamp.shop.prices import currency_of, sources_of
from heelstamp.shop.subjects import Subject, chronology_for

if TYPE_CHECKING:
    from heelstamp.casework.first_call.asked import Question
    from heelstamp.casework.first_call.describe import CallTold, PriceTold
    from heelstamp.casework.first_call.record import FirstCall
    from heelstamp.casework.first_call.strength import Months
    from heelstamp.chronology import Chronology
    from heelstamp.shop.opened import OpenShop


@dataclass(frozen=True)
class CallWeighed:
    """What a call comes down to, and the questions it was asked.

    Attributes
    ----------
    age
        How the age that was told lies to the range, or nothing.
    """

    told: CallTold
    questions: tuple[Question, ...]
    age: str


def call_questions(shop: OpenShop | None, call: FirstCall) -> tuple[Question, ...]:
    """The questions of a call: those of all, and those of its maker."""
    from heelstamp.casework.first_call.record import questions_of
    from heelstamp.reference.first_call import load_first_call

    known = _chronology(shop, call)
    return questions_of(load_first_call(), known, {} if known is None else known.words)


def weigh_call(shop: OpenShop | None, call: FirstCall, at: str) -> CallWeighed:
    """Weigh a call.

    Parameters
    ----------
    shop
        Whose chronologies, comparables and market hold; None for the bundled ones.
    at
        Time in UTC; prices are of its month.
    """
    from heelstamp.casework.first_call.describe import PriceTold, age_said, tell_call
    from heelstamp.reference.first_call import load_first_call

    asked, questions = load_first_call(), call_questions(shop, call)
    known = _chronology(shop, call)
    months, price = None, PriceTold(refused="the maker is not known")
    if known is not None:
        months = _months(shop, call, known)
        price = _price(shop, call, known, months, at)
    told = tell_call(call, asked, questions, months, price)
    return CallWeighed(told, questions, age_said(call, months))


def message_of(weighed: CallWeighed, *, link: str = "", until: str = "") -> str:
    """Write the message to the owner: what to leave alone, what is still wanted."""
    from heelstamp.casework.first_call.message import first_message
    from heelstamp.reference.first_call import load_first_call

    return first_message(
        load_first_call(), weighed.questions, weighed.told.frames, link=link, until=until
    )


def narrowing(shop: OpenShop | None, call: FirstCall) -> list[str]:
    """Say which looks would narrow the ranges most; it takes seconds."""
    from heelstamp.casework.first_call.describe import narrowing_said
    from heelstamp.casework.inspections import plan_inspections
    from heelstamp.reference.stop_rules import load_stop_table
    from heelstamp.reference.tables import mark_context
    from heelstamp.shop.prices import money_gain

    known = _chronology(shop, call)
    if known is None:
        return []
    subject = _nothing_seen(shop, call, known)
    money = money_gain(shop, subject)
    plan = plan_inspections(
        subject.state,
        subject.tree,
        known,
        mark_context(),
        table=load_stop_table(),
        value=money,
        told=_months(shop, call, known).evidence,
    )
    return narrowing_said(plan.options, "" if money is None else money.unit)


def _chronology(shop: OpenShop | None, call: FirstCall) -> Chronology | None:
    if not call.chronology:
        return None
    return chronology_for(call.chronology) if shop is None else shop.chronology(call.chronology)


def _months(shop: OpenShop | None, call: FirstCall, known: Chronology) -> Months:
    from heelstamp.casework.dating import ready_model
    from heelstamp.casework.first_call.strength import months_as_told
    from heelstamp.reference.first_call import load_first_call
    from heelstamp.reference.tables import mark_context

    compiled = ready_model(known) if shop is None else shop.model(known)
    strength = load_first_call().as_told
    return months_as_told(call.answers, known, mark_context(), compiled, strength)


def _price(
    shop: OpenShop | None, call: FirstCall, known: Chronology, months: Months, at: str
) -> PriceTold:
    import numpy as np

    from heelstamp.casework.appraisal.instrument import Given
    from heelstamp.casework.appraisal.procedure import Request, fit_instrument
    from heelstamp.casework.first_call.describe import PriceTold, rounded
    from heelstamp.shop.comparables import sales_of
    from heelstamp.units import parse_month

    rows = [] if shop is None else sales_of(shop, known.id)
    if not rows:
        return PriceTold(refused="the shop has no comparables of this maker")
    subject = _nothing_seen(shop, call, known)
    case = {"yes": True, "no": False}.get(call.answers.get("case", ""))
    request = Request(
        given=Given(case=case),
        as_of=parse_month(at[:7]),
        currency=currency_of(shop, None, rows),
        told=months.evidence,
    )
    try:
        fitted = fit_instrument(subject.state, sources_of(shop, subject, rows), request)
    except HeelstampError as error:
        return PriceTold(refused=error.what)
    low, high = np.exp(fitted.whole.interval(0.9))
    return PriceTold(rounded(float(low), request.currency), rounded(float(high), request.currency))


def _nothing_seen(shop: OpenShop | None, call: FirstCall, known: Chronology) -> Subject:
    from heelstamp.catalogue import Folding
    from heelstamp.reference.parts_trees import tree_loader

    tree = (tree_loader(None) if shop is None else shop.tree_for)(known.kind)
    folding = Folding(tree)
    body = {"kind": known.kind, "maker": known.maker, "model": known.model, "chronology": known.id}
    folding.add("instrument", body, where=call.id)
    return Subject(call.id, folding.state, tree, known, shop)
