"""The date finding: pure in its inputs, plain data, and refusals that name what was entered."""

import json

import msgspec
import pytest

from fakes.wherry_examinations import Body, dated, look, observed, state_of, tables, wherry
from heelstamp.archive import is_digest
from heelstamp.casework.dating import date_instrument
from heelstamp.catalogue import DossierState, Folding, body_data
from heelstamp.errors import InputError
from heelstamp.reference.parts_trees import load_parts_tree


def without_first(state: DossierState, id_: str) -> DossierState:
    """The dossier after one observation has been withdrawn."""
    folding = Folding(load_parts_tree("guitar"))
    bodies = [
        ("instrument", state.instrument),
        *(("observation", o) for o in state.observations.values()),
    ]
    last = {"id": "c1", "corrects": id_, "reason": "entered by mistake", "replacement": None}
    for place, (kind, body) in enumerate(
        [*((kind, body_data(one)) for kind, one in bodies), ("correction", last)]
    ):
        folding.add(kind, body, where=f"entry {place + 1}")
    return folding.state


def test_a_withdrawn_observation_changes_finding_and_digest() -> None:
    state = state_of(observed("outside-only"))
    before = date_instrument(state, wherry(), tables())
    after = date_instrument(without_first(state, "serial"), wherry(), tables())
    assert "serial" not in after.observations
    assert is_digest(before.digest)
    assert is_digest(after.digest)
    assert before.digest != after.digest
    assert before.completion.interval != after.completion.interval


def test_the_digest_is_that_of_the_inputs() -> None:
    one, two = dated(observed("outside-only")), dated(observed("outside-only"))
    assert one == two
    assert one.digest == two.digest
    noted = observed("outside-only")
    noted[0]["note"] = "looked at again"
    assert dated(noted).digest != one.digest


def test_a_finding_of_nothing_is_withheld_and_shows_the_prior() -> None:
    found = dated([])
    assert found.completion.withheld == ["Nothing seen on this instrument bears on its date."]
    assert found.completion.interval == {"50": None, "90": None}
    assert found.completion.prior.median
    assert found.parts == found.part_priors
    assert found.part_dates == {}
    assert found.observations == {}


def test_a_finding_is_plain_data() -> None:
    found = dated(observed("outside-only"))
    data = json.loads(json.dumps(found.data()))
    assert msgspec.convert(data, type(found)) == found
    assert sum(data["completion"]["months"].values()) == pytest.approx(1, abs=1e-3)
    for states in data["parts"].values():
        assert sum(states.values()) == pytest.approx(1)


def test_a_mistyped_century_is_refused_or_harmless() -> None:
    typed = look("m", "neck", "mark", readings=[{"period": "1865-03", "weight": 1.0}])
    seen = observed("outside-only")
    try:
        found = dated([*seen, typed])
    except InputError:
        return
    assert found.completion.median == dated(seen).completion.median


@pytest.mark.parametrize(
    "body",
    [
        look("new", "socket", "sign", sign="x", likelihoods={"original": 0.5, "lost": 0.1}),
        look("new", "neck_plate", "serial", text="S10351"),
    ],
    ids=["unknown state", "second serial"],
)
def test_a_refusal_names_the_observation(body: Body) -> None:
    with pytest.raises(InputError) as refused:
        dated([*observed("outside-only"), body])
    assert '"new"' in str(refused.value)
