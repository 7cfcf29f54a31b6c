"""Any text on a paper: what is shown, what stands as a box, where a long word may break.

Scripts and their characters: The Unicode Standard 16.0, code charts.
"""

import unicodedata
from random import Random

import pytest

from heelstamp.report.printable import (
    BOX,
    WORD_MAX,
    boxed,
    boxed_fields,
    named,
    printable,
    printable_value,
    shown,
)

SHOWN = {
    "Latin": "Wherry, Größe, Łódź",
    "Greek": "Ωμέγα",
    "Cyrillic": "Жуковский",
    "Hebrew": "שלום",
    "Arabic": "محمد",
    "Japanese": "山田 たろう",
    "Korean": "한국 이름",
    "Chinese": "中文 國",
    "emoji": "\U0001f3b8 \U0001f44d\U0001f3fd \u2764\ufe0f",
}


@pytest.mark.parametrize("script", SHOWN)
def test_what_the_typefaces_hold_is_shown_as_typed(script):
    assert boxed(SHOWN[script]) == ()
    assert shown(SHOWN[script]) == unicodedata.normalize("NFC", SHOWN[script])


@pytest.mark.parametrize("char", ["\ue000", "\U000f0000", "\u0378", "\u1200", "\U00020000"])
def test_what_none_holds_or_the_standard_forbids_is_a_box(char):
    assert shown(f"a{char}b") == f"a{BOX}b"
    assert boxed(f"a{char}b{char}") == (char,)


def test_the_box_itself_can_be_shown():
    assert boxed(BOX) == ()


def test_a_long_word_may_break_and_loses_no_letter():
    word = "A" * 80
    broken = printable(word)
    assert broken.replace("\u200b", "") == word
    assert max(map(len, broken.split("\u200b"))) <= WORD_MAX
    assert printable("a" * WORD_MAX) == "a" * WORD_MAX


def test_a_break_never_parts_a_letter_from_its_mark():
    pieces = printable("e\u0323\u0302" * 60).split("\u200b")
    assert len(pieces) > 2
    assert all(unicodedata.category(piece[0])[0] == "L" for piece in pieces)


def test_names_of_the_programs_own_files_stay():
    path = "pictures/" + "a" * 64 + ".jpg"
    told = printable_value({"path": path, "text": ["b" * 64, 3, None]})
    assert told["path"] == path
    assert "\u200b" in told["text"][0]
    assert told["text"][1:] == [3, None]


def test_the_fields_with_boxes_are_named():
    body = {"note": "fine", "readings": [{"text": "\ue000"}], "id": "o1"}
    assert list(boxed_fields(body)) == [("readings.text", ("\ue000",))]
    assert "U+E000" in named(["\ue000"])


def test_any_text_has_a_form_without_what_is_boxed():
    draw = Random(5)
    for _ in range(200):
        text = "".join(chr(draw.randrange(1, 0xD800)) for _ in range(40))
        assert boxed(shown(text)) == ()
