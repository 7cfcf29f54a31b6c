"""One answer: command (text and JSON), page, interface for programs and paper say the same."""

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from fakes.commands import type_command
from fakes.doubted import hero, neck_mark
from fakes.web_shop import INSTRUMENT, bench_of
from fakes.wherry_examinations import Body, look
from heelstamp.casework.dossier import open_with
from heelstamp.casework.papers.document import ReportDocument, texts
from heelstamp.shop import create_shop, now
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.reports import report_document, told_to


def bare(observations: list[Body]) -> list[Body]:
    return [{k: v for k, v in one.items() if k not in ("frames", "link")} for one in observations]


def outside() -> list[Body]:
    """What the demonstration's examiner saw before anything was opened."""
    ids = {"serial", "g2", "f01", "f02", "f03", "f05", "f07", "f10", "f12", "f13"}
    return [one for one in hero() if one["id"] in ids]


def other() -> list[Body]:
    """Another instrument, of other features and an open reading."""
    readings = [{"period": "1961-03", "weight": 0.6}, {"period": "1961-08", "weight": 0.4}]
    return [
        look("s", "neck_plate", "serial", text="8500"),
        look("m", "neck", "mark", text="61/0? B", readings=readings),
        look("a", "badge", "feature", feature="f07", variant="pressed badge on two pins"),
        look("b", "guard", "feature", feature="f10", variant="clear acrylic, painted behind"),
        look("c", "capacitor", "feature", feature="f11", variant="0.05 µF waxed paper"),
        look("d", "leads", "feature", feature="f14", variant="PVC"),
        look("e", "finish", "sign", sign="paint_in_cavity", outcome="as_built"),
        look("f", "tuners", "feature", "not looked", feature="f01"),
    ]


def disagreeing() -> list[Body]:
    return hero(**{"mark-neck": neck_mark("1957-03")})


DOSSIERS = {"whole": hero, "outside": outside, "other": other, "conflict": disagreeing}


class Faces:
    """All that is said of one dossier."""

    def __init__(self, folder: Path, tag: str) -> None:
        self.tag = tag
        self.text = type_command("date", tag, "--shop", folder, cwd=folder).out
        self.json: dict[str, Any] = json.loads(
            type_command("date", tag, "--shop", folder, "--json", cwd=folder).out
        )
        with bench_of(folder) as bench:
            self.page = self._get(bench, f"/dossier/{tag}/findings")
            self.home = self._get(bench, f"/dossier/{tag}?whole=true")
            self.api: dict[str, Any] = bench.get(f"/api/dossiers/{tag}/date").json()
        with OpenShop(folder) as shop:
            subject = shop.subject(tag)
            made = {
                reader: told_to(subject, reader, finding=shop.finding(tag), doubts=shop.doubts(tag))
                for reader in ("shop", "consignor", "buyer")
            }
        self.papers: dict[str, ReportDocument] = {
            reader: report_document(told, day="2026-11-04") for reader, told in made.items()
        }
        self.copy = made["buyer"].attachments()["examination.json"]

    @staticmethod
    def _get(bench: TestClient, address: str) -> str:
        answer = bench.get(address)
        assert answer.status_code == 200
        return " ".join(unescape(answer.text).split())


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("one") / "shop"
    with create_shop(folder, name="Bench test", currency="USD") as opened:
        for number, make in enumerate(DOSSIERS.values(), start=1):
            seen = [("observation", one) for one in bare(make())]
            instrument = {**INSTRUMENT, "tag": f"W-{number:04d}"}
            open_with(opened, [("instrument", instrument), *seen], at=now(), by="examiner A")
    return folder


@pytest.fixture(scope="module", params=DOSSIERS)
def faces(request: pytest.FixtureRequest, folder: Path) -> Faces:
    number = list(DOSSIERS).index(request.param) + 1
    return Faces(folder, f"W-{number:04d}")


def test_words_and_figures_of_each_part_are_the_same_everywhere(faces: Faces) -> None:
    rows = faces.papers["shop"].parts
    assert len(rows) > 20
    assert any(row.word for row in rows)
    table = faces.text.partition("\nParts\n")[2]
    shown = dict(re.findall(r"<th scope=\"row\">([^<]+)</th> <td> ?(.*?)</tr>", faces.page))
    for row in rows:
        words = row.said
        figures = [row.probability, row.prior, row.ratio, row.even]
        for data in (faces.json["said"]["parts"][row.key], faces.api["said"]["parts"][row.key]):
            told = [data["after"], data["before"], data["ratio"], data["from_even_odds"]]
            assert (data["said"], told) == (words, figures)
            assert (data["least"], data["most"]) == (row.least, row.most)
        line = next(one for one in table.splitlines() if one.strip().startswith(f"{row.label}  "))
        assert words in line
        cells = shown[row.label]
        assert cells.startswith(words)
        for figure in filter(None, (*figures, row.least, row.most)):
            assert figure in line
            assert figure in cells
    assert faces.papers["consignor"].parts == rows


def test_the_date_is_the_same_everywhere(faces: Faces) -> None:
    paper = faces.papers["shop"]
    text = " ".join(faces.text.split())
    for told in (paper.headline, paper.headline_note, paper.conclusions[0].text):
        assert told in text
    assert paper.headline in faces.page
    assert paper.headline_note in faces.page
    assert paper.conclusions[0].text in faces.page
    assert paper.headline in faces.home
    assert paper.headline_note.rstrip(".") in faces.home
    for data in (faces.json["said"]["date"], faces.api["said"]["date"]):
        assert data["headline"] == paper.headline == faces.papers["consignor"].headline
        assert data["sentence"] == paper.conclusions[0].text


def test_no_face_says_probably_of_what_another_calls_not_settled(faces: Faces) -> None:
    open_ = [row for row in faces.papers["shop"].parts if row.verdict == "not settled"]
    for row in open_:
        line = next(
            one
            for one in faces.text.partition("\nParts\n")[2].splitlines()
            if one.strip().startswith(f"{row.label}  ")
        )
        assert "probably" not in line
    if open_:
        assert "ot settled" in faces.home


def test_a_buyer_can_compute_the_words_of_the_paper_from_its_own_file(
    faces: Faces, tmp_path: Path
) -> None:
    """An outsider's paper is the command's answer to the examination that travels in it."""
    with_copy = tmp_path / "examination.json"
    paper = faces.papers["buyer"]
    assert paper.parts
    with_copy.write_bytes(faces.copy)
    said = json.loads(type_command("date", with_copy, "--json", cwd=tmp_path).out)["said"]
    assert said["date"]["headline"] == paper.headline
    for row in paper.parts:
        data = said["parts"][row.key]
        assert (data["word"], data["verdict"]) == (row.word, row.verdict)
        assert (data["after"], data["before"]) == (row.probability, row.prior)


def test_words_that_no_buyer_should_meet_are_in_no_buyers_paper(faces: Faces) -> None:
    said = "\n".join(texts(faces.papers["buyer"])).lower()
    for words in (
        "settled under a changed table",
        "covered areas must",
        "1/turn",
        "probability mass",
        "as the tables stand",
        "tables as they stand",
    ):
        assert words not in said
