"""Issued papers are signed as a whole; two readers of the world outside agree; any change shows.

Readers: pyHanko (validation of ETSI EN 319 142-1 signatures) and ``pdfsig`` of poppler-utils.
"""

from __future__ import annotations

import io
import random
import shutil
import subprocess
from pathlib import Path

import pikepdf
import pytest
from asn1crypto import x509
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import validate_pdf_signature
from pyhanko_certvalidator import ValidationContext

from fakes.web_shop import TAG
from heelstamp.archive import sha256
from heelstamp.archive.signed import SignatureFault, read_signature
from heelstamp.shop.forms import issue_form
from heelstamp.shop.issuing import issue, issued
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.reports import preview
from heelstamp.shop.signing import key_of, sign_state

FLIPS, SEED = 120, 20261201


@pytest.fixture(scope="module")
def papers(new_shop: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, list[bytes]]:
    """A shop that issued a report to a buyer and one to itself, a permission sheet and labels."""
    folder = shutil.copytree(new_shop, tmp_path_factory.mktemp("signed") / "shop")
    with OpenShop(folder) as shop:
        for n, reader in enumerate(("buyer", "shop")):
            issue(shop, TAG, reader, id_=f"r{n}", by="examiner A")
        for n, name in enumerate(("permission", "labels")):
            issue_form(shop, TAG, name, id_=f"f{n}", by="examiner A")
        told = [shop.files.get(one.digest) for one in issued(shop, TAG)]
    return folder, told


def test_a_general_validator_agrees_that_the_whole_file_is_signed(
    papers: tuple[Path, list[bytes]],
) -> None:
    with OpenShop(papers[0]) as shop:
        root = x509.Certificate.load(key_of(shop).certificate)
    for pdf in papers[1]:
        (found,) = PdfFileReader(io.BytesIO(pdf)).embedded_signatures
        status = validate_pdf_signature(found, ValidationContext(trust_roots=[root]))
        assert status.bottom_line
        assert status.coverage.name == "ENTIRE_FILE"
        assert found.sig_object["/SubFilter"] == "/ETSI.CAdES.detached"


@pytest.mark.skipif(shutil.which("pdfsig") is None, reason="needs pdfsig of poppler-utils")
def test_pdfsig_agrees(papers: tuple[Path, list[bytes]], tmp_path: Path) -> None:
    (tmp_path / "paper.pdf").write_bytes(papers[1][0])
    done = subprocess.run(
        ["pdfsig", "-nocert", tmp_path / "paper.pdf"], capture_output=True, text=True, check=True
    )
    assert "Signature is Valid" in done.stdout
    assert "Total document signed" in done.stdout
    assert "Signature #2" not in done.stdout


def test_the_signature_stands_in_the_structure(papers: tuple[Path, list[bytes]]) -> None:
    """PDF/UA-1 (ISO 14289-1, 7.18.4): a widget in a Form element, with a name to read aloud."""
    for pdf in papers[1]:
        with pikepdf.open(io.BytesIO(pdf)) as opened:
            (field,) = opened.Root.AcroForm.Fields
            element = pikepdf.NumberTree(opened.Root.StructTreeRoot.ParentTree)[field.StructParent]
            assert (element.S, element.K[0].Obj.TU) == ("/Form", field.TU)
            assert int(field.F) & 4  # printed: PDF/A-3 allows no hidden one
            xmp = opened.Root.Metadata.read_bytes().decode()
            assert "pdfuaid" in xmp
            assert "pdfaid" in xmp
            assert bool(opened.Root.MarkInfo.Marked)
            assert opened.Root.OutputIntents[0].S == "/GTS_PDFA1"
            assert opened.check_pdf_syntax() == []


def refused(pdf: bytes) -> bool:
    try:
        read_signature(pdf)
    except SignatureFault:
        return True
    return False


def test_a_changed_bit_anywhere_is_found(papers: tuple[Path, list[bytes]]) -> None:
    drawn = random.Random(SEED)
    for pdf in papers[1]:
        places = [drawn.randrange(len(pdf)) for _ in range(FLIPS // len(papers[1]))]
        start = pdf.index(b"/Contents <")  # within the signature too, where no digest covers it
        places += [start + drawn.randrange(4096) for _ in range(20)]
        for place in places:
            changed = bytearray(pdf)
            changed[place] ^= 1 << drawn.randrange(8)
            assert refused(bytes(changed)), place


@pytest.mark.parametrize("more", [b" ", b"\n", b"%%EOF\n", b"1 0 obj<<>>endobj\n"])
def test_what_is_appended_or_cut_off_is_found(
    papers: tuple[Path, list[bytes]], more: bytes
) -> None:
    for pdf in papers[1]:
        assert refused(pdf + more)
        assert refused(pdf[: -len(more)])


def test_a_later_revision_is_found(papers: tuple[Path, list[bytes]]) -> None:
    """An incremental update (ISO 32000-1, 7.5.6) leaves the signed bytes and changes the page."""
    pdf = papers[1][0]
    more = b"\n9999 0 obj\n<<>>\nendobj\nxref\n0 0\ntrailer\n<<>>\nstartxref\n0\n%%EOF\n"
    with pytest.raises(SignatureFault) as fault:
        read_signature(pdf + more)
    assert fault.value.code == "range"


def test_the_shop_knows_how_each_paper_is_signed(papers: tuple[Path, list[bytes]]) -> None:
    with OpenShop(papers[0]) as shop:
        key = key_of(shop)
        for one in issued(shop, TAG):
            state = sign_state(shop, one.digest)
            assert (state.fingerprint, state.said) == (
                key.fingerprint,
                "signed with this shop's key",
            )
            assert one.digest == sha256(shop.files.get(one.digest))  # of the signed bytes
        with pytest.raises(SignatureFault) as fault:
            read_signature(preview(shop, TAG, "buyer"))
        assert fault.value.code == "unsigned"
