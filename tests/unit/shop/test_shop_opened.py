"""An opened shop: entries sealed anew when others wrote, what was made remembered as it stands."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fakes.web_shop import TAG, make_shop
from heelstamp.casework import dossier
from heelstamp.casework.dossier import NoSuchDossierError, append
from heelstamp.casework.ports import WrittenBetweenError
from heelstamp.errors import ConflictError
from heelstamp.shop.opened import ATTEMPTS, OpenShop, open_subject, retried

SEEN = {"id": "o1", "part": "neck", "kind": "mark", "status": "absent"}
EXAMPLE = Path(__file__).parents[3] / "examples" / "wherry-s10350.toml"


def refusing(times: int, error: ConflictError) -> tuple[list[int], Any]:
    """Make what is refused some times, and the list of its tries."""
    tries: list[int] = []

    def sealed() -> str:
        tries.append(1)
        if len(tries) <= times:
            raise error
        return "entered"

    return tries, sealed


def test_only_what_others_wrote_in_between_is_tried_anew_and_not_for_ever() -> None:
    between, custody = WrittenBetweenError("others wrote"), ConflictError("others wrote")
    tries, sealed = refusing(ATTEMPTS - 1, between)
    assert retried(sealed) == "entered"
    assert len(tries) == ATTEMPTS
    tries, sealed = refusing(ATTEMPTS, between)
    with pytest.raises(WrittenBetweenError):
        retried(sealed)
    assert len(tries) == ATTEMPTS
    tries, sealed = refusing(1, custody)
    with pytest.raises(ConflictError):
        retried(sealed)
    assert len(tries) == 1


def test_an_entry_stands_after_what_another_device_wrote_while_it_was_sealed(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    with OpenShop(make_shop(tmp_path)) as shop:
        seals, others = dossier._sealed, [{**SEEN, "id": "o2"}]

        def sealed(*given: Any, **named: Any) -> Any:
            made = seals(*given, **named)
            if others:
                append(shop, TAG, "observation", others.pop(), at="2026-11-02T09:14:00Z", by="x")
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
