"""Work plan on the bench and by command: one answer, a signature, and who may see it."""

from __future__ import annotations

import json
from html import unescape
from pathlib import Path

from starlette.testclient import TestClient
from typer.testing import CliRunner

from fakes.web_shop import TAG, flat, state_in
from heelstamp.catalogue import WorkPlan
from heelstamp.cli.app import app

HOME = f"/dossier/{TAG}/work-plan"


def test_page_and_command_say_the_same_and_a_signature_becomes_consents(
    bench: TestClient, shop: Path
) -> None:
    page = flat(unescape(bench.get(HOME).text))
    result = CliRunner().invoke(
        app, ["work-plan", TAG, "--shop", str(shop), "--json"], standalone_mode=False
    )
    told = json.loads(result.stdout)
    assert told["acts"][0]["act"] == "nothing"
    for act in told["acts"]:
        for said in act["said"]:
            assert said in page
    answer = bench.post(HOME, data={"act": ["control"], "by": "owner", "signed": "2026-11-02"})
    assert answer.status_code == 200, answer.text
    assert "Signed 2026-11-02 by owner:</strong> clean control." in flat(answer.text)
    state = state_in(bench)
    assert [one.acts[0].act for one in state.of(WorkPlan).values()] == ["clean control"]
    assert state.leave("clean control").standing == "granted"
    assert state.leave("dress frets").standing == "refused"


def test_a_plan_by_command_of_nothing_and_one_that_nobody_signed(
    bench: TestClient, shop: Path
) -> None:
    told = ["work-plan", TAG, "--shop", str(shop), "--sign", "nothing", "--by", "examiner A"]
    result = CliRunner().invoke(app, told, standalone_mode=False)
    assert "nothing is to be done" in flat(result.stdout)
    answer = bench.post(HOME, data={"by": " ", "signed": "2026-11-02"})
    assert answer.status_code == 422
    answer = bench.post(HOME, data={"act": ["polish"], "by": "owner"})
    assert answer.status_code == 422
    assert len(state_in(bench).of(WorkPlan)) == 1
