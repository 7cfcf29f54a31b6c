"""What Work shows: the kinds of act, and of a chosen act what belongs to it."""

from __future__ import annotations

from typing import Any

from heelstamp.casework.cautions import FIRST, cautions_of
from heelstamp.casework.photo_plan import missing_before
from heelstamp.casework.treatment import (
    AMOUNTS,
    KINDS,
    MATERIALS,
    MINUTES,
    OFFERED,
    PRESET_AMOUNT,
    REASONS,
    doings,
    evidence_near,
    stopped,
    used_first,
)
from heelstamp.reference.stop_rules import load_stop_table
from heelstamp.shop.photographs import photo_plan
from heelstamp.shop.subjects import Subject


def work_view(subject: Subject, kind: str, act: str) -> dict[str, Any]:
    """Lay out the acts of a kind and one act of it, what was used last offered first."""
    state, tree, table = subject.state, subject.tree, load_stop_table()
    every = doings(tree, subject.chronology)
    chosen = next((one for one in every if one.act == act), None)
    now = chosen.kind if chosen else kind
    alike = {one.act for one in every if one.kind == now}
    done = [one for one in state.treatments.values() if one.act in alike]
    plan = photo_plan()
    amounts = used_first(AMOUNTS, [one.amount for one in done])
    return {
        "kinds": KINDS,
        "kind": now,
        "doings": [one for one in every if one.kind == now],
        "chosen": chosen,
        "missing": missing_before(act, state, plan, tree) if act in plan.acts else (),
        "cautions": (*cautions_of(act, now), FIRST) if chosen else (),
        "stopped": stopped(state, table, act),
        "consent": state.leave(act) if act in tree.acts_needing_consent() else None,
        "offered": OFFERED,
        "evidence": evidence_near(state, tree, chosen.part if chosen else ""),
        "materials": used_first(MATERIALS.get(now, ()), [one.material for one in done]),
        "amounts": amounts,
        "amount": PRESET_AMOUNT if now == "clean" and amounts[0] == "none" else amounts[0],
        "reasons": used_first(REASONS.get(now, ()), [one.reason for one in done]),
        "minutes": MINUTES,
    }
