"""``heelstamp jack``: typed readings, readings of a file, pictures, exit codes, bad input."""

import json
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest

from fakes.commands import Done, Run

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "wherry-s10350.toml"
DONE, FINDINGS, MISUSE, UNDECIDED = 0, 1, 2, 3
TYPED = ("--full", "6.42k", "--sweep", "61.90k", "--temperature", "24.5")


def jack(run: Run, *words: object) -> Done:
    """Type ``jack``; what it says comes back on one line."""
    code, out, err = run("jack", *words)
    return Done(code, " ".join(out.split()), " ".join(err.split()))


def test_the_demonstrations_numbers_come_out_of_two_readings(run: Run) -> None:
    """Invented scenario: 241 kΩ within 1.5 %, 6.596 kΩ, 6.481 kΩ at 20 °C."""
    code, out, _ = jack(run, *TYPED)
    assert code == DONE
    assert "241.0 ± 0.7 kΩ" in out
    assert "6.596 ± 0.026 kΩ at 24.5 °C, 6.481 ± 0.028 kΩ at 20 °C" in out
    assert "solder" in out
    assert "amplifier" in out
    assert "rewound" not in out


def test_json_holds_both_accounts(run: Run, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = jack(run, *TYPED, "--json")
    data = json.loads(out)
    (one,) = data["pickups"]
    assert code == DONE
    assert one["pot"]["ohm"] == pytest.approx(241_004, abs=5)
    assert one["pickup_20"]["ohm"] == pytest.approx(6481, abs=1)
    assert [h["wiring"] for h in one["hypotheses"]] == [
        "pickup at the track's end",
        "pickup at the wiper",
    ]
    assert [h["fits"] for h in one["hypotheses"]] == [True, False]
    assert data["digest"] == json.loads(jack(run, *TYPED, "--json")[1])["digest"]
    assert data["digest"] != json.loads(jack(run, *TYPED[:-1], "24.6", "--json")[1])["digest"]


def test_a_file_gives_both_pickups_the_capacitor_and_the_range_seen(run: Run) -> None:
    code, out, _ = jack(run, EXAMPLE, "--json")
    data = json.loads(out)
    assert code == DONE
    found = {one["selection"]: one for one in data["pickups"]}
    assert found["neck pickup"]["pickup_20"]["ohm"] == pytest.approx(6481, abs=5)
    assert found["bridge pickup"]["pickup_20"]["ohm"] == pytest.approx(6860, abs=10)
    for one in found.values():
        assert one["pot"]["ohm"] == pytest.approx(241e3, rel=0.015)
        assert one["seen"] == {
            "low": 6300.0,
            "high": 7100.0,
            "count": None,
            "place": "inside",
            "source": "invented, as maker and instrument are",
        }
        assert len(one["rests_on"]) == 2
    assert data["capacitor"]["read_farad"] == pytest.approx(0.049e-6)
    assert data["capacitor"]["mark_farad"] == pytest.approx(0.047e-6)
    assert data["capacitor"]["standing"] == "inside"


@pytest.mark.parametrize(
    ("more", "code", "words"),
    [
        (("--seen", "6.3k-7.1k"), DONE, "inside the range seen, 6.3 to 7.1 kΩ"),
        (("--seen", "7.1k-7.9k"), FINDINGS, "outside the range seen, 7.1 to 7.9 kΩ"),
        (("--seen", "6.45k-7.1k"), DONE, "at the edge of the range seen"),
        (("--gauge", "42", "--turn-length", "145-165mm"), DONE, "between 7100 and 8300 turns"),
        (("--gauge", "0.063mm", "--turn-length", "6in"), DONE, "turns"),
        (("--zero", "0"), DONE, "told by the volume at nothing"),
        (("--zero", "61.8k"), DONE, "fit the pickup at the wiper"),
        (("--zero", "30k"), UNDECIDED, "fit neither wiring"),
        (("--pot", "61.9k"), DONE, "fit the pickup at the wiper"),
        (("--pot", "500k"), UNDECIDED, "fit neither wiring"),
        (("--capacitor", "0.07uF", "--capacitor-mark", "0.047uF"), FINDINGS, "outside ±20 %"),
        (("--inductance", "2.4H", "--winding", "120pF"), DONE, "Loaded resonance of the pickup"),
        (("--inductance", "2.4H", "--volume", "0.1"), DONE, "the response only falls"),
    ],
)
def test_what_is_asked_besides(run: Run, more: tuple[str, ...], code: int, words: str) -> None:
    done = jack(run, *TYPED, *more)
    assert done[0] == code, done
    assert words in done[1]


def test_readings_that_leave_the_wiring_open_are_not_decided(run: Run) -> None:
    code, out, _ = jack(run, "--full", "6.55k", "--sweep", "251.6k")
    assert code == UNDECIDED
    assert "cannot tell how the volume is wired" in out
    assert "pot of 999.8 kΩ" in out
    assert "pot of 251.6 kΩ" in out


def test_without_a_temperature_nothing_is_compared(run: Run) -> None:
    code, out, _ = jack(run, *TYPED[:4], "--seen", "6.3k-7.1k")
    assert code == DONE
    assert "not recorded" in out
    assert "range seen" not in out


def test_the_picture_names_what_was_assumed(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "response.svg"
    code, out, _ = jack(run, *TYPED, "--out", path)
    assert code == DONE
    assert "Response drawn" in out
    root = ET.fromstring(path.read_text("utf-8"))
    words = " ".join(node.text or "" for node in root.iter() if node.tag.endswith("text"))
    assert "Assumed, not measured: inductance 3.0H" in words
    assert "kHz" in words
    again = tmp_path / "again.svg"
    jack(run, *TYPED, "--out", again)
    assert again.read_bytes() == path.read_bytes()


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ((), "no readings at the jack"),
        (("--full", "6.42k"), "two readings are needed"),
        (("--full", "61.9k", "--sweep", "6.42k"), "below the one with the volume full"),
        (("--full", "6.42k", "--sweep", "6.44k"), "cannot be told apart"),
        (("--full", "6,42k", "--sweep", "61.9k"), "decimal comma"),
        (("--full", "OL", "--sweep", "61.9k"), "not a reading of a meter"),
        ((*TYPED, "--temperature", "90"), "no temperature of a room"),
        ((*TYPED, "--seen", "7.1k-6.3k"), "not a range of values seen"),
        ((*TYPED, "--gauge", "12", "--turn-length", "150"), "no such wire"),
        ((*TYPED, "--gauge", "42"), "turns need both"),
        ((*TYPED, "--inductance", "2.4kg"), "unit of mass"),
        ((*TYPED, "--inductance", "much"), "not a value with its unit"),
        ((*TYPED, "--meter", "good"), "no accuracy of a meter"),
        ((*TYPED, "--inductance", "2.4H", "--volume", "0"), "share of its track"),
        ((EXAMPLE, *TYPED), "not both"),
        (("H-404",), "neither an examination file nor a shop"),
    ],
)
def test_bad_input_is_one_message(run: Run, words: tuple[str, ...], message: str) -> None:
    code, out, err = jack(run, *words)
    assert (code, out) == (MISUSE, "")
    assert message in err
