"""What a role may enter it may correct, take back and put back: every role, kind and way."""

from __future__ import annotations

from itertools import product

import pytest

from fakes.every_kind import BEFORE, BODIES, acts_before, body_of
from fakes.stores import AT, INSTRUMENT, memory_shop
from heelstamp.casework.dossier import append, append_all, correct, open_dossier, state_of
from heelstamp.casework.ports import Shop
from heelstamp.casework.sharing import Hand, NotPermittedError, Role
from heelstamp.casework.sharing.rights import RIGHTS, UNNAMED, hidden_from, right_of
from heelstamp.casework.taking_back import last_of, putting_back, taking_back
from heelstamp.catalogue import KINDS
from heelstamp.errors import ConflictError

NAME = "examiner A"
TAG = INSTRUMENT["tag"]
ROLES = tuple(Role)
NEVER_UNDONE = ("issue", "paper", "clock")
"""A paper that left is not taken back, nor a note that the clock is unsure."""


@pytest.fixture
def shop_at_rights() -> Shop:
    made = memory_shop()
    open_dossier(made, INSTRUMENT, at=AT, by=NAME)
    return made


def test_every_kind_of_entry_is_in_the_table_and_has_a_sample() -> None:
    assert set(KINDS) - {"correction"} <= set(RIGHTS)
    assert set(BODIES) == set(KINDS) - {"correction", "instrument"}


@pytest.mark.parametrize(("role", "kind"), list(product(ROLES, sorted(BODIES))))
def test_what_a_role_may_enter_it_may_change_and_nothing_else(
    shop_at_rights: Shop, role: Role, kind: str
) -> None:
    hand, body = Hand(NAME, role), body_of(kind, "e1")
    append_all(shop_at_rights, TAG, acts_before(kind), at=AT, by=NAME)
    may = role.may(right_of(kind).enter)
    if may:
        append(shop_at_rights, TAG, kind, body, at=AT, by=hand)
    else:
        with pytest.raises(NotPermittedError):
            append(shop_at_rights, TAG, kind, body, at=AT, by=hand)
        append(shop_at_rights, TAG, kind, body, at=AT, by=NAME)
    before = state_of(shop_at_rights, TAG)
    undone = kind not in NEVER_UNDONE
    assert (last_of(before, hand) == "e1") == (may and undone)
    told = {"correction": "c1", "reason": "misread", "at": AT, "by": hand}
    if not may:
        for replacement in (body, None):
            with pytest.raises(NotPermittedError):
                correct(shop_at_rights, TAG, "e1", replacement, **told)
        earlier = [id_ for other, id_ in BEFORE.get(kind, ()) if role.may(right_of(other).enter)]
        if earlier:  # what it may take back is what the entry names, never the entry
            assert taking_back(before, hand, "c2")[0] == earlier[-1]
        else:
            with pytest.raises(ConflictError):
                taking_back(before, hand, "c2")
        if not undone:
            return
        _, taken = taking_back(before, NAME, "c2")
        append_all(shop_at_rights, TAG, taken, at=AT, by=NAME)
        back = putting_back(state_of(shop_at_rights, TAG), NAME, "e1", "c3")
        with pytest.raises(NotPermittedError):
            append_all(shop_at_rights, TAG, back, at=AT, by=hand)
        assert state_of(shop_at_rights, TAG).length == before.length + 1
        return
    correct(shop_at_rights, TAG, "e1", body, **told)
    if not undone:
        return
    for wanted in ("c1", "e1"):
        id_, taken = taking_back(state_of(shop_at_rights, TAG), hand, f"t-{wanted}")
        assert id_ == wanted
        append_all(shop_at_rights, TAG, taken, at=AT, by=hand)
    append_all(
        shop_at_rights,
        TAG,
        putting_back(state_of(shop_at_rights, TAG), hand, "e1", "c3"),
        at=AT,
        by=hand,
    )
    assert state_of(shop_at_rights, TAG).stands("e1")


@pytest.mark.parametrize("role", ROLES)
def test_a_correction_of_a_correction_has_the_right_of_the_entry(
    shop_at_rights: Shop, role: Role
) -> None:
    hand = Hand(NAME, role)
    append(shop_at_rights, TAG, "decision", body_of("decision", "e1"), at=AT, by=NAME)
    correct(shop_at_rights, TAG, "e1", None, correction="c1", reason="no", at=AT, by=NAME)
    if role is Role.OWNER:
        correct(shop_at_rights, TAG, "c1", None, correction="c2", reason="yes", at=AT, by=hand)
        return
    with pytest.raises(NotPermittedError):
        correct(shop_at_rights, TAG, "c1", None, correction="c2", reason="yes", at=AT, by=hand)


def _private(shop_at_rights: Shop) -> dict[str, object]:
    body = {**body_of("photograph", "f1"), "private": True}
    append(shop_at_rights, TAG, "photograph", body_of("photograph", "f1"), at=AT, by=NAME)
    correct(shop_at_rights, TAG, "f1", body, correction="c1", reason="kept", at=AT, by=NAME)
    return {**body, "private": False}


@pytest.mark.parametrize("role", [Role.PAIRED_DEVICE, Role.EXAMINER, Role.OWNER])
@pytest.mark.parametrize(
    "way", ["replaced", "privacy undone", "privacy replaced", "by way of gone"]
)
def test_no_way_leads_a_paired_device_to_a_private_frame_made_public(
    shop_at_rights: Shop, role: Role, way: str
) -> None:
    public, hand = _private(shop_at_rights), Hand(NAME, role)
    steps: list[tuple[str, dict[str, object] | None]] = {
        "replaced": [("f1", public)],
        "privacy undone": [("c1", None)],
        "privacy replaced": [("c1", public)],
        "by way of gone": [("f1", None), ("c1", None), ("s0", None)],
    }[way]
    for number, (target, replacement) in enumerate(steps):
        told = {"correction": f"s{number}", "reason": "x", "at": AT, "by": hand}
        last = number + 1 == len(steps)
        if last and role is Role.PAIRED_DEVICE:
            with pytest.raises(NotPermittedError):
                correct(shop_at_rights, TAG, target, replacement, **told)
        else:
            correct(shop_at_rights, TAG, target, replacement, **told)
    frame = state_of(shop_at_rights, TAG).photographs.get("f1")
    public_now = frame is not None and not frame.private
    assert public_now == (role is not Role.PAIRED_DEVICE)


def test_a_paired_device_may_still_correct_a_frame_that_stays_as_private_as_it_was(
    shop_at_rights: Shop,
) -> None:
    public, hand = _private(shop_at_rights), Hand(NAME, Role.PAIRED_DEVICE)
    private = {**public, "private": True, "note": "cut"}
    correct(shop_at_rights, TAG, "f1", private, correction="c2", reason="x", at=AT, by=hand)
    correct(shop_at_rights, TAG, "f1", public, correction="c3", reason="x", at=AT, by=NAME)
    again = {**public, "note": "cut again"}
    correct(shop_at_rights, TAG, "f1", again, correction="c4", reason="x", at=AT, by=hand)
    assert state_of(shop_at_rights, TAG).photographs["f1"].note == "cut again"


def test_an_unknown_kind_is_the_owners_alone() -> None:
    assert right_of("something new") == UNNAMED
    assert right_of("decision").enter is Role.OWNER
    assert not Role.EXAMINER.may(UNNAMED.see)


@pytest.mark.parametrize("role", ROLES)
def test_a_sum_and_every_correction_of_it_are_hidden_below_an_examiner(
    shop_at_rights: Shop, role: Role
) -> None:
    append(shop_at_rights, TAG, "decision", body_of("decision", "e1"), at=AT, by=NAME)
    append(shop_at_rights, TAG, "observation", body_of("observation", "o1"), at=AT, by=NAME)
    correct(shop_at_rights, TAG, "e1", None, correction="c1", reason="no", at=AT, by=NAME)
    correct(shop_at_rights, TAG, "c1", None, correction="c2", reason="yes", at=AT, by=NAME)
    hidden = hidden_from(role, state_of(shop_at_rights, TAG))
    assert hidden == (frozenset() if role.may(Role.EXAMINER) else {"e1", "c1", "c2"})


def test_a_plain_name_is_the_machine_itself(shop_at_rights: Shop) -> None:
    made = append(shop_at_rights, TAG, "decision", body_of("decision", "e1"), at=AT, by=NAME)
    assert type(made.by) is str


def test_the_role_is_no_part_of_what_is_sealed(shop_at_rights: Shop) -> None:
    hand = Hand(NAME, Role.EXAMINER)
    made = append(shop_at_rights, TAG, "observation", body_of("observation", "o1"), at=AT, by=hand)
    assert made.by == NAME
    assert type(state_of(shop_at_rights, TAG).entered["o1"].by) is str


def test_a_paired_device_cannot_mark_words_for_outsiders(shop_at_rights: Shop) -> None:
    phone, examiner = Hand(NAME, Role.PAIRED_DEVICE), Hand(NAME, Role.EXAMINER)
    shown = {**body_of("contents", "e1"), "public": True}
    with pytest.raises(NotPermittedError):
        append(shop_at_rights, TAG, "contents", shown, at=AT, by=phone)
    append(shop_at_rights, TAG, "contents", body_of("contents", "e1"), at=AT, by=phone)
    told = {"reason": "may be read", "at": AT}
    with pytest.raises(NotPermittedError):
        correct(shop_at_rights, TAG, "e1", shown, correction="c1", by=phone, **told)
    correct(shop_at_rights, TAG, "e1", shown, correction="c2", by=examiner, **told)
    assert state_of(shop_at_rights, TAG).contents["e1"].public
