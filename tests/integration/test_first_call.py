"""A first call in a shop: pictures, answers, a link once, and the dossier it becomes."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from fakes.first_calls import picture
from heelstamp.archive import sha256
from heelstamp.errors import ConflictError, InputError, IntegrityError, LimitError, NotFoundError
from heelstamp.reference.demonstration import demo_sales
from heelstamp.shop import first_call
from heelstamp.shop.backup import documents_of
from heelstamp.shop.first_call_weighing import weigh_call
from heelstamp.shop.opened import OpenShop

AT, LATER = "2026-11-02T09:00:00Z", "2026-11-20T09:00:00Z"


@pytest.fixture
def here(shop: Path) -> Iterator[OpenShop]:
    with OpenShop(shop) as opened:
        yield opened


def begun(shop: OpenShop) -> str:
    return first_call.begin_call(
        shop, about="attic find", chronology="sallowby-wherry", by="examiner A", at=AT
    ).id


def send(shop: OpenShop, call: str, slot: str, data: bytes) -> str:
    return first_call.take_picture(
        shop, call, data, name=f"{slot}.jpg", slot=slot, way="link", at=AT
    ).id


def test_frames_that_came_are_judged_and_the_others_asked_for(here: OpenShop) -> None:
    call = begun(here)
    send(here, call, "overall-front", picture())
    send(here, call, "overall-back", picture(blur=6))
    send(here, call, "head-front", picture(light=0.25))
    send(here, call, "case-closed", picture(fills=(1.2, 0.5)))
    told = weigh_call(here, first_call.call_at(here, call), AT).told
    found = {one.asked.slot: one for one in told.frames}
    assert [slot for slot, one in found.items() if one.done] == ["overall-front"]
    faults = {
        slot: [each.of for each in one.best.usable.judged if each.verdict == "fault"]
        for slot, one in found.items()
        if one.best is not None
    }
    assert faults["overall-back"] == ["sharp"]
    assert faults["head-front"] == ["lit"]
    assert faults["case-closed"] == ["framed"]
    send(here, call, "overall-back", picture(shade=3))
    told = weigh_call(here, first_call.call_at(here, call), AT).told
    assert told.usable == 2
    assert "2 of 10 frames can be used." in told.sentences[1]


def test_answers_give_months_and_a_price_at_the_strength_of_telling(here: OpenShop) -> None:
    from heelstamp.casework.appraisal.sales_table import comparables_from
    from heelstamp.shop.comparables import keep_sales

    call = begun(here)
    assert (
        "no comparables" in weigh_call(here, first_call.call_at(here, call), AT).told.sentences[-1]
    )
    keep_sales(here, "sallowby-wherry", comparables_from(demo_sales()))
    before = weigh_call(here, first_call.call_at(here, call), AT).told
    first_call.take_answers(here, call, {"serial": "S10350", "age": "about 1958", "case": "yes"})
    weighed = weigh_call(here, first_call.call_at(here, call), AT)
    after = weighed.told
    assert before.months is not None
    assert after.months is not None
    assert after.months.range_90.last - after.months.range_90.first < (
        before.months.range_90.last - before.months.range_90.first
    )
    assert after.price.low is not None
    assert after.price.high is not None
    assert after.price.low.amount < after.price.high.amount
    assert any("no appraisal" in one for one in after.sentences)
    assert "lies outside" in weighed.age
    with pytest.raises(InputError, match="choose from"):
        first_call.take_answers(here, call, {"case": "perhaps"})
    with pytest.raises(InputError, match="no such question"):
        first_call.take_answers(here, call, {"secret": "x"})
    with pytest.raises(InputError, match="plain text"):
        first_call.take_answers(here, call, {"work": "x" * 500})


def test_a_link_opens_once_until_its_day_and_lets_one_device_in(here: OpenShop) -> None:
    call = begun(here)
    token = first_call.make_link(here, call, 7, AT)
    assert token not in (here.folder / "first-calls" / call / "call.json").read_text()
    assert first_call.is_good(here, token, AT)
    assert not first_call.is_good(here, token, LATER)
    with pytest.raises(ConflictError):
        first_call.open_link(here, token, LATER)
    opened, device = first_call.open_link(here, token, AT)
    assert opened.id == call
    assert device not in (here.folder / "first-calls" / call / "call.json").read_text()
    with pytest.raises(ConflictError):
        first_call.open_link(here, token, AT)
    assert first_call.call_of_device(here, device, AT).id == call
    for wrong, at in ((device, LATER), ("", AT), (token, AT), ("x", AT)):
        with pytest.raises(ConflictError):
            first_call.call_of_device(here, wrong, at)
    first_call.make_link(here, call, 7, AT)  # a new link ends the device
    with pytest.raises(ConflictError):
        first_call.call_of_device(here, device, AT)
    with pytest.raises(InputError, match="days"):
        first_call.make_link(here, call, 400, AT)


def test_it_becomes_a_dossier_with_the_same_bytes_and_nothing_seen(here: OpenShop) -> None:
    from heelstamp.casework.photo_plan import missing_slots
    from heelstamp.shop.photographs import photo_plan

    call = begun(here)
    front = picture()
    send(here, call, "overall-front", front)
    send(here, call, "plate", picture(shade=5))
    first_call.take_answers(here, call, {"serial": "S10350", "age": "about 1965", "owned": "1971"})
    done = first_call.arrive(here, call, tag="H-0100", by="examiner A", at=AT)
    assert done.dossier == "H-0100"
    state = here.subject("H-0100").state
    assert state.instrument.claimed == "about 1965"
    assert not state.observations
    assert here.finding("H-0100").completion.interval["90"] is None
    sent = next(one for one in state.photographs.values() if one.slot == "sent-overall-front")
    assert sent.file == sha256(front)
    assert here.files.get(sent.file) == front
    assert all(one.private and one.part is None for one in state.photographs.values())
    told = {one.about: one for one in state.statements.values()}
    assert {one.text for one in told.values()} == {"S10350", "about 1965", "1971"}
    assert all(one.role == "owner" and not one.signed for one in told.values())
    wanted = {
        one.slot.id for one in missing_slots(state, photo_plan(), here.subject("H-0100").tree)
    }
    assert {"overall-front", "plate"} <= wanted
    with pytest.raises(ConflictError, match="become a dossier"):
        first_call.arrive(here, call, tag="H-0101", by="examiner A", at=AT)
    with pytest.raises(ConflictError, match="become a dossier"):
        send(here, call, "heel", front)


def test_a_tag_that_is_taken_or_a_picture_that_changed_opens_nothing(here: OpenShop) -> None:
    call = begun(here)
    send(here, call, "heel", picture())
    with pytest.raises(ConflictError, match="exists"):
        first_call.arrive(here, call, tag="W-0001", by="examiner A", at=AT)
    kept = next((here.folder / "first-calls" / call / "pictures").rglob("*/*"))
    kept.write_bytes(b"another")
    with pytest.raises(IntegrityError):
        first_call.arrive(here, call, tag="H-0100", by="examiner A", at=AT)
    assert here.journals.head("H-0100") is None
    assert first_call.call_at(here, call).dossier == ""


def test_what_is_no_picture_too_large_or_too_many_is_refused(
    here: OpenShop, monkeypatch: pytest.MonkeyPatch
) -> None:
    call = begun(here)
    with pytest.raises(InputError):
        send(here, call, "heel", b"GIF89a no picture of ours")
    with pytest.raises(InputError, match="no frame"):
        send(here, call, "my-dog", picture())
    monkeypatch.setattr(first_call, "MOST_PICTURE", 1000)
    with pytest.raises(LimitError):
        send(here, call, "heel", picture())
    assert first_call.call_at(here, call).sent == []
    with pytest.raises(NotFoundError):
        first_call.call_at(here, "../../etc")


def test_the_same_bytes_are_kept_once_and_told_where_they_serve_two_frames(here: OpenShop) -> None:
    call = begun(here)
    data = picture()
    assert send(here, call, "heel", data) == send(here, call, "heel", data)
    send(here, call, "plate", data)
    told = weigh_call(here, first_call.call_at(here, call), AT).told
    assert len(told.call.sent) == 2
    assert any("more than one frame" in one for one in told.sentences)


def test_a_call_is_in_backups_and_is_let_go_with_its_pictures(here: OpenShop) -> None:
    call = begun(here)
    send(here, call, "heel", picture())
    assert sum("first-calls" in str(one) for one in documents_of(here.folder)) == 2
    first_call.let_go(here, call)
    assert first_call.calls(here) == ()
    assert not list((here.folder / "first-calls").iterdir())
