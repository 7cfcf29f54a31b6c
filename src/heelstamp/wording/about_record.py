"""Sentences about what was seen, measured, told and done, taken straight from the record.

Rule 1: these are facts of the examination, in the record's own words. Rule 9: absent, not looked,
illegible and not applicable never stand for each other. Rule 14: what the shop did and what it
earns. Free text is quoted as it was written and refused when it holds a banned word.
"""

from __future__ import annotations

from typing import Literal

from heelstamp.errors import InputError
from heelstamp.units import Quantity
from heelstamp.wording.sentences import NO_GROUNDS, Grounds, Statement, listed, write

Unread = Literal["not looked", "absent", "illegible", "not applicable"]
UNREAD: tuple[Unread, ...] = ("not looked", "absent", "illegible", "not applicable")
_STAGES = {"found": ", as found", "plan": ", planned", "final": ", after the work", "": ""}
_LINKS = {
    "names serial": "it names the serial number",
    "same period": "it is of the same period and does not name the instrument",
    "unrelated": "nothing links it to the instrument",
    "": "its link to the instrument was not recorded",
}


def mark_seen(
    statement_id: str, *, part: str, mark: str, grounds: Grounds, reader: str = ""
) -> Statement:
    """Report a mark as it was read, with the reader who read it."""
    by = f" (read by {reader})" if reader else ""
    return write("mark seen", statement_id, grounds, part=part, mark=mark, reader=by)


def feature_seen(
    statement_id: str, *, part: str, feature: str, variant: str, grounds: Grounds
) -> Statement:
    """Report which variant of a feature is there."""
    return write(
        "feature seen",
        statement_id,
        grounds,
        part=part,
        feature=f"{feature}:" if feature else "",
        variant=variant,
    )


def serial_seen(statement_id: str, *, part: str, number: str, grounds: Grounds) -> Statement:
    """Report a serial number; masking for the reader is done before it comes here."""
    return write("serial seen", statement_id, grounds, part=part, number=number)


def sign_seen(
    statement_id: str, *, part: str, sign: str, outcome: str, grounds: Grounds
) -> Statement:
    """Report a physical sign and how it turned out."""
    return write("sign seen", statement_id, grounds, part=part, sign=sign, outcome=outcome)


def document_seen(
    statement_id: str, *, part: str, document: str, link: str, grounds: Grounds
) -> Statement:
    """Report a paper that came with the instrument, and what links the two."""
    return write(
        "document seen",
        statement_id,
        grounds,
        part=part,
        document=document,
        link=_LINKS.get(link, link),
    )


def unread(
    statement_id: str, *, part: str, subject: str, status: Unread, grounds: Grounds
) -> Statement:
    """Report one of the four kinds of nothing (rule 9).

    Raises
    ------
    InputError
        *status* is none of the four.
    """
    if status not in UNREAD:
        raise InputError(
            "not a kind of nothing",
            where=statement_id,
            received=status,
            remedy=f"One of {listed(list(UNREAD), 'or')}.",
        )
    return write(status, statement_id, grounds, part=part, subject=subject)


def measured(
    statement_id: str,
    *,
    part: str,
    quantity: str,
    value: Quantity,
    grounds: Grounds,
    stage: str = "",
    temperature_c: float | None = None,
) -> Statement:
    """Report a measured value with unit, standard uncertainty and temperature."""
    stated = str(value) if value.uncertainty else f"{value} (uncertainty not recorded)"
    return write(
        "measured",
        statement_id,
        grounds,
        part=part,
        quantity=quantity,
        value=stated,
        stage=_STAGES.get(stage, f", {stage}"),
        temperature="" if temperature_c is None else f", at {temperature_c:g} °C",
    )


def reported(
    statement_id: str, *, role: str, about: str, text: str, signed: bool, grounds: Grounds
) -> Statement:
    """Quote what someone told, by role and never by name, signed or not."""
    return write(
        "reported",
        statement_id,
        grounds,
        role=role,
        form="in a signed statement" if signed else "not signed",
        about=about,
        text=text,
    )


def treatment(
    statement_id: str,
    *,
    part: str,
    act: str,
    grounds: Grounds,
    material: str = "",
    amount: str = "",
    minutes: float | None = None,
    reversible: bool,
    reason: str = "",
) -> Statement:
    """Disclose one act of ours (rule 14)."""
    return write(
        "treatment",
        statement_id,
        grounds,
        part=part,
        act=act,
        material=f", with {material}" if material else "",
        amount=f", {amount}" if amount else "",
        minutes="" if minutes is None else f", {minutes:g} min",
        reversible="reversible" if reversible else "not reversible",
        reason=f" Reason: {reason.rstrip('.')}." if reason else "",
    )


def no_treatment(statement_id: str) -> Statement:
    """Say that nothing was done."""
    return write("no treatment", statement_id, NO_GROUNDS)


def interest(statement_id: str, *, what: str) -> Statement:
    """Disclose what the shop gains by the sale (rule 14)."""
    return write("interest", statement_id, NO_GROUNDS, interest=what.rstrip(".") + ".")


def estimate(
    statement_id: str, *, figure: str, date: str, sales: int, grounds: Grounds
) -> Statement:
    """Give a value with its date and the number of sales behind it (rule 13).

    Raises
    ------
    InputError
        No sale stands behind it.
    """
    if sales < 1:
        raise InputError(
            "an estimate needs sales", where=statement_id, received=sales, remedy="Add sold ones."
        )
    told = f"{sales} sale" if sales == 1 else f"{sales} sales"
    return write("estimate", statement_id, grounds, figure=figure, date=date, sales=told)


def legal_note(statement_id: str, *, note: str) -> Statement:
    """Point to a rule of law without advising on it (rule 13)."""
    return write("legal note", statement_id, NO_GROUNDS, note=note.rstrip(".") + ".")


def correction(
    statement_id: str, *, version: int, replaced: int, reason: str, grounds: Grounds
) -> Statement:
    """Name the version that this one replaces, and why (rule 15)."""
    return write(
        "correction",
        statement_id,
        grounds,
        version=str(version),
        replaced=str(replaced),
        reason=reason.rstrip("."),
    )
