"""The consignor's statement of a priced subject, written whole as PDF or text."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp import __version__
from heelstamp.shop.appraisals import terms_for, today
from heelstamp.shop.files import write_whole
from heelstamp.shop.folder import is_shop, now
from heelstamp.shop.subjects import Subject
from heelstamp.errors import InputError

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignor_page import ConsignorPage
    from heelstamp.casework.appraisal.finding import PriceFinding


def write_statement(
    subject: Subject, shop: Path, terms: Path | None, finding: PriceFinding, path: Path
) -> ConsignorPage:
    """Write the page, and give it.

    Raises
    ------
    InputError
        There are no terms of consignment, or the file's name ends neither .pdf nor .txt.
    StorageError
        The typesetter could not run, or the file could not be written.
    """
    page = statement_page(subject, shop, terms, finding)
    ending = path.suffix.lower()
    if ending not in (".pdf", ".txt"):
        raise InputError(
            "a statement is PDF or text", received=path.name, remedy="End its name .pdf or .txt."
        )
    if ending == ".txt":
        write_whole(path, ("\n".join(page.lines()) + "\n").encode("utf-8"))
        return page
    write_whole(path, statement_pdf(page, demonstration=subject.chronology.invented))
    return page


def statement_page(
    subject: Subject, shop: Path, terms: Path | None, finding: PriceFinding
) -> ConsignorPage:
    """Give the page as plain values.

    Raises
    ------
    InputError
        There are no terms of consignment.
    """
    from heelstamp.casework.appraisal.consignor_page import consignor_page
    from heelstamp.valuation.money import Money

    found = terms_for(shop if is_shop(shop) else None, terms, subject.name)
    settled = finding.settlement
    if found is None or settled is None:
        raise InputError("a statement needs terms of consignment", remedy="Name them with --terms.")
    instrument = subject.state.instrument
    return consignor_page(
        found,
        Money.nearest(settled.price, finding.market.currency),
        instrument=f"{instrument.maker} {instrument.model}, {subject.name}",
        basis=settled.basis.lstrip(", "),
        done=[one.act for one in subject.state.treatments.values()],
        left=[one.label for one in finding.without_inspection if not one.examined],
        today=today(),
    )


def statement_pdf(page: ConsignorPage, *, demonstration: bool) -> bytes:
    """Typeset the page.

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
