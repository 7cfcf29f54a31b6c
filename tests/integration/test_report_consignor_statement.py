"""The consignor's page as a file: archival, accessible, one page, its data inside."""

import io
import json
import tomllib
from datetime import UTC, date, datetime

import pikepdf
import pytest

from heelstamp.casework.appraisal.consignment import parse_terms
from heelstamp.casework.appraisal.consignor_page import ConsignorPage, consignor_page
from heelstamp.errors import InputError
from heelstamp.reference.demonstration import demo_terms
from heelstamp.report.consignor_statement import render_statement
from heelstamp.valuation.money import Money

AT = datetime(2026, 12, 1, 9, 0, tzinfo=UTC)
HOSTILE = '#let x = 1 \\ $y$ *bold* <label> @ref "quoted" // [no] `raw` = Heading'


def page(**changes: object) -> ConsignorPage:
    asked: dict[str, object] = {
        "instrument": "Wherry, H-0001",
        "basis": "sold",
        "done": ["clean control"],
        "left": ["the date of the neck"],
        "today": date(2026, 11, 25),
        **changes,
    }
    terms = parse_terms(tomllib.loads(demo_terms()), where="t")
    return consignor_page(terms, Money.parse("9,100", "USD"), **asked)  # type: ignore[arg-type]


def rendered(made: ConsignorPage, **more: object) -> bytes:
    return render_statement(made, timestamp=AT, program="Heelstamp test", **more)  # type: ignore[arg-type]


def test_one_tagged_archival_page_with_its_data_inside() -> None:
    data = rendered(page(), demonstration=True)
    assert data.endswith(b"\n")
    with pikepdf.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 1
        assert pdf.Root.MarkInfo.Marked
        assert pdf.Root.Lang is not None
        with pdf.open_metadata() as told:
            assert told["pdfaid:part"] == "3"
            assert told["pdfaid:conformance"] == "A"
            assert told["pdfuaid:part"] == "1"
        (name,) = pdf.attachments
        inside = json.loads(pdf.attachments[name].get_file().read_bytes())
    assert inside["page"]["net"] == "7,113.00 USD"
    assert inside["page"]["rows"][0] == [
        "commission",
        "22 % up to 5,000 USD, 14 % above",
        "−1,674.00 USD",
    ]
    assert "invented" in inside["banner"]


def test_equal_content_gives_equal_bytes_and_words_are_never_markup() -> None:
    made = page(instrument=HOSTILE, left=[HOSTILE])
    first = rendered(made)
    assert first == rendered(made)
    with pikepdf.open(io.BytesIO(first)) as pdf:
        assert len(pdf.pages) == 1
        (name,) = pdf.attachments
        inside = json.loads(pdf.attachments[name].get_file().read_bytes())
    assert inside["page"]["instrument"] == HOSTILE


def test_a_time_without_a_zone_is_refused() -> None:
    with pytest.raises(InputError, match="has no zone"):
        render_statement(page(), timestamp=datetime(2026, 12, 1), program="x")  # noqa: DTZ001
