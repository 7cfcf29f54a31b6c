"""The short form of a chronology, assemblies in place of openings, is still read and dated with."""

from pathlib import Path

import pytest

from heelstamp.chronology import dating_model, read_chronology
from heelstamp.dating import CompiledModel, infer
from heelstamp.errors import InputError

TEXT = (Path(__file__).parents[2] / "fakes" / "wherry_short.toml").read_text("utf-8")

WRONG: dict[str, tuple[str, str, str]] = {
    "part of an assembly": ('"foil"]', '"foill"]', "assembly 4, field parts"),
    "history misspelt": ("kept = 0.02, used", "keptt = 0.02, used", "assembly 3, field disturbed"),
    "history left out": ('used = 0.12, "worked', '"worked', "assembly 3, field disturbed"),
    "states of a part": ("[0.996, 0.0012", "[0.9, 0.0012", "part 'neck'"),
    "states missing": ("undisturbed = [0.996, 0.0012, 0.0012, 0.0016]", "", "part 'neck'"),
    "a part nowhere": ('"foil"]', "]", "exactly one assembly"),
    "a set": ("[[part]]", "SET[[part]]", "a set needs openings"),
    "levels": ('key = "neck"', 'key = "neck"\nlevels = [LEVEL]', "levels need openings"),
    "a body whose neck was off": (
        "foreign_body = 0.04",
        'foreign_body = 0.04\nforeign_opens = ["neck_off"]',
        "prior, field foreign_opens",
    ),
}
SET = '[[set]]\nname = "tuners"\nparts = ["tuners"]\np = 0.1\nsource = { later_replacement = 1 }\n'
LEVEL = '{ path = [["neck_off"]], p = [0.7, 0.1, 0.1, 0.1] }'


@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_in_it_is_refused_where_it_is(name: str) -> None:
    old, new, words = WRONG[name]
    assert old in TEXT
    text = TEXT.replace(old, new.replace("SET", SET).replace("LEVEL", LEVEL), 1)
    with pytest.raises(InputError) as refused:
        dating_model(read_chronology(text, "toml", name="w.toml"))
    assert words in str(refused.value)
    assert str(refused.value).startswith("w.toml")


def test_its_priors_are_those_of_one_disturbance_an_assembly() -> None:
    chronology = read_chronology(TEXT, "toml", name="w.toml")
    states = infer(CompiledModel(dating_model(chronology)), ()).states
    disturbed = 0.6 * 0.02 + 0.3 * 0.12 + 0.1 * 0.5
    assert states["neck"][0, 0] == pytest.approx(0.996 * (1 - disturbed) + 0.35 * disturbed)
