"""Receipt, permission sheet, agreement, insurer's schedule, work sheet, screw sheet, labels.

Papers of a sale's money are made in `heelstamp.casework.papers.sale_papers`.

Each is made from the record and, where sums stand in it, from the terms as the shop declared them.
They go to the consignor, the insurer or the bench and hold what these know already: names, the full
number, sums. None of those made here is for a buyer.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from heelstamp.casework.condition.describe import describe_condition
from heelstamp.casework.feature_names import heading, part_label, reader_words
from heelstamp.casework.intake import door_view
from heelstamp.casework.papers.condition_section import grade_statements, is_condition
from heelstamp.casework.papers.form import FormLabel, FormPaper, FormSection, FormTable, day_of
from heelstamp.casework.papers.making import Making
from heelstamp.casework.papers.playing_section import playing_section
from heelstamp.casework.papers.sale_papers import SALE_PAPERS
from heelstamp.casework.receipt import receipt
from heelstamp.catalogue import Photograph, amount_words
from heelstamp.units import Quantity
from heelstamp.valuation.settlement import Settlement
from heelstamp.wording import about_forms

PICTURES_MAX = 6
SIGN_BOTH = ("Who hands it over", "Who takes it in, for the shop")


def receipt_paper(made: Making) -> FormPaper:
    """Who handed over what, how it looked, at what value, signed by both.

    Raises
    ------
    InputError
        It was never taken in.
    """
    found = receipt(made.state, made.tree)
    passed = found.passed
    day = made.day_words(day_of(made.state, passed.id))
    before = made.state.entered[passed.id].seq
    weight = (
        ""
        if passed.weight_g is None
        else str(Quantity(passed.weight_g, "g", passed.weight_uncertainty_g or 0.0))
    )
    identity = [row for row in made.identity() if row[0] != "Weight"]
    facts = [("Number", found.number), *identity, ("Weight", weight or "not weighed")]
    facts += [("From", passed.giver), ("Taken in by", passed.receiver), ("On", day)]
    pictures = [one for one in found.photographs if one.light == "visible"]
    sections = [
        FormSection(
            "Handed over",
            (
                about_forms.receipt_says.say(giver=passed.giver, receiver=passed.receiver, day=day),
                *((passed.note,) if passed.note else ()),
                *made.value(),
            ),
        ),
        FormSection(
            "Condition as it came", _condition(made, before), frames=_ids(pictures[:PICTURES_MAX])
        ),
    ]
    if found.contents:
        rows = tuple((one.item, one.link, one.note) for one in found.contents)
        sections.append(
            FormSection("In the case", table=FormTable(("Thing", "Link", "Note"), rows))
        )
    hashes = tuple((one.id, heading(reader_words(one.slot)), one.file) for one in found.photographs)
    if hashes:
        sections.append(
            FormSection(
                "Photographs",
                (about_forms.pictures_listed.say(count=len(hashes)),),
                FormTable(("Photograph", "Shows", "SHA-256"), hashes),
            )
        )
    sections.append(
        FormSection("Signed", (about_forms.receipt_infers_nothing.say(),), signatures=SIGN_BOTH)
    )
    return made.paper("receipt", facts, sections)


def permission_paper(made: Making) -> FormPaper:
    """What the owner allows, act by act, to be signed."""
    askings = door_view(made.state, made.tree).askings
    rows = tuple(
        (heading(reader_words(one.act)), reader_words(one.opens), one.standing, one.condition, "")
        for one in askings
    )
    head = ("Act", "Shows", "As entered", "On condition", "Initials")
    sections = [
        FormSection("What may be done", (about_forms.permission_asked.say(),)),
        FormSection("Act by act", table=FormTable(head, rows)),
        FormSection("Signed", signatures=("The owner", "For the shop")),
    ]
    return made.paper("permission", made.identity(), sections)


def agreement_paper(made: Making) -> FormPaper:
    """The terms, and what the consignor nets at three prices."""
    sections = []
    if made.agreed:
        table = FormTable(("What", "Agreed"), tuple(made.agreed))
        sections.append(FormSection("Price, rates and days", table=table))
    if made.terms is not None and made.prices:
        found = [made.terms.settled(price) for price in made.prices]
        head = ("Line", *(f"at {price}" for price in made.prices))
        rows = [
            (one.name, *(_line(settled, one.name) for settled in found)) for one in found[0].lines
        ]
        rows.append(("Net to you", *(str(one.net) for one in found)))
        columns = tuple(range(1, len(head)))
        sections.append(FormSection("What you net", table=FormTable(head, tuple(rows), columns)))
    words = (*made.clauses, ("Insurance", " ".join(made.value())))
    table = FormTable(("About", "Agreed"), words)
    sections.append(FormSection("In words", table=table))
    sections.append(
        FormSection(
            "Signed",
            (about_forms.agreement_advice.say(),),
            signatures=("The consignor", "For the shop"),
        )
    )
    return made.paper("agreement", made.identity(), sections)


def insurance_paper(made: Making) -> FormPaper:
    """The owner, the value and what identifies the instrument, for the insurer alone."""
    owner = next((one.giver for one in made.state.custody.values() if one.event == "received"), "")
    last = list(made.state.custody.values())
    place = last[-1].place if last else ""
    facts = [("Owner", owner or "not entered"), *made.identity(), ("Kept at", place)]
    pictures = [
        one
        for one in made.state.photographs.values()
        if one.slot in ("overall-front", "overall-back", "head-front", "plate", "reassembled")
    ]
    sections = [
        FormSection("Value", made.value()),
        FormSection("Condition", _condition(made), frames=_ids(pictures[:PICTURES_MAX])),
    ]
    return made.paper("insurance", facts, sections)


def work_paper(made: Making) -> FormPaper:
    """What was done and what came of it: acts in order, readings as found and after."""
    rows = []
    for one in made.state.treatments.values():
        part = heading(part_label(made.tree, one.part))
        amount = ", ".join(filter(None, (one.material, amount_words(one))))
        rows.append(
            (
                made.day_words(day_of(made.state, one.id)),
                part,
                reader_words(one.act),
                amount,
                "yes" if one.reversible else "no",
                one.reason,
            )
        )
    head = ("Day", "Part", "Act", "Material, amount", "Reversible", "Reason")
    playing = playing_section(made.state, made.tree, lengths=made.lengths)
    readings = tuple((one.measure, one.found, one.final) for one in playing.rows)
    sections = [
        FormSection(
            "What was done",
            (about_forms.work_told.say(),),
            FormTable(head, tuple(rows)) if rows else None,
        ),
        FormSection(
            "Readings",
            tuple(one.text for one in playing.told),
            FormTable(("Reading", "As found", "After the work"), readings) if readings else None,
        ),
    ]
    return made.paper("work", made.identity(), sections)


def screws_paper(made: Making) -> FormPaper:
    """Every screw that was taken out, by opening and number, with room to tick it back in."""
    sections = []
    for label, out, back, screws in made.trays:
        rows = tuple((*one, "") for one in screws)
        told = about_forms.screws_told.say(opening=heading(label), out=out, back=back)
        head = ("No.", "Head, drive", "Length", "Note", "Back in")
        sections.append(
            FormSection(heading(label), (told,), FormTable(head, rows) if rows else None)
        )
    sections.append(FormSection("Caution", (about_forms.screw_caution.say(),)))
    return made.paper("screws", made.identity(), sections)


def labels_paper(made: Making) -> FormPaper:
    """Labels: the instrument, its case, each thing of the case, each tray of screws."""
    one = made.state.instrument
    name = f"{one.maker} {one.model}"
    labels = [
        FormLabel(one.tag, (one.tag, name)),
        FormLabel(f"{one.tag} case", (one.tag, name, "Case")),
    ]
    labels += [
        FormLabel(f"{one.tag} {thing.id}", (one.tag, heading(thing.item)))
        for thing in made.state.contents.values()
    ]
    labels += [
        FormLabel(
            f"{one.tag} screws {label}",
            (one.tag, f"Screws: {label}", f"{len(screws)} counted" if screws else ""),
        )
        for label, _, _, screws in made.trays
    ]
    return made.paper("labels", (), labels=labels)


PAPERS: dict[str, Callable[[Making], FormPaper]] = {
    "receipt": receipt_paper,
    "permission": permission_paper,
    "agreement": agreement_paper,
    "insurance": insurance_paper,
    "work": work_paper,
    "screws": screws_paper,
    "labels": labels_paper,
    **SALE_PAPERS,
}
"""Every paper of the shop, by name."""


def _condition(made: Making, before: int | None = None) -> tuple[str, ...]:
    """Grades and damage; on a receipt only what was entered *before* that number."""
    told = (
        [] if before is not None else [one.text for one in grade_statements(made.state, made.tree)]
    )
    for place, said in describe_condition(made.state, made.tree).places:
        if before is None or made.state.entered[place.id].seq < before or place.visit == "intake":
            told.append(said.text)
    for one in made.state.observations.values():
        if before is not None and made.state.entered[one.id].seq > before:
            continue
        if is_condition(one):
            seen = ", ".join(
                filter(None, (made.names.name(one.subject), made.names.variant(one.outcome or "")))
            )
            note = f" ({one.note.rstrip('.')})" if one.note else ""
            part = heading(part_label(made.tree, one.part))
            told.append(about_forms.as_received.say(part=part, seen=f"{seen}{note}"))
    return tuple(told) or (about_forms.no_condition_noted.say(),)


def _line(settled: Settlement, name: str) -> str:
    return next((str(one.amount) for one in settled.lines if one.name == name), "")


def _ids(pictures: Sequence[Photograph]) -> tuple[str, ...]:
    return tuple(one.id for one in pictures)
