"""What was seen, measured, told and done, taken straight from the record.

Rule 1: these are facts of the examination, in the record's own words. Rule 9: absent, not looked
at, illegible and not applicable never stand for each other. Rule 14: what the shop did and what it
earns. Free text is quoted as it was written and refused when it holds a banned word.
"""

from __future__ import annotations

from typing import Literal

from heelstamp.units import Quantity
from heelstamp.wording.sentences import sentence

Unread = Literal["not looked", "absent", "illegible", "not applicable"]
UNREAD: tuple[Unread, ...] = ("not looked", "absent", "illegible", "not applicable")
"""The four kinds of nothing (rule 9), as entries name them."""
UNREAD_WORDS: dict[str, str] = {"not looked": "not looked at"}
"""Words for those that a reader meets otherwise than entries have them."""
_STAGES = {"found": ", as found", "plan": ", planned", "final": ", after the work", "": ""}
_LINKS = {
    "names serial": "it names the serial number",
    "same period": "it is of the same period and does not name the instrument",
    "unrelated": "nothing links it to the instrument",
    "": "its link to the instrument was not recorded",
}


@sentence("mark seen", "seen", 1)
def mark_seen(*, part: str, mark: str) -> str:
    return f"{part}: {mark}."


@sentence("feature seen", "seen", 1)
def feature_seen(*, part: str, feature: str, variant: str) -> str:
    """Which variant of a feature is there; *feature* is empty where it is the part itself."""
    return f"{part}: {feature + ':' if feature else ''} {variant}."


@sentence("serial seen", "seen", 1)
def serial_seen(*, part: str, number: str) -> str:
    """A serial number; masking for the reader is done on the whole document."""
    return f"{part}: number {number}."


@sentence("sign seen", "seen", 1)
def sign_seen(*, part: str, sign: str, outcome: str) -> str:
    return f"{part}: {sign}, {outcome}."


@sentence("document seen", "seen", 1)
def document_seen(*, part: str, document: str, link: str) -> str:
    """A paper that came with the instrument, and what links the two."""
    return f"{part}: {document}; {_LINKS.get(link, link)}."


@sentence("measured", "measured", 1)
def measured(
    *,
    part: str,
    quantity: str,
    value: Quantity,
    stage: str = "",
    temperature_c: float | None = None,
) -> str:
    """A measured value with unit, standard uncertainty and temperature."""
    if value.unit == "1/turn":
        quantity = quantity if "per turn" in quantity else f"{quantity}, per turn"
        value = Quantity(value.value, "1", value.uncertainty)
    stated = str(value) if value.uncertainty else f"{value} (uncertainty not recorded)"
    temperature = "" if temperature_c is None else f", at {temperature_c:g} °C"
    return f"{part}: {quantity} {stated}{_STAGES.get(stage, f', {stage}')}{temperature}."


@sentence("reported", "seen", 1)
def reported(*, role: str, about: str, text: str, signed: bool) -> str:
    """What someone told, by role and never by name, signed or not."""
    form = "in a signed statement" if signed else "not signed"
    return f"{role}, {form}, about the {about}: “{text}”"


@sentence("treatment", "seen", 14)
def treatment(
    *,
    part: str,
    act: str,
    material: str = "",
    amount: str = "",
    minutes: float | None = None,
    reversible: bool,
    reason: str = "",
) -> str:
    """One act of ours (rule 14)."""
    told = f", with {material}" if material else ""
    told += f", {amount}" if amount else ""
    told += "" if minutes is None else f", {minutes:g} min"
    why = f" Reason: {reason.rstrip('.')}." if reason else ""
    return f"{part}: {act}{told}; {'reversible' if reversible else 'not reversible'}.{why}"


@sentence("clock unsure", "seen", 14)
def clock_unsure(*, count: int) -> str:
    """The machine's clock ran back against the journal."""
    told = "The time of one entry is" if count == 1 else f"The times of {count} entries are"
    return f"{told} not sure: the clock ran back against the journal. No paper names a day by them."


@sentence("no treatment", "seen", 14)
def no_treatment() -> str:
    return "No act beyond looking and measuring is recorded."


@sentence("interest", "opinion", 14)
def interest(*, what: str) -> str:
    """What the shop gains by the sale (rule 14)."""
    return f"Our interest: {what.rstrip('.')}."
