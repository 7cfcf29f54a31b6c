"""A reply in lines, read; and the first message that asks for it."""

from __future__ import annotations

import tomllib
from importlib import resources

import pytest

from heelstamp.casework.first_call.asked import parse_asked
from heelstamp.casework.first_call.message import first_message
from heelstamp.casework.first_call.record import FirstCall, frames_of, questions_of
from heelstamp.casework.first_call.reply import answers_in, frame_of_name, frames_in
from heelstamp.errors import InputError
from heelstamp.reference.chronology_files import load_chronology
from heelstamp.reference.first_call import FILE, load_first_call

ASKED = load_first_call()
CALL = FirstCall(id="call-0001", made="2026-11-02T09:00:00Z", by="examiner A")
KNOWN = load_chronology("sallowby-wherry")
DOCUMENT = tomllib.loads((resources.files("heelstamp.reference") / FILE).read_text("utf-8"))
QUESTIONS = questions_of(ASKED, KNOWN, KNOWN.words)


def test_the_message_as_it_was_sent_and_filled_in_is_understood() -> None:
    message = first_message(ASKED, QUESTIONS, frames_of(CALL, ASKED))
    filled = []
    for line in message.splitlines():
        asked = next((one for one in QUESTIONS if line.startswith(one.label.rstrip("?"))), None)
        if asked is not None and line.endswith(":"):
            filled.append(f"{line} {asked.choices[0] if asked.choices else 'some words: of mine'}")
        else:
            filled.append(f"> {line}" if line else line)
    found = answers_in("\n".join(filled), QUESTIONS)
    assert set(found) == {one.key for one in QUESTIONS}
    assert found["serial"] == "some words: of mine"
    assert found["case"] == "yes"


def test_the_message_says_what_to_leave_alone_first_and_asks_for_ten_pictures() -> None:
    message = first_message(ASKED, QUESTIONS, frames_of(CALL, ASKED))
    order = [message.index(word) for word in ("Touch nothing", "Empty no case", "Take no screw out",
             "Loosen no string", "Clean nothing", "case-closed:")]  # fmt: skip
    assert order == sorted(order)
    assert all(f"\n- {one.slot}: " in message for one in ASKED.frames)
    by_link = first_message(
        ASKED, QUESTIONS, frames_of(CALL, ASKED), link="https://bench.test/owner/x", until="9 Nov"
    )
    assert "https://bench.test/owner/x" in by_link
    assert "serial number" not in by_link


def test_quoted_lines_and_sentences_are_no_answers() -> None:
    text = "> serial: S00001\nHello, here they are.\nserial: S10350\nTime: soon\n"
    assert answers_in(text, QUESTIONS) == {"serial": "S10350"}


def test_a_long_line_of_a_stranger_costs_no_more_than_its_length() -> None:
    """Patterns that try again at every character would take minutes over each of these."""
    wide = 100_000
    text = f"serial: S{' ' * wide}10350\nhead-front: {'(' * wide}\n{' ' * wide}case\n"
    assert answers_in(text, QUESTIONS)["serial"] == "S 10350"
    assert frames_in(f"a.jpg: {'(' * wide}", ["a.jpg"], ASKED) == {}
    assert frame_of_name(f"{'(' * wide}.jpg", ASKED) == ""


def test_pictures_are_named_by_a_line_or_by_themselves() -> None:
    text = "IMG_0031.jpg: head-front\nIMG_0032.jpg: the whole back\nIMG_0033.jpg: my dog"
    names = ["IMG_0031.jpg", "IMG_0032.jpg", "IMG_0033.jpg"]
    found = frames_in(text, names, ASKED)
    assert found == {"IMG_0031.jpg": "head-front", "IMG_0032.jpg": "overall-back"}
    assert frame_of_name("Head_Front 2.JPG", ASKED) == "head-front"
    assert frame_of_name("IMG_0034.jpg", ASKED) == ""


@pytest.mark.parametrize(
    ("changed", "match"),
    [
        ({"schema": "heelstamp/first-call/9"}, "schema"),
        ({"frame": [*DOCUMENT["frame"], DOCUMENT["frame"][0]]}, "twice"),
        ({"as_told": {"serial": 1.0, "feature": 0.8}}, "serial"),
    ],
)
def test_a_document_of_another_schema_or_with_a_frame_twice_is_refused(
    changed: dict[str, object], match: str
) -> None:
    with pytest.raises(InputError, match=match):
        parse_asked({**DOCUMENT, **changed}, where="asked.toml")
