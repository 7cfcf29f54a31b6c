"""What a device sends twice at once, to two servers, is kept once and refused to neither."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from fakes.web_shop import TAG, jpeg
from heelstamp.casework import dossier
from heelstamp.casework.new_entry import EntryStamp
from heelstamp.casework.photographs import details_of
from heelstamp.errors import InputError
from heelstamp.shop import now, photographs
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.photographs import keep_photograph, photo_plan


def details(id_: str) -> dict[str, Any]:
    stamp = EntryStamp(id_, "", now())
    told = {"slot": "", "part": "body", "light": "", "private": False, "note": ""}
    return details_of(photo_plan(), stamp, name="a.jpg", **told)


@pytest.mark.parametrize("shade", [120, 90])
def test_a_photograph_that_the_other_server_kept_in_between(
    shop: Path, monkeypatch: pytest.MonkeyPatch, shade: int
) -> None:
    attach = dossier.attach_photograph

    def slowly(*told: Any, **named: Any) -> Any:
        monkeypatch.setattr(dossier, "attach_photograph", attach)
        with OpenShop(shop) as other:  # the same id arrives there meanwhile
            photographs.keep_photograph(other, TAG, jpeg(), details("f1"), by="examiner A")
        return attach(*told, **named)

    monkeypatch.setattr(dossier, "attach_photograph", slowly)
    with OpenShop(shop) as here:
        if shade == 120:
            keep_photograph(here, TAG, jpeg(), details("f1"), by="examiner A")
        else:  # another photograph under this id is refused as ever
            with pytest.raises(InputError):
                keep_photograph(here, TAG, jpeg(shade=shade), details("f1"), by="examiner A")
        assert list(here.subject(TAG).state.photographs) == ["f1"]
        assert here.journals.head(TAG).seq == 2  # type: ignore[union-attr]
