"""The consignor's statement as PDF/A-3a and PDF/UA-1, one page, its data inside.

The same typesetter, fonts and standards as the examination report (``typst_report``).
"""

from __future__ import annotations

import json
from datetime import datetime

import msgspec

from heelstamp.casework.appraisal.consignor_page import ConsignorPage
from heelstamp.errors import InputError
from heelstamp.report.typesetting import MAIN
from heelstamp.report.typst_report import HERE, typeset

TEMPLATE = HERE / "templates" / "statement.typ"


def render_statement(
    page: ConsignorPage, *, timestamp: datetime, program: str, demonstration: bool = False
) -> bytes:
    """Typeset the page; equal content and timestamp give equal bytes.

    Parameters
    ----------
    timestamp
        Written into the file as its time of making; needs a time zone.
    demonstration
        Say on the page that everything in it is invented.

    Raises
    ------
    InputError
        The timestamp has no zone.
    StorageError
        The typesetter could not run.
    """
    if timestamp.tzinfo is None:
        raise InputError(
            "the time of a paper has no zone", received=timestamp, remedy="Give it in UTC."
        )
    document = {
        "page": msgspec.to_builtins(page),
        "program": program,
        "footer": f"{program}, {timestamp.date().isoformat()}",
        "banner": "DEMONSTRATION: maker, instrument, sums and people are invented."
        if demonstration
        else "",
    }
    files = {
        MAIN: TEMPLATE.read_bytes(),
        "document.json": json.dumps(document, ensure_ascii=False, sort_keys=True).encode(),
    }
    return typeset(files, timestamp)
