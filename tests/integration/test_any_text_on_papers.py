"""A name, a note or a word of any script in any free field never stops a paper."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import msgspec
import pytest

from fakes.every_kind import BODIES
from fakes.paper_text import text_of as text_on
from fakes.web_shop import INSTRUMENT, TAG, add_frame, bench_of, make_shop
from heelstamp.casework.listing.composing import LENGTHS, MOST, text_of
from heelstamp.casework.new_entry import NewEntry
from heelstamp.casework.papers.document import READERS
from heelstamp.catalogue import KINDS, Folding
from heelstamp.errors import HeelstampError
from heelstamp.report.printable import BOX
from heelstamp.shop.listing import check_text, listing_at, write_bag
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.reports import preview
from heelstamp.shop.showing import preview_showing

WORD = "Schallplatten" * 6 + "ab"
ANY = f"\U0001f3b8 山田太郎 한국 محمد {WORD} \u1200\ue000 #let [x] $y$"
CLOSED = {"made", "id", "file", "media_type"}
"""Fields that hold no words of a person."""


def texts_of(record: type[Any]) -> list[str]:
    """The fields of a kind of entry that take text."""
    return [one.name for one in msgspec.structs.fields(record) if one.name not in CLOSED]


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, set[str]]:
    """A shop whose dossier has any text in every free field that takes it, all of it public."""
    shop = make_shop(tmp_path_factory.mktemp("any"))
    taken: set[str] = set()
    with bench_of(shop) as bench:
        add_frame(bench, "overall-front", note=ANY[:90])
        opened: OpenShop = bench.app.state.shop  # type: ignore[attr-defined]
        tried = Folding(opened.subject(TAG).tree)
        tried.add("instrument", INSTRUMENT, where="")
        entries = []
        for kind in sorted(set(BODIES) - {"paper", "issue", "photograph", "recording"}):
            for field in texts_of(KINDS[kind]):
                body = {**BODIES[kind], "id": f"x-{kind}-{field}", "public": True}
                body[field] = f"{ANY} {kind} {field}"
                try:
                    tried.add(kind, body, where="")
                except HeelstampError:
                    continue
                taken.add(f"{kind}.{field}")
                entries.append(NewEntry(kind, body))
        told = {"id": "o-free", "part": "guard", "kind": "sign", "sign": ANY, "outcome": ANY}
        told |= {"status": "read", "note": ANY, "public": True}
        entries.append(NewEntry("observation", told))
        opened.enter(TAG, entries, by=ANY[:60])
    return shop, taken


def test_free_fields_take_it(filled):
    assert {"statement.text", "contents.item", "treatment.reason", "custody.giver"} <= filled[1]
    assert len(filled[1]) > 50


@pytest.mark.parametrize("reader", READERS)
def test_no_report_is_stopped(filled, reader):
    with OpenShop(filled[0]) as opened:
        paper = preview(opened, TAG, reader)
    text = text_on(paper)
    assert "山田太郎" in text
    assert WORD in text.replace("\u200b", "")
    assert BOX in text


def test_neither_listing_nor_showing_page_is_stopped(filled, tmp_path):
    with OpenShop(filled[0]) as opened:
        found = listing_at(opened, TAG)
        made = {length: text_of(found.listing, length) for length in LENGTHS}
        assert all(len(made[one]) <= MOST[one] for one in LENGTHS)
        assert "山田太郎" in made["full"]
        assert WORD in made["full"]
        check_text(opened, TAG, f"{ANY}\n{made['full']}")
        write_bag(opened, TAG, found, tmp_path / "listing.zip", day="2026-12-01")
        page = preview_showing(opened, TAG).decode()
    assert "山田太郎" in page
    assert "#let [x] $y$" in page
