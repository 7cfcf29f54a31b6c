"""An opened shop: entries sealed anew when others wrote, what was made remembered as it stands."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fakes.web_shop import TAG, make_shop
from heelstamp.casework import dossier
from heelstamp.casework.dossier import NoSuchDossierError, append
from heelstamp.shop.folder import now
from heelstamp.shop.opened import OpenShop, open_subject

SEEN = {"id": "o1", "part": "neck", "kind": "mark", "status": "absent"}
EXAMPLE = Path(__file__).parents[3] / "examples" / "wherry-s10350.toml"


def test_an_entry_stands_after_what_another_device_wrote_while_it_was_sealed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with OpenShop(make_shop(tmp_path)) as shop:
        seals, others = dossier._sealed, [{**SEEN, "id": "o2"}]

        def sealed(*given: Any, **named: Any) -> Any:
            made = seals(*given, **named)
            if others:
                append(shop, TAG, "observation", others.pop(), at=now(), by="x")
            return made

        monkeypatch.setattr(dossier, "_sealed", sealed)
        (entry,) = shop.enter(TAG, [("observation", SEEN)], by="examiner A")
        assert entry.seq == 3
        assert list(shop.subject(TAG).state.observations) == ["o2", "o1"]
        assert shop.enter(TAG, [("observation", SEEN)], by="examiner A") == ()


def test_a_subject_is_folded_once_until_its_journal_grows(tmp_path: Path) -> None:
    with OpenShop(make_shop(tmp_path)) as shop:
        before = shop.subject(TAG)
        assert shop.subject(TAG) is before
        shop.enter(TAG, [("observation", SEEN)], by="examiner A")
        assert "o1" in shop.subject(TAG).state.observations
        with pytest.raises(NoSuchDossierError, match=f"Dossiers: {TAG}"):
            shop.subject("none")


def test_a_file_is_a_subject_without_a_shop(tmp_path: Path) -> None:
    with open_subject(str(EXAMPLE), tmp_path) as (shop, subject):
        assert (shop, subject.shop, subject.name) == (None, None, EXAMPLE.name)
    with open_subject(TAG, make_shop(tmp_path)) as (shop, subject):
        assert subject.shop is shop
