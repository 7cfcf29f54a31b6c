"""Method: what was considered, the claim held against the finding, who examined, the searches.

Evaluative reporting asks for the alternatives that were considered and for what the opinion rests
on (ENFSI, *Guideline for Evaluative Reporting in Forensic Science*, 2015, 2.4 and 3.3).
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from heelstamp.casework.papers.document_rows import CustodyRow, PartRow
from heelstamp.catalogue import Custody, DossierState
from heelstamp.catalogue.bodies.appraisal import TitleSearch
from heelstamp.units import Quantity
from heelstamp.wording import Grounds, Statement, about_summary, find_banned
from heelstamp.wording.strength import percent

_YEAR = re.compile(r"(?<!\d)(1[89]\d\d|20\d\d)(?!\d)")


def method_statements(
    state: DossierState,
    finding: Mapping[str, Any],
    rows: Sequence[PartRow],
    grounds: Grounds,
    *,
    examiners: Sequence[tuple[str, str]],
) -> tuple[Statement, ...]:
    """What was considered, the claim, and who examined.

    Parameters
    ----------
    grounds
        Of the sentence about the date.
    examiners
        Role of each who examined, and the shop's record of their competence.
    """
    judged = sum(row.verdict not in ("not examined", "not judged") for row in rows)
    told = [about_summary.accounts_considered("method:accounts", grounds, parts=judged)]
    if finding.get("assembled"):
        before, after = finding["assembled"]
        told.append(
            about_summary.put_together_considered(
                "method:together", grounds, before=before, after=after
            )
        )
    told += _claim(state, finding, grounds)
    told += [
        about_summary.examiner(f"method:examiner:{number}", role=role, record=record)
        for number, (role, record) in enumerate(examiners, start=1)
    ]
    return tuple(told)


def _claim(state: DossierState, finding: Mapping[str, Any], grounds: Grounds) -> list[Statement]:
    """The claim, with what the finding leaves to the years it names."""
    claimed = state.instrument.claimed
    if not claimed or find_banned(claimed):
        return []
    months: Mapping[str, float] = finding["completion"].get("months") or {}
    years = dict.fromkeys(_YEAR.findall(claimed))
    if not years or not months:
        return [about_summary.claim_only("method:claim", claimed=claimed)]
    share = sum(p for month, p in months.items() if month[:4] in years)
    return [
        about_summary.claim(
            "method:claim",
            grounds,
            claimed=claimed,
            share=percent(min(1.0, share)),
            months=" and ".join(years),
        )
    ]


def searches(state: DossierState) -> tuple[Statement, ...]:
    """Each search of a register for the number, or that none is told."""
    told = [
        about_summary.register_searched(
            f"search:{one.id}",
            Grounds((one.id,)),
            register=one.register,
            day=one.day or "",
            hit=one.hit,
        )
        for one in state.of(TitleSearch).values()
    ]
    return tuple(told) or (about_summary.no_register_searched("search:none"),)


def custody_rows(state: DossierState) -> tuple[CustodyRow, ...]:
    """Every change of hands or place, in the order of entry."""
    rows = []
    for one in state.of(Custody).values():
        entered = state.entered.get(one.id)
        weight = (
            ""
            if one.weight_g is None
            else str(Quantity(one.weight_g, "g", one.weight_uncertainty_g or 0.0))
        )
        hands = " to ".join(hand for hand in (one.giver, one.receiver) if hand)
        day = one.made or (entered.at if entered is not None else "")
        rows.append(CustodyRow(day[:10], one.event, hands, one.place, weight))
    return tuple(rows)
