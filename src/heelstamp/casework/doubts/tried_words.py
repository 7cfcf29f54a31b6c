"""Which printed words hold under every changed table, and what is said of those that do not.

A word about a part claims that one of some states holds, *probably* or *very probably*; it is tried
by the probability of these states under each changed table. The word that holds under all of them
is printed. Where none does, what the verdict leaves true that says less is tried (a later
replacement is a replacement); where no word about that holds either the part is not settled.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.casework.dating.finding import Spread
from heelstamp.casework.dating.procedure import spread
from heelstamp.casework.doubts.finding import SensitivityFinding, SensitivityRow, Turn, Unsettled
from heelstamp.casework.doubts.verdicts import Verdicts, leaves_true, mass
from heelstamp.casework.papers.part_section import CLAIMED, Claim
from heelstamp.dating.sensitivity import Row, Sensitivity
from heelstamp.units import format_month
from heelstamp.wording import probability_word
from heelstamp.wording.about_parts import WIDER, verdict_words
from heelstamp.wording.strength import NOT_DETERMINED

_LEVELS = {NOT_DETERMINED: 0, "probably": 1, "very probably": 2}


def sensitivity_finding(
    varied: Sensitivity, claims: Mapping[str, Claim], verdicts: Verdicts
) -> SensitivityFinding:
    """Write down every row, the ranges over all of them, and what turns over.

    Parameters
    ----------
    claims
        What is claimed of each part before any change, by its key.
    """
    tried = {
        key: _tried(varied, key, claim.states, verdicts)
        for key, claim in claims.items()
        if claim.states
    }
    wide = {
        key: _tried(varied, key, CLAIMED[WIDER[claims[key].verdict]], verdicts)
        for key in tried
        if claims[key].verdict in WIDER
    }
    told = {
        f"part:{key}": _of_part(key, claims[key], some, wide.get(key))
        for key, some in tried.items()
    }
    told |= {
        name: _of_word(varied, name) for name in varied.base.words if not name.startswith("part:")
    }
    turned = {name: one for name, one in told.items() if one is not None}
    said = [
        (key, wide[key] if (one := told[f"part:{key}"]) is not None and one.wider else some)
        for key, some in tried.items()
    ]
    changes = {name: {(t.assumption, t.factor) for t in one.turns} for name, one in turned.items()}
    lower, upper = varied.ends()
    peaks = [int(row.months.argmax()) for row in (varied.base, *varied.rows)]
    first = varied.model.completion.first
    parts = {}
    for part in varied.model.parts:
        least, most = (values.tolist() for values in varied.states(part.name))
        pairs = zip(least, most, strict=True)
        parts[part.name] = dict(zip(part.states, pairs, strict=True))
    return SensitivityFinding(
        rows=[
            _row(row, varied, [n for n, some in changes.items() if (row.name, row.factor) in some])
            for row in varied.rows
        ],
        lower=(format_month(lower.first), format_month(lower.last)),
        upper=(format_month(upper.first), format_month(upper.last)),
        likeliest=(format_month(first + min(peaks)), format_month(first + max(peaks))),
        parts=parts | {one: parts[whole] for one, whole in verdicts.of_sets.items()},
        claims={key: (min(p for _, p in some), max(p for _, p in some)) for key, some in said},
        date=_held(varied, verdicts),
        unsettled=turned,
    )


def _tried(
    varied: Sensitivity, key: str, states: Sequence[str], verdicts: Verdicts
) -> list[tuple[Row, float]]:
    """P(one of some states) under the tables themselves, first, and under each change."""
    part = varied.model.part(verdicts.of_sets.get(key, key))
    places = [part.states.index(state) for state in states if state in part.states]
    rows = (varied.base, *varied.rows)
    return [(row, min(1.0, float(row.states[part.name][places].sum()))) for row in rows]


def _of_part(
    key: str, claim: Claim, tried: list[tuple[Row, float]], wide: list[tuple[Row, float]] | None
) -> Unsettled | None:
    """What becomes of a claim; None where its word holds throughout.

    *wide* are the probabilities of what it leaves true that says less.
    """
    said = _LEVELS[probability_word(claim.probability)]
    fallen = [(row, p) for row, p in tried[1:] if _LEVELS[probability_word(p)] < said]
    if not fallen:
        return None
    word, wider = probability_word(min(p for _, p in fallen)), ""
    if word == NOT_DETERMINED and wide is not None:
        word, wider = probability_word(min(p for _, p in wide)), WIDER[claim.verdict]
    settled = word != NOT_DETERMINED
    return Unsettled(
        verdict=claim.words,
        holds=word if settled else "",
        wider=wider if settled else "",
        turns=[
            Turn(assumption=row.name, factor=row.factor, verdict=_instead(key, claim, row, p))
            for row, p in fallen
        ],
    )


def _instead(key: str, claim: Claim, row: Row, p: float) -> str:
    """What is said under a change: the same with a lower word, or what the row comes down to."""
    word = probability_word(p)
    return (
        row.words[f"part:{key}"] if word == NOT_DETERMINED else verdict_words(word, claim.verdict)
    )


def _of_word(varied: Sensitivity, name: str) -> Unsettled | None:
    """What becomes of the date or a reading; None where its word holds throughout."""
    some = varied.turned(name, leaves_true)
    if not some:
        return None
    return Unsettled(
        verdict=varied.base.words[name],
        holds="",
        turns=[
            Turn(assumption=row.name, factor=row.factor, verdict=row.words[name]) for row in some
        ],
    )


def _held(varied: Sensitivity, verdicts: Verdicts) -> tuple[float, float] | None:
    """Least and greatest probability of the range as printed."""
    if verdicts.interval is None:
        return None
    grid = varied.model.completion
    found = [mass(row.months, grid, verdicts.interval) for row in (varied.base, *varied.rows)]
    return min(found), max(found)


def _row(row: Row, varied: Sensitivity, turned: list[str]) -> SensitivityRow:
    found: Spread = spread(row.months, varied.model.completion)
    return SensitivityRow(
        assumption=row.name,
        factor=row.factor,
        median=found.median,
        interval=found.interval,
        turned=turned,
    )
