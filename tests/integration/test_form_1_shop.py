"""A shop whose journal began in form 1: read, gone on with in form 2, its leftovers named."""

from pathlib import Path

import pytest

from fakes.sealed import WHERRY_FORM_1, chained
from heelstamp.archive import line_of, split_lines
from heelstamp.casework.dossier import append, state_of
from heelstamp.casework.journal_file import import_journal, verify
from heelstamp.catalogue import Colour, Exposure, Grade, body_data
from heelstamp.cli.checking import doctor
from heelstamp.cli.exits import Exit
from heelstamp.shop import create_shop, open_shop

WHEN = {"at": "2026-11-20T10:00:00Z", "by": "examiner A"}
INSTRUMENT = {
    "kind": "guitar",
    "maker": "Sallowby Instrument Works",
    "model": "Wherry",
    "chronology": "sallowby-wherry",
    "tag": "H-0007",
}


def decided(id_: str, about: str, said: str) -> tuple[str, dict[str, str]]:
    return "decision", {"id": id_, "about": about, "decided": said, "reason": "seen"}


@pytest.fixture
def form_1_shop(tmp_path: Path) -> Path:
    lamp = {
        "id": "t1",
        "act": "UV-A lamp",
        "part": "finish",
        "reason": "to see the glow of the coat",
        "reversible": True,
        "note": "lamp on since 2026-11-02T09:05:00.000Z",
    }
    rows = [
        ("instrument", INSTRUMENT),
        decided("d1", "grade", "B+"),
        decided("d2", "colour", "rare"),
        ("treatment", lamp),
    ]
    made = tmp_path / "shop"
    with create_shop(made, name="bench", currency="USD") as opened:
        lines = [line_of(one) for one in chained(rows, forms=1)]
        opened.journals.append("H-0007", lines, None)
    return made


def test_doctor_names_what_could_not_be_converted_and_nothing_else_stops(
    form_1_shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with open_shop(form_1_shop) as opened:
        state = state_of(opened, "H-0007")
        assert state.last(Colour).colour == "rare"
        assert list(state.unconverted) == ["d1"]
    assert doctor(form_1_shop, as_json=True) == Exit.FINDINGS
    told = capsys.readouterr().out
    assert "entries of H-0007" in told
    assert "decision d1: not a grade from A (best) to E: B+" in told
    assert "d2" not in told


def test_once_it_is_withdrawn_and_entered_anew_doctor_is_content(
    form_1_shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    gone = {"id": "c1", "corrects": "d1", "reason": "no grade", "replacement": None}
    with open_shop(form_1_shop) as opened:
        append(opened, "H-0007", "correction", gone, **WHEN)
        append(opened, "H-0007", "grade", {"id": "g1", "grade": "B", "reason": "wear"}, **WHEN)
        assert state_of(opened, "H-0007").last(Grade).grade == "B"
        assert verify(opened, "H-0007").chain.findings == ()
    assert doctor(form_1_shop, as_json=True) == Exit.DONE
    assert "entries of H-0007" not in capsys.readouterr().out


def test_a_lamp_that_was_on_in_form_1_is_turned_off_in_form_2(form_1_shop: Path) -> None:
    with open_shop(form_1_shop) as opened:
        on = state_of(opened, "H-0007").of(Exposure)["t1"]
        off = {**body_data(on), "until": "2026-11-02T09:08:00.000Z", "minutes": 3.0}
        body = {"id": "c2", "corrects": "t1", "reason": "lamp off", "replacement": off}
        append(opened, "H-0007", "correction", body, **WHEN)
        assert state_of(opened, "H-0007").of(Exposure)["t1"].minutes == 3.0


def test_a_journal_exported_in_form_1_is_taken_in_whole(tmp_path: Path) -> None:
    data = WHERRY_FORM_1.read_bytes()
    with create_shop(tmp_path / "shop", name="bench", currency="USD") as opened:
        state = import_journal(opened, data)
        assert state.length == len(split_lines(data))
        assert not state.unconverted
        assert state.last(Grade, aspect="").grade == "B"
