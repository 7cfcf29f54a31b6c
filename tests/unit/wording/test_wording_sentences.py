import inspect
import re

import pytest

from heelstamp.errors import InputError
from heelstamp.wording import (
    TEMPLATES,
    BannedWordsError,
    Statement,
    about_census,
    about_choice,
    about_clearance,
    about_control_noise,
    about_dates,
    about_doubts,
    about_electrics,
    about_finish,
    about_inspections,
    about_parts,
    about_price,
    about_record,
    about_unsettled,
    find_banned,
)
from heelstamp.wording.sentences import Grounds, agreement, listed, tidy, write


@pytest.mark.parametrize("name", TEMPLATES)
def test_no_template_holds_a_banned_word(name: str) -> None:
    assert find_banned(re.sub(r"\{\w+\}", "part", TEMPLATES[name].text)) == ()


def test_every_template_is_written_somewhere() -> None:
    told_in = (
        about_census,
        about_clearance,
        about_control_noise,
        about_choice,
        about_dates,
        about_doubts,
        about_electrics,
        about_finish,
        about_inspections,
        about_parts,
        about_price,
        about_record,
        about_unsettled,
    )
    sources = "".join(inspect.getsource(m) for m in told_in)
    told = {name for name in TEMPLATES if f'"{name}"' in sources}
    # chosen by a status or a verdict
    told |= {"not looked", "absent", "illegible", "not applicable"}
    told |= {"part assumed", "part not examined"}
    assert told == set(TEMPLATES)


def test_layers_are_never_blended() -> None:
    for name, template in TEMPLATES.items():
        assert template.layer in ("seen", "measured", "inferred", "opinion"), name
        if template.layer in ("seen", "measured"):
            assert "probably" not in template.text, name


def test_an_inferred_statement_names_what_it_rests_on() -> None:
    with pytest.raises(InputError, match="rests on nothing"):
        Statement("a", "inferred", "The neck is probably original.")
    Statement("a", "inferred", "The neck was not examined.", not_examined=("neck",))


def test_a_layer_that_is_none_is_refused() -> None:
    with pytest.raises(InputError, match="unknown layer"):
        Statement("a", "guessed", "Text.")  # type: ignore[arg-type]


def test_a_banned_phrase_is_refused_where_the_statement_is_made() -> None:
    with pytest.raises(BannedWordsError):
        Statement("a", "seen", "Guaranteed.")


def test_a_gap_is_tidied_and_a_sentence_begins_with_a_capital() -> None:
    told = write("mark seen", "m", Grounds(), part="neck", mark="“65/03\n\tR”\u0000", reader="")
    assert told.text == "Neck: “65/03 R”."
    bare = write("feature seen", "m", Grounds(), part="guard", feature="", variant="laminate")
    assert bare.text == "Guard: laminate."


def test_a_missing_gap_is_a_mistake_of_the_program() -> None:
    with pytest.raises(KeyError):
        write("mark seen", "m", Grounds(), part="neck")


@pytest.mark.parametrize(
    ("items", "text"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")],
)
def test_lists_are_written_out(items: list[str], text: str) -> None:
    assert listed(items) == text


def test_verbs_agree_with_the_part() -> None:
    assert agreement("frets")["verb"] == "are"
    assert agreement("glass")["verb"] == "is"
    assert agreement("neck")["past"] == "was"
    assert tidy("  a  b ") == " a b"
