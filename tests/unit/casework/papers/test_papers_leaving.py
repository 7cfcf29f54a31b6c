"""What is marked in typed words before they leave: the cases that an exact search passed."""

import pytest

from heelstamp.casework.papers.leaving import folded, marks_in, review_list


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("from Z. Quarrelby", "name"),
        ("asked quarrelby about it", "name"),
        ("write to z.q@example.org", "mail"),
        ("call 020 7946 0991", "telephone"),
        ("left at 5 Invented Street", "address"),
        ("docket says \uff33\uff11\uff10\uff13\uff15\uff10", "number"),
        ("docket says S1O35O", "number"),
        ("docket says S10 350", "number"),
        ("docket says \u0405103\u200b50", "number"),
    ],
)
def test_what_may_tell_more_is_marked(text: str, kind: str) -> None:
    assert kind in {mark.kind for mark in marks_in(text, ("Zed Quarrelby",))}


def test_plain_words_of_the_bench_are_not_marked() -> None:
    for text in ("65/03 R", "lift guard", "read at the heel, clear", "relief 0.2 mm"):
        assert marks_in(text) == (), text


def test_look_alikes_are_folded() -> None:
    assert folded("\u0420\u0410\u0423L") in ("PA\u0423L", "PAYL")


def test_every_typed_word_is_listed_by_its_own_entry() -> None:
    record = {
        "schema": "x",
        "instrument": {"kind": "guitar", "maker": "M", "model": "W", "tag": "H-1"},
        "statement": [{"id": "s1", "role": "friend", "about": "neck", "text": "new"}],
        "observation": [{"id": "o1", "kind": "mark", "part": "neck", "text": "65/03"}],
        "measurement": [{"id": "m1", "jack": {"selector": "neck", "volume": "full"}}],
    }
    told = {(one.entry, one.field) for one in review_list(record, {"o1": "look-7"})}
    assert told >= {("s1", "role"), ("s1", "text"), ("look-7", "text"), ("m1", "jack.selector")}
    assert ("instrument", "maker") in told
    assert not {field for _, field in told} & {"kind", "part", "id", "volume"}
