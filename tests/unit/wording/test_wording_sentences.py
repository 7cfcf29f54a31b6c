import ast
import inspect

import pytest

from heelstamp.errors import InputError
from heelstamp.luminescence.causes import CAUSES, NONE
from heelstamp.wording import BannedWordsError, Sentence, Statement, find_banned, sentence
from heelstamp.wording.about_finish import DECIDING
from heelstamp.wording.about_record import feature_seen, mark_seen
from heelstamp.wording.sentences import Grounds, agreement, listed, tidy
from heelstamp.wording.table import SUBJECTS, all_sentences

SENTENCES = all_sentences()


def texts(one: Sentence) -> list[str]:
    """Return the constant texts in the body of a sentence."""
    function = ast.parse(inspect.getsource(one.write)).body[0]
    assert isinstance(function, ast.FunctionDef)
    body = function.body[1:] if ast.get_docstring(function) else function.body
    found = [node for part in body for node in ast.walk(part) if isinstance(node, ast.Constant)]
    return [node.value for node in found if isinstance(node.value, str)]


@pytest.mark.parametrize("name", SENTENCES)
def test_no_sentence_holds_a_banned_word(name: str) -> None:
    assert find_banned(" part ".join(texts(SENTENCES[name]))) == ()


def test_every_sentence_stands_in_a_module_of_the_table() -> None:
    named = {f"heelstamp.wording.{one.__name__.rpartition('.')[2]}" for one in SUBJECTS}
    assert {one.write.__module__ for one in SENTENCES.values()} == named


def test_fields_are_given_by_name() -> None:
    for name, one in SENTENCES.items():
        kinds = {field.kind for field in inspect.signature(one.write).parameters.values()}
        assert kinds <= {inspect.Parameter.KEYWORD_ONLY}, name


def test_every_cause_of_a_glow_has_what_would_tell_it() -> None:
    assert set(DECIDING) == {*CAUSES, NONE}


def test_layers_are_never_blended() -> None:
    for name, one in SENTENCES.items():
        assert one.layer in ("seen", "measured", "inferred", "opinion"), name
        if one.layer in ("seen", "measured"):
            assert "probably" not in "".join(texts(one)), name


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


def test_a_plain_form_is_searched_too() -> None:
    with pytest.raises(BannedWordsError):
        Statement("a", "seen", "Seen.", plain="Guaranteed.")


def test_a_field_is_tidied_and_a_sentence_begins_with_a_capital() -> None:
    told = mark_seen("m", part="neck", mark="“65/03\n\tR”\u0000")
    assert told.text == "Neck: “65/03 R”."
    bare = feature_seen("m", part="pickguard", feature="", variant=" laminate ")
    assert bare.text == "Pickguard: laminate."


def test_what_is_only_said_is_searched_too() -> None:
    with pytest.raises(BannedWordsError):
        mark_seen.say(part="neck", mark="a fake")


def test_a_missing_field_is_a_mistake_of_the_program() -> None:
    with pytest.raises(TypeError):
        mark_seen("m", part="neck")  # type: ignore[call-arg]


def test_a_sentence_carries_its_id_layer_and_grounds() -> None:
    @sentence("weight told", "measured", 1)
    def weight(*, grams: int) -> str:
        return f"it weighs {grams} g."

    told = weight("w", Grounds(("o1",), ("F1",)), grams=3600)
    assert (told.id, told.template, told.layer) == ("w", "weight told", "measured")
    assert (told.text, told.grounds) == ("It weighs 3600 g.", Grounds(("o1",), ("F1",)))


@pytest.mark.parametrize(
    ("items", "text"),
    [([], ""), (["a"], "a"), (["a", "b"], "a and b"), (["a", "b", "c"], "a, b and c")],
)
def test_lists_are_written_out(items: list[str], text: str) -> None:
    assert listed(items) == text


def test_verbs_agree_with_the_part() -> None:
    assert agreement("frets").is_ == "are"
    assert agreement("glass").is_ == "is"
    assert agreement("neck").was == "was"
    assert tidy("  a  b ") == " a b"
