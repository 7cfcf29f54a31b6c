"""The fifteen rules of wording, as one table: what each demands and what enforces it.

Sources: rules 3 and 4 follow the ENFSI *Guideline for Evaluative Reporting in Forensic Science*
(2015), with thresholds and words of this program; rule 6 follows the limits of UV-induced visible
fluorescence in US National Park Service, *Conserve O Gram* 1/10 (2000). All others are common
practice of the trade, no source. The rules govern sentences that the program writes; they cannot
judge whether an observation was well made.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule of wording.

    Attributes
    ----------
    number
        1 to 15.
    title
        A few words to call it by.
    demands
        What a sentence must do or must not do.
    enforced_by
        Names of the functions or checks that keep it, as ``module.name`` in this package or
        ``papers.module`` where a whole paper is needed.
    """

    number: int
    title: str
    demands: str
    enforced_by: tuple[str, ...]


RULES: tuple[Rule, ...] = (
    Rule(
        1,
        "Four layers",
        "Seen, measured, inferred and opinion are never blended in one sentence.",
        ("sentences.Sentence", "sentences.Statement"),
    ),
    Rule(
        2,
        "What it rests on",
        "Every inferred sentence names the entries it rests on and what was not examined.",
        ("sentences.Statement",),
    ),
    Rule(
        3,
        "Ladder of support",
        "Under 2 favours neither; 2 to 10 slightly favours; over 10 to 100 supports; over 100 to "
        "1000 clearly supports; over 1000 strongly supports, and no higher. It states support, "
        "not probability.",
        ("strength.support",),
    ),
    Rule(
        4,
        "Words of probability",
        "Probably from 80 %, very probably from 95 %, otherwise not determined; only of a "
        "posterior, with its prior beside it.",
        (
            "strength.probability_word",
            "about_parts.part_state",
            "about_dates.completion",
            "about_unsettled.part_not_settled",
        ),
    ),
    Rule(
        5,
        "Original and period-correct",
        "Original means fitted at first completion, as far as examined; period-correct means "
        "right type and time, first fitting not shown. One never stands for the other.",
        ("about_parts.part_state",),
    ),
    Rule(
        6,
        "Even glow",
        "An even fluorescence is reported as that, with its zones and wavelength; it does not by "
        "itself show whose finish it is. Covered areas are reported apart.",
        (
            "about_finish.even",
            "about_coat.finish_state",
            "about_finish.cannot_tell",
            "banned.find_banned",
        ),
    ),
    Rule(
        7,
        "Joints",
        "Signs of second heating are a fact about a joint; that a part was replaced needs more.",
        ("about_parts.JOINTS",),
    ),
    Rule(
        8,
        "Completion",
        "Between two months with its probability, and the likeliest month; marks date "
        "parts. Never a day, never one month alone.",
        ("about_dates.completion",),
    ),
    Rule(
        9,
        "Four kinds of nothing",
        "Absent, not looked at, illegible and not applicable are four facts, printed apart.",
        ("about_record.UNREAD", "papers.document"),
    ),
    Rule(
        10,
        "Conflicts",
        "A conflict is written with both accounts and the observation that would decide.",
        ("about_doubts.two_stories",),
    ),
    Rule(
        11,
        "Artificial ageing",
        "The mismatch is described; no motive and no person is named.",
        ("about_doubts.unexplained", "banned.find_banned"),
    ),
    Rule(
        12,
        "Banned words",
        "Words of certainty, of praise and of promise are refused.",
        ("banned.find_banned", "sentences.Statement"),
    ),
    Rule(
        13,
        "Species, value, law",
        "A species appears; a value is estimated on a date from a number of sales; nothing is "
        "legal advice.",
        ("about_price.market_range", "about_clearance.material_question"),
    ),
    Rule(
        14,
        "Our own acts and interest",
        "Everything the shop did is told, and so is what it earns by the sale.",
        ("about_record.treatment", "about_record.interest"),
    ),
    Rule(
        15,
        "Corrections",
        "A correction is a new version that names the one it replaces; the old one stays readable.",
        ("about_census.conclusion_moved", "papers.document"),
    ),
)


def rule(number: int) -> Rule:
    """The rule of that number (1 to 15)."""
    return RULES[number - 1]
