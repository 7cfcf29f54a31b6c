"""The consignor's statement of a priced subject, as PDF or text."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp import __version__
from heelstamp.errors import InputError
from heelstamp.shop.files import write_whole
from heelstamp.shop.folder import now

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.casework.appraisal.consignor_page import ConsignorPage
    from heelstamp.casework.appraisal.finding import PriceFinding
    from heelstamp.shop.subjects import Subject

ENDINGS = (".pdf", ".txt")


def statement(subject: Subject, terms: Terms | None, finding: PriceFinding) -> ConsignorPage:
    """Return the page as plain values.

    Raises
    ------
    InputError
        There are no terms of consignment.
    """
    from heelstamp.casework.appraisal.consignor_page import consignor_page
    from heelstamp.casework.papers.evidence_section import acts_done
    from heelstamp.valuation.money import Money

    settled = finding.settlement
    if terms is None or settled is None:
        raise InputError(
            "a statement needs terms of consignment",
            where=subject.name,
            remedy="Name them with --terms, or write them under Money, Terms of consignment.",
        )
    instrument = subject.state.instrument
    return consignor_page(
        terms,
        Money.nearest(settled.price, finding.market.currency),
        instrument=f"{instrument.maker} {instrument.model}, {subject.name}",
        basis=settled.basis.lstrip(", "),
        done=acts_done(subject.state),
        left=[one.label for one in finding.without_inspection if not one.examined],
        today=date.fromisoformat(now()[:10]),
    )


def write_statement(page: ConsignorPage, path: Path, *, demonstration: bool) -> None:
    """Write the page whole to a file.

    Raises
    ------
    InputError
        The file's name ends neither .pdf nor .txt.
    StorageError
        The typesetter could not run, or the file could not be written.
    """
    ending = path.suffix.lower()
    if ending not in ENDINGS:
        raise InputError(
            "a statement is PDF or text", received=path.name, remedy="End its name .pdf or .txt."
        )
    if ending == ".txt":
        write_whole(path, ("\n".join(page.lines()) + "\n").encode("utf-8"))
    else:
        write_whole(path, statement_pdf(page, demonstration=demonstration))


def statement_pdf(page: ConsignorPage, *, demonstration: bool) -> bytes:
    """Return the page as PDF.

    Raises
    ------
    StorageError
        The typesetter could not run.
    """
    from heelstamp.report.consignor_statement import render_statement

    return render_statement(
        page,
        timestamp=datetime.fromisoformat(now()).astimezone(UTC),
        program=f"Heelstamp {__version__}",
        demonstration=demonstration,
    )
