"""The finished file: archival, accessible, its data inside, equal bytes, and nothing leaked."""

import io
import json
import re
import time
from dataclasses import replace
from datetime import UTC, datetime

import pikepdf
import pytest

from fakes.demo_dossier import (
    CONSIGNOR,
    SERIAL,
    demo_finding,
    demo_names,
    demo_state,
    guitar_tree,
    picture_files,
)
from fakes.paper_text import text_of
from heelstamp.casework.examination import examination_data
from heelstamp.casework.papers.document import READERS, texts
from heelstamp.casework.papers.document_rows import Check, PartRow
from heelstamp.casework.papers.examination_report import Issue, audience_of, examination_report
from heelstamp.casework.papers.public_record import public_record
from heelstamp.errors import InputError
from heelstamp.report import render_report
from heelstamp.report.payload import payload
from heelstamp.wording import find_banned

NAMES = ("examination.json", "finding.json", "journal.json")
ISSUED = datetime(2026, 11, 4, 12, 0, tzinfo=UTC)
HOSTILE = '#let x = 1 \\ $y$ *bold* _it_ <label> @ref "quoted" // [no] `raw` = Heading'


def document(reader="buyer", **changes):
    issue = Issue("Heelstamp 0.1.0", "2026-11-04", attachments=NAMES, demonstration=True)
    made = examination_report(
        demo_state(), guitar_tree(), demo_finding(), reader=reader, issue=issue, names=demo_names()
    )
    return replace(made, **changes)


def attachments(reader="buyer") -> dict[str, bytes]:
    state = demo_state()
    audience = audience_of(state, reader)
    public = public_record(state, guitar_tree(), audience, pictures={}, kept={}, late={}).state
    extract = examination_data(public)
    return {
        "examination.json": json.dumps(extract).encode(),
        "finding.json": json.dumps(audience.value(demo_finding())).encode(),
        "journal.json": b"[]",
    }


def rendered(made=None, **more) -> bytes:
    given = {
        "timestamp": ISSUED,
        "attachments": attachments(),
        "photographs": picture_files(),
        **more,
    }
    return render_report(made or document(), **given)


@pytest.fixture(scope="module")
def paper() -> bytes:
    return rendered()


@pytest.fixture
def pdf(paper: bytes):
    with pikepdf.open(io.BytesIO(paper)) as opened:
        yield opened


def structure(node, kind: str) -> list:
    found = []
    if isinstance(node, pikepdf.Array):
        for one in node:
            found += structure(one, kind)
    elif isinstance(node, pikepdf.Dictionary):
        if node.get("/S") == kind:
            found.append(node)
        if "/K" in node:
            found += structure(node["/K"], kind)
    return found


def test_it_declares_pdf_a_3a_and_pdf_ua_1(pdf: pikepdf.Pdf) -> None:
    xmp = pdf.Root.Metadata.read_bytes().decode()
    assert re.search(r"pdfaid:part>3<|pdfaid:part=\"3\"", xmp)
    assert re.search(r"pdfaid:conformance>A<|pdfaid:conformance=\"A\"", xmp)
    assert re.search(r"pdfuaid:part>1<|pdfuaid:part=\"1\"", xmp)


def test_it_is_tagged_in_a_language_with_a_colour_and_a_title(pdf: pikepdf.Pdf) -> None:
    root = pdf.Root
    assert bool(root.MarkInfo.Marked)
    assert "/StructTreeRoot" in root
    assert str(root.Lang).startswith("en")
    assert root.OutputIntents[0].S == "/GTS_PDFA1"
    assert bool(root.ViewerPreferences.DisplayDocTitle)
    assert "Wherry" in str(pdf.docinfo.Title)


def test_every_figure_has_an_alternative_text(pdf: pikepdf.Pdf) -> None:
    figures = structure(pdf.Root.StructTreeRoot, "/Figure")
    assert len(figures) >= 2 + 20
    assert all(len(str(one.get("/Alt", ""))) > 15 for one in figures)


def test_headings_do_not_skip_a_level_and_tables_have_headers(pdf: pikepdf.Pdf) -> None:
    tree = pdf.Root.StructTreeRoot
    assert structure(tree, "/H1")
    assert structure(tree, "/H2")
    assert not structure(tree, "/H3")
    tables = structure(tree, "/Table")
    assert len(tables) >= 8
    assert all(structure(table, "/TH") for table in tables)


def test_the_examination_travels_inside(pdf: pikepdf.Pdf) -> None:
    given = attachments()
    assert set(pdf.attachments) == set(NAMES)
    for name in NAMES:
        assert pdf.attachments[name].get_file().read_bytes() == given[name]
        assert pdf.attachments[name].obj.AFRelationship == "/Data"
        assert pdf.attachments[name].get_file().mime_type == "application/json"
    assert len(pdf.Root.AF) == len(NAMES)


def test_every_font_is_embedded(pdf: pikepdf.Pdf) -> None:
    names = set()
    for page in pdf.pages:
        for font in page.Resources.Font.values():
            descendant = font.DescendantFonts[0]
            assert "/FontFile3" in descendant.FontDescriptor
            names.add(str(descendant.BaseFont).split("+")[1].split("-")[0])
    assert names == {"SourceSans3"}


def test_it_ends_with_a_newline_and_has_sheets_of_a4(paper: bytes, pdf: pikepdf.Pdf) -> None:
    assert paper.endswith(b"\n")
    for page in pdf.pages:
        assert [round(float(edge)) for edge in page.mediabox] == [0, 0, 595, 842]


def test_equal_input_gives_equal_bytes(paper: bytes) -> None:
    assert rendered() == paper
    assert rendered(timestamp=datetime(2026, 11, 5, tzinfo=UTC)) != paper


def test_a_report_with_twenty_photographs_takes_two_seconds_at_most() -> None:
    made, given, photographs = document(), attachments(), picture_files()
    begun = time.process_time()
    render_report(made, timestamp=ISSUED, attachments=given, photographs=photographs)
    assert len(made.pictures) == 20
    assert time.process_time() - begun <= 2.0  # of processor time, so that neighbours do not count


def test_the_first_page_holds_the_answer_and_what_a_buyer_asks(
    pdf: pikepdf.Pdf, paper: bytes
) -> None:
    text = text_of(paper, slice(1)).replace("\u00a0", " ")
    assert "May to Sep 1965" in text
    assert "S10•••" in text
    assert "most likely Jun 1965; marks date parts" in text
    for line in ("Neck with body", "Finish", "Electronics", "Condition", "Our interest"):
        assert line in text
    assert text_of(paper, slice(1, 2)).count("Marks and joints") == 1  # nothing runs over
    figures = structure(pdf.Root.StructTreeRoot, "/Figure")
    assert any(str(one.Alt).startswith("Bars of probability") for one in figures)


def test_nothing_private_is_anywhere_in_a_buyers_file(paper: bytes, pdf: pikepdf.Pdf) -> None:
    streams = [paper]
    streams += [
        one.read_bytes() if "/DCTDecode" not in str(one.get("/Filter")) else one.read_raw_bytes()
        for one in pdf.objects
        if isinstance(one, pikepdf.Stream)
    ]
    everything = b"\n".join(streams)
    for secret in (CONSIGNOR, SERIAL, "Camera of a person", "Invented Street"):
        assert secret.encode() not in everything
        assert secret.encode("utf-16-be") not in everything
    text = text_of(paper)
    assert SERIAL not in text
    assert CONSIGNOR not in text


@pytest.mark.parametrize("reader", READERS)
def test_no_word_on_any_page_is_banned(reader) -> None:
    made = document(reader)
    on_page = [text for text in texts(list(payload(made).values())) if text]
    assert len(on_page) > 300
    assert [text for text in on_page if find_banned(text)] == []
    assert find_banned(text_of(rendered(made))) == ()


def test_text_of_a_record_is_never_read_as_markup() -> None:
    made = document(
        title=HOSTILE,
        headline=HOSTILE,
        identity=((HOSTILE, HOSTILE),),
        checks=(Check(HOSTILE, HOSTILE),),
        parts=(PartRow("neck", 1, HOSTILE, "original"),),
        part_statements=(),
        banner=HOSTILE,
    )
    text = text_of(rendered(made)).replace("\n", "")
    assert text.count("#let x = 1") >= 6
    assert "*bold* _it_ <label> @ref" in text


def test_a_bass_and_a_paper_without_a_date_are_typeset() -> None:
    bare = document(kind="bass", timeline=None, pictures=(), parts=document().parts[:4])
    assert rendered(bare).startswith(b"%PDF-1.7")
    unknown = document(kind="zither")
    with pikepdf.open(io.BytesIO(rendered(unknown))) as opened:
        alts = [str(one.Alt) for one in structure(opened.Root.StructTreeRoot, "/Figure")]
    assert not [alt for alt in alts if alt.startswith("Front and back")]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ({"timestamp": datetime(2026, 11, 4)}, "no zone"),  # noqa: DTZ001
        ({"photographs": {}}, "frame f01"),
        ({"attachments": {"main.typ": b"x"}}, "attached file"),
        ({"attachments": {"../escape.json": b"x"}}, "attached file"),
        ({"attachments": {"": b"x"}}, "attached file"),
    ],
)
def test_what_cannot_be_typeset_is_refused(more, told) -> None:
    with pytest.raises(InputError, match=told):
        rendered(**more)
