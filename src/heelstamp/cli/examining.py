"""``read`` a mark and ``date`` an instrument."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop, What
from heelstamp.cli.output import bullet, emit, heading, say, table

if TYPE_CHECKING:
    from heelstamp.casework.dating import DateFinding
    from heelstamp.casework.doubts import DoubtFinding
    from heelstamp.casework.papers.said import Said
    from heelstamp.marks import MarkReadings
    from heelstamp.shop.subjects import Subject
    from heelstamp.units import Period

MOST_PRINTED = 12
"""Readings that are printed unless all are asked for."""

LEAST_PRINTED = 0.01
"""Weight of a reading below which two decimals would say too little."""


def read(
    text: Annotated[str, typer.Argument(help="The mark as seen; ? for an unreadable character.")],
    reader: Annotated[
        str, typer.Option("--as", help="Rule to read it by, such as 'written:year2 month2 letter'.")
    ] = "source-date",
    chronology: Annotated[
        str | None, typer.Option(help="Chronology whose knowledge of suppliers counts.")
    ] = None,
    every: Annotated[bool, typer.Option("--all", help="Every reading, not the few first.")] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Read a mark: every reading with its weight, rule and source.

    Example: heelstamp read 137-6-43
    """
    from heelstamp.casework.dating.mark_reading import written_span
    from heelstamp.casework.dating.production import production_of
    from heelstamp.marks import read as read_mark
    from heelstamp.marks.written import PREFIX as WRITTEN
    from heelstamp.reference.tables import mark_context
    from heelstamp.shop.subjects import chronology_for

    one_digit = span = production = None
    if chronology is not None:
        known = chronology_for(chronology, shop)
        one_digit = {row.code: row.one_digit_until for row in known.source_codes}
        production = production_of(known)
        span = written_span(known) if reader.startswith(WRITTEN) else None
    answer = read_mark(text, reader, mark_context(one_digit=one_digit, span=span))
    if as_json:
        emit(
            {
                "text": answer.text,
                "reader": answer.reader,
                "readings": [
                    {
                        "period": one.period.iso(),
                        "weight": one.weight,
                        "rule": one.rule,
                        "source": one.source,
                        "detail": one.detail,
                        "evidence": one.evidence,
                    }
                    for one in answer.readings
                ],
                "rejections": [
                    {"reason": one.reason, "rule": one.rule} for one in answer.rejections
                ],
            }
        )
    else:
        _print_readings(answer, production, every=every)
    return Exit.DONE if answer.readings else Exit.UNDECIDED


def _print_readings(answer: MarkReadings, production: Period | None, *, every: bool) -> None:
    from heelstamp.casework.dating.mark_reading import plausible_first

    if answer.readings:
        shown = plausible_first(answer.readings, production)
        left = 0 if every or len(shown) <= MOST_PRINTED + 1 else len(shown) - MOST_PRINTED
        if left:
            shown = shown[:MOST_PRINTED]
        say(f"“{answer.text}” read as {answer.reader}:")
        rows = [
            (
                str(one.period),
                f"{one.weight:.2f}" if one.weight >= LEAST_PRINTED else f"{one.weight:.1g}",
                one.detail + ("" if one.evidence else " (from memory: shown, never counted)"),
            )
            for one in (shown if left else answer.readings)
        ]
        table(rows, ("months", "weight", "reading"))
        if left:
            say(f"{left} more readings, less plausible: --all shows them, in order of months.")
        sources = dict.fromkeys(one.source for one in answer.readings)
        say("Weights say how well each month explains the text; they are not shares of one.")
        say("Source: " + "; ".join(sources))
    else:
        say(f"“{answer.text}” gives no date as {answer.reader}.")
    if answer.rejections:
        heading("Turned down")
        for one in answer.rejections:
            bullet(one.reason)


def date(
    what: What,
    shop: Shop = HERE,
    with_doubts: Annotated[
        bool,
        typer.Option("--doubts", help="Also: what does not fit, and what the answer hangs on."),
    ] = False,
    as_json: AsJson = False,
) -> int:
    """Date an instrument and state each part.

    Example: heelstamp date examples/wherry-s10350.toml
    """
    from heelstamp.shop.opened import open_subject
    from heelstamp.shop.subjects import date_subject, doubts_of, said_of, sensitivity_of

    with open_subject(what, shop) as (_, subject):
        finding = date_subject(subject)
    varied = sensitivity_of(subject, finding)
    said = said_of(subject, finding, varied)
    doubts = doubts_of(subject, finding, varied) if with_doubts else None
    if as_json:
        more = {} if doubts is None else {"doubts": doubts.data()}
        emit(finding.data() | {"said": said.data()} | more)
    else:
        print_finding(subject, finding, said, doubts)
    if finding.completion.withheld:
        return Exit.UNDECIDED
    against = bool(finding.surprising)
    if doubts is not None:
        against = against or bool(doubts.conflicts or doubts.wear.unexplained)
    return Exit.FINDINGS if against else Exit.DONE


def print_finding(
    subject: Subject, finding: DateFinding, said: Said, doubts: DoubtFinding | None = None
) -> None:
    """Print what a finding says, in the sentences of the papers."""
    from heelstamp.cli.doubts import print_doubts
    from heelstamp.wording.about_parts import figures_explained

    instrument, dated = subject.state.instrument, said.dated
    invented = ", an invented maker" if subject.chronology.invented else ""
    say(
        f"{instrument.maker} {instrument.model}, chronology {finding.chronology} "
        f"of {finding.chronology_edition}{invented}"
    )
    heading(dated.headline)
    say(dated.headline_note)
    say(dated.answer.text)
    for one in dated.inferred:
        bullet(one.text)
    heading("Parts")
    table(
        [
            (row.label, row.said, row.probability, row.changed, row.prior, row.ratio, row.even)
            for row in said.rows
        ],
        ("part", "what can be said", "after", "changed", "before", "ratio", "from even odds"),
    )
    say(figures_explained.say())
    if said.lowered:
        heading("Not settled, or said in words that claim less")
        for why in said.lowered:
            bullet(why)
    unused = [(id_, one.why_not or "") for id_, one in finding.observations.items() if not one.used]
    if unused:
        heading("Recorded, and not used for the date")
        table(unused, ("observation", "why"))
    if doubts is not None:
        print_doubts(subject, finding, doubts)
    say()
    say(f"Finding {finding.digest}")
