"""The owner's signature under a plan of work: the plan, and what it grants and refuses.

The signed plan becomes consents, as any word of the owner's: its acts are granted; acts that were
weighed and left out are refused. From then on the journal refuses an act that changes the
instrument and has no consent.
"""

from __future__ import annotations

from collections.abc import Sequence

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.work_plan.document import WorkAct, WorkActs
from heelstamp.casework.work_plan.weighing import Weighed
from heelstamp.catalogue import DossierState
from heelstamp.errors import ConflictError, InputError


def plan_entries(
    state: DossierState,
    stamp: EntryStamp,
    acts: WorkActs,
    weighed: Sequence[Weighed],
    *,
    chosen: Sequence[WorkAct],
    signed: str,
    by: str,
) -> list[NewEntry]:
    """Make the plan's entry and its consents.

    Parameters
    ----------
    chosen
        Acts the owner agreed to; none where nothing is to be done.
    signed
        The day, ``2026-11-02``.
    by
        Who signed, by role.

    Raises
    ------
    InputError
        Nobody signed.
    ConflictError
        A recorded sign stops an act that was chosen.
    """
    if stamp.id in state.entered:
        return []
    if not by.strip():
        raise InputError(
            "a plan that nobody signed", where="by", remedy="Name who signed, by role."
        )
    for one in weighed:
        if one.act in chosen and one.stopped is not None:
            raise ConflictError(
                f"not done, because {one.stopped.rule.why}",
                where=one.stopped.observation,
                received=one.act.label if one.act else "",
                remedy=f"To be said instead: “{one.stopped.rule.instead}”",
            )
    does = [one for act in chosen for one in act.does]
    plan = {
        "id": stamp.id,
        "acts": [{"act": one.act, "part": one.part} for one in does],
        "signed": signed,
        "by": by.strip(),
    }
    entries = [NewEntry("work_plan", plan | stamp.late)]
    granted = dict.fromkeys(one.act for one in does)
    # what opens is asked for by itself: it may be wanted for looking
    refused = dict.fromkeys(
        one.act
        for act in acts.acts
        for one in act.does
        if one.act not in granted and one.act != "take strings off"
    )
    for number, act in enumerate((*granted, *refused), start=1):
        body = {
            "id": stamp.second(f"c{number}"),
            "act": act,
            "granted": act in granted,
            "by": by.strip(),
            "condition": "as in the signed plan of work" if act in granted else "",
            "note": f"Plan of work {stamp.id}.",
        }
        entries.append(NewEntry("consent", {k: v for k, v in body.items() if v != ""} | stamp.late))
    return entries
