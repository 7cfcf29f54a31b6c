"""The fold: what stands, what is refused, and that a refused entry leaves no trace."""

from typing import Any

import pytest

from heelstamp.catalogue import Entry, Folding, PartsTree, fold, place_of
from heelstamp.errors import ConflictError, InputError

INSTRUMENT = {"kind": "guitar", "maker": "m", "model": "Wherry", "chronology": "c", "tag": "H-1"}
FRAME = {
    "id": "F1",
    "file": "0" * 64,
    "name": "a.jpg",
    "media_type": "image/jpeg",
    "width": 4,
    "height": 3,
}


def mark(id_: str, part: str = "neck", **more: Any) -> dict[str, Any]:
    return {"id": id_, "part": part, "kind": "mark", "status": "read", "text": "65/03", **more}


def correction(id_: str, corrects: str, replacement: Any) -> dict[str, Any]:
    return {"id": id_, "corrects": corrects, "reason": "slip", "replacement": replacement}


class Dossier:
    """A folding that counts."""

    def __init__(self, tree: PartsTree) -> None:
        self.folding = Folding(tree)
        self.add("instrument", INSTRUMENT)

    def add(self, kind: str, data: Any) -> None:
        seq = getattr(self, "seq", 0) + 1
        self.folding.add(kind, data, at="t", by="b", where=place_of(kind, data, seq))
        self.seq = seq

    @property
    def state(self) -> Any:
        return self.folding.state


@pytest.fixture
def dossier(guitar: PartsTree) -> Dossier:
    return Dossier(guitar)


def test_everything_entered_stands_in_order(dossier: Dossier) -> None:
    dossier.add("observation", mark("o2"))
    dossier.add("observation", mark("o1", "body"))
    assert list(dossier.state.observations) == ["o2", "o1"]
    assert [seen.id for seen in dossier.state.of_part("body")] == ["o1"]
    assert dossier.state.entered["o1"].seq == 3
    assert dossier.state.length == 3


@pytest.mark.parametrize(
    ("kind", "data", "message"),
    [
        ("instrument", INSTRUMENT, "the first, and the only one"),
        ("observation", mark("o1"), 'entry 4 .observation "o1"., field id: this id is taken'),
        ("observation", mark("F1"), "this id is taken"),
        ("observation", mark("instrument"), "this id is taken"),
        ("observation", mark("o2", "nek"), 'field part: a guitar has no such part.*"neck"'),
        ("observation", mark("o2", frames=["F1", "F2"]), r"field frames\[1\].*unknown.*F2"),
        ("observation", mark("o2", frames=["o1"]), "something of another kind"),
        ("correction", correction("x1", "o9", None), "the correction is of something unknown"),
        ("correction", correction("x1", "o1", {"part": "neck"}), "field replacement, field kind"),
        ("correction", correction("x1", "o1", mark("o7")), 'a replacement keeps the id "o1"'),
        ("correction", correction("x1", "o1", mark("o1", "nek")), "replacement, field part"),
        ("correction", correction("x1", "o1", mark("o1", frames=["F9"])), "replacement, field fra"),
        ("correction", correction("x1", "instrument", None), "cannot be withdrawn"),
        (
            "correction",
            correction("x1", "instrument", {**INSTRUMENT, "tag": "H-2"}),
            "cannot change the instrument's tag",
        ),
    ],
)
def test_what_breaks_a_rule_is_refused_and_leaves_no_trace(
    dossier: Dossier, kind: str, data: Any, message: str
) -> None:
    dossier.add("photograph", FRAME)
    dossier.add("observation", mark("o1"))
    before = dossier.state
    with pytest.raises(InputError, match=message):
        dossier.add(kind, data)
    assert dossier.state == before


def test_the_first_entry_is_the_instruments(guitar: PartsTree) -> None:
    with pytest.raises(InputError, match="the first, and the only one"):
        Folding(guitar).add("observation", mark("o1"), where="entry 1")


def test_a_tree_of_another_kind_is_refused(guitar: PartsTree) -> None:
    with pytest.raises(InputError, match="field kind: the parts tree is that of a guitar"):
        Folding(guitar).add("instrument", {**INSTRUMENT, "kind": "bass"}, where="entry 1")


def test_nothing_entered_has_no_state(guitar: PartsTree) -> None:
    with pytest.raises(InputError, match="an empty journal"):
        _ = Folding(guitar).state


def test_a_correction_replaces_and_the_history_keeps_both(dossier: Dossier) -> None:
    dossier.add("observation", mark("o1"))
    dossier.add("correction", correction("x1", "o1", mark("o1", text="65/08")))
    assert dossier.state.observations["o1"].text == "65/08"
    said = dossier.state.history["o1"]
    assert [version.entry for version in said] == ["o1", "x1"]
    assert [version.body.text for version in said] == ["65/03", "65/08"]
    assert [version.stands for version in said] == [False, True]


def test_a_replacement_may_leave_its_id_out(dossier: Dossier) -> None:
    dossier.add("observation", mark("o1"))
    body = mark("o1", text="65/08")
    body.pop("id")
    dossier.add("correction", correction("x1", "o1", body))
    assert dossier.state.observations["o1"].text == "65/08"


def test_a_withdrawn_entry_is_gone_but_not_forgotten(dossier: Dossier) -> None:
    dossier.add("observation", mark("o1"))
    dossier.add("correction", correction("x1", "o1", None))
    assert dossier.state.observations == {}
    assert len(dossier.state.history["o1"]) == 2
    with pytest.raises(InputError, match="this id is taken"):
        dossier.add("observation", mark("o1"))


def test_a_corrected_entry_keeps_its_place(dossier: Dossier) -> None:
    dossier.add("observation", mark("o1"))
    dossier.add("observation", mark("o2"))
    dossier.add("correction", correction("x1", "o1", mark("o1", text="new")))
    assert list(dossier.state.observations) == ["o1", "o2"]


def test_the_instrument_can_be_corrected(dossier: Dossier) -> None:
    dossier.add("correction", correction("x1", "instrument", {**INSTRUMENT, "claimed": "1965"}))
    assert dossier.state.instrument.claimed == "1965"


def test_withdrawing_a_cited_photograph_leaves_a_dangling_reference(dossier: Dossier) -> None:
    dossier.add("photograph", FRAME)
    dossier.add("observation", mark("o1", frames=["F1"]))
    assert dossier.state.dangling == ()
    dossier.add("correction", correction("x1", "F1", None))
    (loose,) = dossier.state.dangling
    assert (loose.id, loose.field, loose.names) == ("o1", "frames", "F1")
    with pytest.raises(InputError, match="unknown or withdrawn"):
        dossier.add("observation", mark("o2", frames=["F1"]))


def custody(id_: str, event: str) -> dict[str, Any]:
    return {"id": id_, "event": event, "giver": "a consignor", "receiver": "examiner A"}


def test_custody_follows_its_table(dossier: Dossier) -> None:
    assert dossier.state.custody_state == "not received"
    with pytest.raises(ConflictError, match=r"while the instrument is not received.*received\."):
        dossier.add("custody", custody("k1", "to bench"))
    dossier.add("custody", custody("k1", "received"))
    dossier.add("custody", custody("k2", "to bench"))
    assert dossier.state.custody_state == "on the bench"


def test_a_correction_that_would_break_custody_is_refused_whole(dossier: Dossier) -> None:
    dossier.add("custody", custody("k1", "received"))
    dossier.add("custody", custody("k2", "to bench"))
    before = dossier.state
    with pytest.raises(ConflictError, match='custody "k2"'):
        dossier.add("correction", correction("x1", "k1", None))
    assert dossier.state == before
    dossier.add("correction", correction("x1", "k2", custody("k2", "locked up")))
    assert dossier.state.custody_state == "locked up"


def test_an_act_that_needs_leave_is_not_recorded_without_it(dossier: Dossier) -> None:
    lifted = {
        "id": "t1",
        "act": "lift guard",
        "part": "guard",
        "reason": "pots",
        "reversible": True,
    }
    with pytest.raises(ConflictError, match='leave for "lift guard": not asked'):
        dossier.add("treatment", lifted)
    word = {"act": "lift guard", "by": "a consignor"}
    dossier.add("consent", {"id": "c1", "granted": False, **word})
    with pytest.raises(ConflictError, match="refused"):
        dossier.add("treatment", lifted)
    dossier.add("consent", {"id": "c2", "granted": True, **word})
    dossier.add("treatment", lifted)
    assert dossier.state.leave("lift guard").standing == "granted"
    assert dossier.state.treatments_without_evidence() == ("t1",)


def test_fold_wants_the_whole_journal_in_order(guitar: PartsTree) -> None:
    fields = {"at": "2026-11-02T09:14:00Z", "by": "b", "previous": None, "digest": "1" * 64}
    first = Entry(seq=1, kind="instrument", body=INSTRUMENT, **fields)  # type: ignore[arg-type]
    third = Entry(seq=3, kind="observation", body=mark("o1"), **fields)  # type: ignore[arg-type]
    assert fold([first], guitar).head == "1" * 64
    with pytest.raises(InputError, match="entry 2 expected here"):
        fold([first, third], guitar)


def test_without_a_tree_part_names_are_not_checked() -> None:
    folding = Folding()
    folding.add("instrument", {**INSTRUMENT, "kind": "zither"}, where="entry 1")
    folding.add("observation", mark("o1", "bridge_stone"), where="entry 2")
    assert folding.state.observations["o1"].part == "bridge_stone"
