"""The issued report carries its doubts: section, first page, and the data beside the finding."""

import io
import json
from pathlib import Path

import pikepdf
import pytest
from test_report_pdf import text_of

from heelstamp.shop.opened import load_subject
from heelstamp.shop.reports import told_to, typeset_report
from heelstamp.shop.subjects import Subject, date_subject, doubts_of

HERO = Path(__file__).parents[2] / "examples" / "wherry-s10350.toml"
AT = "2026-11-24T10:00:00Z"


@pytest.fixture(scope="module")
def subject() -> Subject:
    return load_subject(str(HERO), Path())


@pytest.fixture(scope="module")
def paper(subject: Subject) -> bytes:
    return typeset_report(subject, "buyer", at=AT)


def test_what_would_change_it_is_told_and_its_table_follows_the_evidence(paper: bytes) -> None:
    text = text_of(paper).replace("\u00a0", " ")
    assert "How we came to this, and what would change it" in text
    assert "The date hangs most on the volume pot" in text
    assert "Words that claim less are printed where another assumption does not bear out" in text
    assert text.index("One assumption changed at a time") > text.index("Inferred")
    assert "Above: probability of each month" in text


def test_the_first_page_names_the_changed_part_in_what_holds(paper: bytes) -> None:
    first = text_of(paper, slice(0, 1)).replace("\u00a0", " ")
    assert "The 4th-string tuner is very probably not the first fitted" in " ".join(first.split())
    assert "not settled" not in first


def test_the_doubts_travel_with_the_finding(paper: bytes, subject: Subject) -> None:
    with pikepdf.open(io.BytesIO(paper)) as pdf:
        names = sorted(pdf.attachments)
        data = json.loads(pdf.attachments["doubts.json"].get_file().read_bytes())
    assert names == ["doubts.json", "examination.json", "finding.json"]
    shown = told_to(subject, "buyer").subject
    found = doubts_of(shown, date_subject(shown))
    assert data["digest"] == found.digest
    assert data["finding"] == found.finding
    assert data["digest"] != doubts_of(subject, date_subject(subject)).digest
    assert "S10350" not in json.dumps(data)
