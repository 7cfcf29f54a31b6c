"""``heelstamp strings`` and ``heelstamp setup`` as a person and as a program use them."""

import json
from pathlib import Path

import pytest

EXAMPLE = Path(__file__).parents[2] / "examples" / "wherry-s10350.toml"
OLD, NEW = "11 14 18 28w 38w 50w", "9 11 16 24w 32w 42w"
DONE, FINDINGS, MISUSE, UNDECIDED = range(4)


def test_strings_gives_tensions_and_the_change(run, tmp_path):
    picture = tmp_path / "two.svg"
    code, text, _ = run("strings", OLD, NEW, "--scale", 641.4, "--json", "--out", picture)
    assert code == DONE
    told = json.loads(text)
    assert round(told["first"]["tension"]["value"]) == 523
    assert round(told["second"]["tension"]["value"]) == 371
    assert told["change"]["ratio"]["value"] == pytest.approx(0.709, abs=5e-4)
    assert told["change"]["mass"]["value"] == pytest.approx(-5.1, abs=0.1)
    assert told["first"]["strings"][0]["tension"]["unit"] == "N"
    assert picture.read_text("utf-8").startswith("<svg")


def test_strings_in_words_with_a_change_of_tuning(run):
    code, text, _ = run("strings", NEW, "--scale", 641.4, "--down", 2)
    assert code == DONE
    assert "Ratio 0.794 ± 0.000" in text
    assert "goggles" in text
    assert "Cores assumed" in text
    code, text, _ = run("strings", ".045w .065w .085w .105w", "--kind", "bass", "--scale", 863.6)
    assert code == DONE
    assert "G2" in text


def test_strings_misuse(run, tmp_path):
    for words, said in (
        (("strings", "heavy"), "not part of a set"),
        (("strings", NEW, "--tuning", "E4 B3"), "a note for each string"),
        (("strings", "9 11 16"), "no usual tuning"),
        (("strings", NEW, "--out", tmp_path / "two.png"), "the picture is an SVG"),
        (("strings", NEW, "--scale", 0), "sounding length"),
    ):
        code, text, err = run(*words)
        assert (code, text) == (MISUSE, ""), words
        assert said in err


def test_setup_of_a_file_with_plots(run, tmp_path):
    words = (
        "setup",
        EXAMPLE,
        "--found",
        OLD,
        "--new",
        NEW,
        "--action",
        "1.6/2.0",
        "--relief",
        0.25,
    )
    code, text, err = run(*words, "--json", "--out", tmp_path / "plots")
    assert code == DONE, err
    told = json.loads(text)
    assert told["verdict"] == "issued"
    relief = next(row for row in told["rows"] if row["measure"] == "relief")
    assert relief["predicted"]["value"] == pytest.approx(0.333, abs=0.002)
    names = {one.name for one in (tmp_path / "plots").iterdir()}
    assert names == {"tension.svg", "relief.svg", "action.svg", "clearance.svg", "intonation.svg"}
    code, text, _ = run(*words)
    assert code == DONE
    for word in ("predicted", "Plan", "Not to touch", "Care", "Sheet "):
        assert word in text


def test_setup_without_readings_is_not_decided(run, tmp_path):
    outside = EXAMPLE.with_name("outside-only.toml")
    code, text, _ = run("setup", outside)
    assert code == UNDECIDED
    assert "scale length" in text


def test_setup_refuses_an_act_without_its_after(run, tmp_path):
    file = tmp_path / "half.toml"
    file.write_text(
        EXAMPLE.read_text("utf-8")
        + '\n[[treatment]]\nid = "t-rod"\nact = "turn rod"\npart = "rod"\nreason = "relief"\n'
        'reversible = true\nbefore = ["m-relief-found"]\n',
        "utf-8",
    )
    code, text, _ = run("setup", file, "--found", OLD, "--new", NEW, "--out", tmp_path / "plots")
    assert code == FINDINGS
    assert "t-rod (turn truss rod): nothing from after it" in " ".join(text.split())
    assert not (tmp_path / "plots").exists()
    code, text, _ = run("setup", file, "--json")
    assert code == FINDINGS
    assert json.loads(text)["verdict"] == "refused"


def test_setup_misuse(run):
    code, _, err = run("setup", EXAMPLE, "--action", "low")
    assert code == MISUSE
    assert "not an action" in err
    code, _, err = run("setup", EXAMPLE, "--joint", 4)
    assert code == MISUSE
    assert "short of the neck joint" in err
