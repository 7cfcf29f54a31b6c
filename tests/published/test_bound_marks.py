"""Law- and material-bound marks against the dates of their sources (docs/bibliography.bib)."""

import pytest

from heelstamp.marks import read
from heelstamp.reference.tables import mark_context
from heelstamp.units import Period, parse_month

CONTEXT = mark_context(span=Period.parse(["1900-01", "2025-12"]))

NOT_BEFORE = [
    ("us_zip5", "1963-07", "Post Office Publication 59: five-digit code, 1 July 1963"),
    ("us_state2", "1963-10", "Publication 59: list of October 1963"),
    ("us_state_ne", "1969-11", "Postal history: NB became NE in November 1969"),
    ("us_areacode", "1947-10", "numbering plan of 1947"),
    ("reg_r", "1946-07", "Act of 5 July 1946, 60 Stat. 427"),
    ("upc", "1974-06", "GS1 history: first scan 26 June 1974"),
    ("weee_bin", "2005-08", "Directive 2002/96/EC arts 10(3), 11(2): after 13 August 2005"),
    ("tio2_rutile", "1938-01", "CAMEO: only anatase before 1938"),
    ("brightener_paper", "1950-01", "JAIC 44(1) 2005: none among samples of 1896 to 1949"),
    ("chromium_hexavalent", "1924-05", "Plating and Surface Finishing 71(6) 1984, 84-91"),
    ("source_date", "1945-01", "EIA-476-B abstract: operated since 1945"),
]
NOT_AFTER = [
    ("us_postal_zone", "1963-07", "replaced by the five-digit code on 1 July 1963"),
    ("us_state_nb", "1969-11", "Postal history: NB became NE in November 1969"),
]


@pytest.mark.parametrize(("mark", "month", "source"), NOT_BEFORE, ids=lambda one: str(one)[:20])
def test_not_before(mark, month, source):
    row = CONTEXT.bound[mark]
    weights = read("seen", f"bound:{mark}", CONTEXT).likelihood()
    edge = parse_month(month)
    assert weights[edge] == pytest.approx(1.0), source
    assert weights.get(edge - row.margin_before - 1, 0.0) == 0.0, source
    assert weights.get(edge - 1, 0.0) < 1.0, source
    assert weights[CONTEXT.span.last] == pytest.approx(1.0), source


@pytest.mark.parametrize(("mark", "month", "source"), NOT_AFTER, ids=lambda one: str(one)[:20])
def test_not_after(mark, month, source):
    row = CONTEXT.bound[mark]
    weights = read("seen", f"bound:{mark}", CONTEXT).likelihood()
    edge = parse_month(month)
    assert weights[edge] == pytest.approx(1.0), source
    assert 0.0 < weights[edge + 1] < 1.0, source
    assert weights.get(edge + row.margin_after + 1, 0.0) == 0.0, source
