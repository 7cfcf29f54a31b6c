"""Cases of the openings model against answers worked out by another program.

The answers come from brute force with the standard library alone over every history class, opening,
careful hand, whole swap and part state, one by one, by a program that never saw this code. Both
follow one description of the model, so the cases show that it is computed correctly, not that it
is true of any maker; the instruments are invented.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from published.test_dating_cases import program, worst

CASES = Path(__file__).parent / "openings_cases"
NAMES = ("01", "04", "07")
ALLOWED = 1e-9
ANSWERS = ("log_evidence", "months", "history", "openings", "swapped", "careful", "parts")


def read(kind: str, name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((CASES / f"{kind}_{name}.json").read_text("utf-8"))
    return data


@pytest.mark.parametrize("name", NAMES)
def test_answers(name: str) -> None:
    found, wanted = program().solve(read("case", name)), read("expected", name)
    assert found.keys() == wanted.keys() == {"title", *ANSWERS}
    assert found["title"] == wanted["title"]
    deviation = worst(found, {key: wanted[key] for key in wanted})
    print(f"case {name}: worst deviation {deviation:.2e}")  # noqa: T201 - for -s
    assert deviation <= ALLOWED


def test_first_edition_is_one_opening_an_assembly() -> None:
    """The old form of a case, rewritten with openings, gives the same posterior."""
    case = json.loads((CASES.parent / "dating_cases" / "case_03.json").read_text("utf-8"))
    reader = program()
    old = reader.model_of(case)
    new = as_openings(reader, old)
    evidence = reader.evidence_of(case)
    ours, theirs = reader.infer(new, evidence), reader.infer(old, evidence)
    assert ours.months[0] == pytest.approx(theirs.months[0], abs=1e-14)
    assert ours.openings[0] == pytest.approx(theirs.disturbed[0], abs=1e-14)
    assert ours.history[0] == pytest.approx(theirs.history[0], abs=1e-14)
    for part in old.parts:
        assert ours.states[part.name] == pytest.approx(theirs.states[part.name], abs=1e-14)


def as_openings(reader: Any, old: Any) -> Any:
    """Write assemblies out as openings without a careful hand."""
    home = {part: one.name for one in old.assemblies for part in one.parts}
    return reader.DatingModel(
        **{
            name: getattr(old, name)
            for name in old.__dataclass_fields__
            if name not in ("assemblies", "parts", "signs", "openings", "careful_default")
        },
        assemblies=(),
        careful_default=0.0,
        openings=tuple(reader.Opening(one.name, one.disturbed) for one in old.assemblies),
        parts=tuple(
            reader.Part(
                one.name,
                one.states,
                one.timing,
                one.undisturbed,
                lag=one.lag,
                levels=(reader.Level(((home[one.name],),), one.disturbed),),
            )
            for one in old.parts
        ),
        signs=tuple(
            one
            if one.assembly is None
            else reader.Sign(
                one.name,
                one.outcomes,
                (*one.table, one.table[1]),
                error=one.error,
                group=one.group,
                opening=one.assembly,
            )
            for one in old.signs
        ),
    )
