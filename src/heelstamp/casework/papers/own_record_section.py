"""From the shop's own record to its sentences and the table of how its words held."""

from __future__ import annotations

from dataclasses import dataclass

from heelstamp.casework.own_record import LEAST_CASES, OwnRecord
from heelstamp.casework.papers.document_rows import RecordRow
from heelstamp.wording import Statement, percent
from heelstamp.wording.about_own_record import (
    record_limits,
    record_of_dates,
    record_of_parts,
    record_small,
    share_words,
)


@dataclass(frozen=True, slots=True)
class OwnRecordSection:
    """Sentences, and one row a word or level of range; both empty where nothing is told."""

    statements: tuple[Statement, ...] = ()
    rows: tuple[RecordRow, ...] = ()


def own_record_section(found: OwnRecord) -> OwnRecordSection:
    """Build the section; few cases are told as few."""
    told: list[Statement] = []
    if not found.stands:
        cases = found.parts + found.dates
        told.append(record_small("record:small", cases=cases, least=LEAST_CASES))
    if found.brier is not None and found.brier_of_share is not None:
        told.append(
            record_of_parts(
                "record:parts",
                cases=found.parts,
                instruments=found.instruments,
                brier=found.brier,
                brier_of_share=found.brier_of_share,
            )
        )
    if found.ranges:
        half, nine_tenths = found.ranges
        told.append(
            record_of_dates(
                "record:dates", cases=found.dates, half=half.held, nine_tenths=nine_tenths.held
            )
        )
    rows = [
        RecordRow(
            band.words,
            percent(band.stated),
            share_words(band.original, band.cases, band.low, band.high),
        )
        for band in found.bands
    ]
    rows += [
        RecordRow(
            f"completed within the {100 * one.level:.0f} % range",
            percent(one.level),
            share_words(one.held, one.cases, one.low, one.high),
        )
        for one in found.ranges
    ]
    if rows:
        told.append(record_limits("record:limits"))
    return OwnRecordSection(tuple(told), tuple(rows))
