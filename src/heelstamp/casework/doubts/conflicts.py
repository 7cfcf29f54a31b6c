"""Conflicts of one dossier: which observations are in question, two accounts, what would decide.

The engine speaks of places in the evidence; here they become observations of the dossier. What
could decide is whatever the chronology's inspections have left to show, short of those that spoil
something (level 4), and a second look at the observations in question.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from heelstamp.casework.dating.finding import MonthPair
from heelstamp.casework.dating.procedure import spread
from heelstamp.casework.doubts.finding import ConflictFinding, DecidingFinding, StoryFinding
from heelstamp.dating import CompiledModel, Evidence, Posterior, entropy_bits, surprises
from heelstamp.dating.explanations import Conflict, Look, Story, deciding, explain
from heelstamp.dating.questions import questions, with_open_anchor
from heelstamp.dating.second_look import second_look

LEAST_SHARE = 0.01
"""Share of what is open between two accounts below which a look decides nothing (our choice)."""

MOST_DECIDING = 3


def conflicts(
    compiled: CompiledModel,
    evidence: Evidence,
    posterior: Posterior,
    *,
    foreign_prior: float,
    ids: Sequence[str],
    looks: Mapping[str, Sequence[Look]],
) -> list[ConflictFinding]:
    """Find every conflict, the most surprising first.

    Parameters
    ----------
    foreign_prior
        P(the anchor part is from another instrument), for conflicts that turn on it.
    ids
        The observation that each piece of evidence came from.
    looks
        What each inspection has left to show, by its name for a reader.
    """
    surprise = surprises(compiled, evidence)
    found = []
    for question in questions(compiled, evidence, posterior, surprise, ids):
        turns_on_anchor = compiled.model.anchor in question.parts
        model = with_open_anchor(compiled, foreign_prior) if turns_on_anchor else compiled
        conflict = explain(model, evidence, question)
        known = [p for place in question.observations if (p := surprise[place]) is not None]
        rest = 1 - conflict.first.share - conflict.second.share
        found.append(
            ConflictFinding(
                parts=list(question.parts),
                observations=_unique(ids, question.observations),
                surprise=min(known, default=None),
                first=_story(compiled, conflict.first, ids),
                second=_story(compiled, conflict.second, ids),
                odds=conflict.odds,
                likelihood_ratio=conflict.likelihood_ratio,
                others=max(0.0, rest),
                deciding=_deciding(model, evidence, conflict, ids=ids, looks=looks),
            )
        )
    return found


def _unique(ids: Sequence[str], places: Sequence[int]) -> list[str]:
    return list(dict.fromkeys(ids[place] for place in places))


def _story(compiled: CompiledModel, story: Story, ids: Sequence[str]) -> StoryFinding:
    found = spread(story.months, compiled.model.completion)
    interval: dict[str, MonthPair] = found.interval
    return StoryFinding(
        states=dict(story.states),
        mistaken=_unique(ids, story.mistaken),
        share=story.share,
        prior=story.prior,
        median=found.median,
        interval=interval,
    )


def _deciding(
    compiled: CompiledModel,
    evidence: Evidence,
    conflict: Conflict,
    *,
    ids: Sequence[str],
    looks: Mapping[str, Sequence[Look]],
) -> list[DecidingFinding]:
    """Rank inspections and second looks; of an inspection its most telling look counts."""
    best: dict[tuple[str, bool], float] = {}
    every = [(name, look) for name, some in looks.items() for look in some]
    ranked = deciding(compiled, evidence, conflict, [look for _, look in every])
    names = {look.name: name for name, look in every}
    for one in ranked:
        key = (names[one.inspection], False)
        best[key] = max(best.get(key, 0.0), one.bits)
    for place in conflict.question.observations:
        again = second_look(compiled, evidence, conflict, place)
        if again is not None:
            key = (ids[place], True)
            best[key] = max(best.get(key, 0.0), again.bits)
    shares = np.array([conflict.first.share, conflict.second.share])
    open_bits = float(entropy_bits(shares / shares.sum()))
    found = [
        DecidingFinding(inspection=name, again=again, bits=bits, share=bits / open_bits)
        for (name, again), bits in best.items()
        if bits >= LEAST_SHARE * open_bits > 0
    ]
    return sorted(found, key=lambda one: (-one.bits, one.inspection))[:MOST_DECIDING]
