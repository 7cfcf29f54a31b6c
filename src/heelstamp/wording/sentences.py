"""The one table of sentences, and the statement that each of them becomes.

Every sentence of a paper is filled from :data:`TEMPLATES`; no other place of the program phrases a
finding. A template carries its layer and the rule that shaped it (see ``rules``), so a printed
sentence can be traced: sentence, template, rule, entries, photographs. The functions that choose
and fill templates live in ``about_dates``, ``about_parts`` and ``about_record``. Limits: English
only; free text from a record is quoted as it stands, and refused when it holds a banned word.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from heelstamp.errors import InputError
from heelstamp.wording.banned import refuse_banned
from heelstamp.wording.census_templates import CENSUS
from heelstamp.wording.clearance_templates import CLEARANCE
from heelstamp.wording.doubt_templates import DOUBTS
from heelstamp.wording.electrics_templates import ELECTRICS
from heelstamp.wording.finish_templates import FINISH
from heelstamp.wording.price_templates import PRICES

Layer = Literal["seen", "measured", "inferred", "opinion"]
LAYERS: tuple[Layer, ...] = ("seen", "measured", "inferred", "opinion")


@dataclass(frozen=True, slots=True)
class Template:
    """A sentence with named gaps, its layer and the number of the rule it obeys."""

    layer: Layer
    rule: int
    text: str


def _t(layer: Layer, rule: int, text: str) -> Template:
    return Template(layer, rule, text)


PARTS_OF_THE_TABLE = CENSUS | CLEARANCE | DOUBTS | ELECTRICS | FINISH | PRICES

TEMPLATES: dict[str, Template] = {
    # completion
    "completion": _t(
        "inferred",
        8,
        "Completed between {first} and {last} ({mass}), {likeliest}; marks are lower bounds for "
        "parts that are original.",
    ),
    "completion runs": _t(
        "inferred", 8, "The probability lies in {count} separate periods: {runs}."
    ),
    "completion prior": _t(
        "inferred",
        4,
        "Before any evidence from this instrument the range was {first} to {last} (90 %); all "
        "percentages start from there.",
    ),
    "completion withheld": _t(
        "inferred", 8, "No completion date is given for the whole instrument: {reasons}"
    ),
    "part date": _t(
        "inferred",
        8,
        "The {part}, on {possessive} own marks alone, {points} to a completion between {first} "
        "and {last} (90 %).",
    ),
    "without observation": _t(
        "inferred",
        2,
        "Without {observation} the range would be {first} to {last} (90 %), middle {middle}"
        "{shift}.",
    ),
    "left out": _t("inferred", 2, "No bearing on the date ({reason}): {observations}."),
    "reading open": _t(
        "inferred", 4, "{mark} reads {readings}: not determined, {all_of_them} printed."
    ),
    "reading likely": _t("inferred", 4, "{mark} {word} reads {readings}; no reading is dropped."),
    "reading single": _t("seen", 1, "{mark} reads {readings}."),
    "surprise": _t(
        "inferred",
        10,
        "{observation} sits badly with the rest: an outcome this unusual was expected about once "
        "in {once_in} such instruments.",
    ),
    # state of parts
    "part original": _t(
        "inferred",
        5,
        "The {part} {verb} {word} original, that is fitted at first completion, as far as examined "
        "({posterior}; before the evidence {prior}).{support}",
    ),
    "part period-correct": _t(
        "inferred",
        5,
        "The {part} {verb} {word} period-correct, right in type and time ({posterior}; before the "
        "evidence {prior}); whether {pronoun} {past} fitted first is not determined.{support}",
    ),
    "part later": _t(
        "inferred",
        5,
        "The {part} {verb} {word} a later replacement ({posterior}; before the evidence {prior})."
        "{support}",
    ),
    "part from another": _t(
        "inferred",
        5,
        "The {part} {word} {comes} from another instrument ({posterior}; before the evidence "
        "{prior}).{support}",
    ),
    "part replaced": _t(
        "inferred",
        5,
        "The {part} {verb} {word} not the first fitted ({posterior}; before the evidence {prior}); "
        "the kind of replacement is not determined: {states}.{support}",
    ),
    "part not determined": _t(
        "inferred",
        4,
        "Whether the {part} {past} fitted first is not determined: {states}.{support}",
    ),
    "part not examined": _t(
        "inferred", 2, "The {part} {past} not examined; nothing is said of {possessive} state."
    ),
    "part assumed": _t(
        "inferred",
        2,
        "The {part} {verb} taken as the instrument's own: {possessive} completion is the date "
        "given here. This is an assumption, not a finding.",
    ),
    # words that an examiner chose
    "word chosen": _t("inferred", 4, "The examiner chose the {side} word: {reason}."),
    "weaker word chosen": _t("inferred", 4, "The examiner preferred the weaker word."),
    "part left open": _t(
        "inferred",
        4,
        "Whether the {part} {past} fitted first is left not determined by choice of the examiner "
        "({reason}). The tables give {verdict} ({posterior}; before the evidence {prior}).",
    ),
    "finish left open": _t(
        "inferred",
        6,
        "The history of the coating is left not determined by choice of the examiner ({reason}). "
        "The tables give {verdict} ({posterior}; before the evidence {prior}).",
    ),
    # coating
    "finish state": _t(
        "inferred",
        6,
        "The coating is {word} {state}, as far as examined ({posterior}; before the evidence "
        "{prior}). Covered areas were looked at.{support}",
    ),
    "finish not determined": _t(
        "inferred", 6, "The history of the coating is not determined: {states}.{why}"
    ),
    "finish even": _t(
        "seen",
        6,
        "No area of differing fluorescence was seen at {wavelength} nm on {zones}. This does not "
        "by itself show that the coating is the maker's.{unassessed}",
    ),
    # joints, species, conflicts, ageing
    "joint undisturbed": _t("seen", 7, "The {joint} shows no sign of a second heating.{note}"),
    "joint heated": _t(
        "seen",
        7,
        "The {joint} shows signs of second heating. By itself this does not show that the part "
        "was replaced.{note}",
    ),
    "joint unclear": _t(
        "seen", 7, "The {joint} was looked at; whether it was heated twice cannot be told.{note}"
    ),
    "joint not opened": _t("seen", 9, "The {joint} was not opened{why}.{note}"),
    "species": _t("opinion", 13, "The {part} appears to be {appearance}; species not determined."),
    "conflict": _t(
        "inferred",
        10,
        "Two accounts are open. Either {first}, which asks that {first_cost}; or {second}, which "
        "asks that {second_cost}. The evidence {support}. What would decide: {deciding}.",
    ),
    "ageing mismatch": _t(
        "seen", 11, "Wear does not tell one story: {mismatch}. This is unexplained."
    ),
    # record
    "mark seen": _t("seen", 1, "{part}: {mark}{reader}."),
    "feature seen": _t("seen", 1, "{part}: {feature} {variant}."),
    "serial seen": _t("seen", 1, "{part}: number {number}."),
    "sign seen": _t("seen", 1, "{part}: {sign}, {outcome}."),
    "document seen": _t("seen", 1, "{part}: {document}; {link}."),
    "not looked": _t("seen", 9, "{part}: {subject} not looked at."),
    "absent": _t("seen", 9, "{part}: {subject} looked for and absent."),
    "illegible": _t("seen", 9, "{part}: {subject} looked at and illegible."),
    "not applicable": _t("seen", 9, "{part}: {subject} not applicable to this instrument."),
    "measured": _t("measured", 1, "{part}: {quantity} {value}{stage}{temperature}."),
    "reported": _t("seen", 1, "{role}, {form}, about the {about}: “{text}”"),
    "treatment": _t("seen", 14, "{part}: {act}{material}{amount}{minutes}; {reversible}.{reason}"),
    "no treatment": _t("seen", 14, "No act beyond looking and measuring is recorded."),
    "interest": _t("opinion", 14, "Our interest: {interest}"),
    "estimate": _t("opinion", 13, "{figure}, estimated on {date} from {sales}."),
    "legal note": _t("opinion", 13, "{note} This is not legal advice."),
    "correction": _t(
        "seen",
        15,
        "Version {version} replaces version {replaced}: {reason}. The earlier version stays "
        "readable.",
    ),
    # the next inspection
    "gain in range": _t(
        "inferred",
        2,
        "The 90 % range of completion, now {before}, is expected to be {after} ({bits} on the "
        "date); its ends move with a chance of {chance}.",
    ),
    "gain in part": _t(
        "inferred",
        2,
        "It tells of the {part}: {bits} expected, and what is said of {pronoun} changes with a "
        "chance of {chance}.",
    ),
    "gain in money": _t(
        "inferred", 13, "What is open about the price is expected to fall by {fall}."
    ),
    "first look": _t("inferred", 2, "It would be the first look at the {parts}."),
    "no decision": _t(
        "inferred", 2, "No decision depends on it: the expected gain is zero, as far as printed."
    ),
    "gain without date": _t(
        "opinion",
        2,
        "The completion date is withheld, so gains on it do not count here: look at what would "
        "settle which parts belong together.",
    ),
    "ask": _t("opinion", 14, "Ask the owner first, and log the answer: {acts}."),
    "refused": _t("opinion", 14, "The owner refused: {acts}. It is not done."),
    "stop rule": _t(
        "opinion",
        14,
        "Not done: {act}, because {why}. To be said instead: “{instead}”{consequence}",
    ),
    "first opening": _t(
        "opinion",
        14,
        "The first opening ({opening}) spends evidence that no later examiner can see. Photograph "
        "every screw head, joint and edge before the first screw turns.",
    ),
    "caution": _t("opinion", 14, "{caution}"),
    "do next": _t("opinion", 2, "Next: {inspection}; level {level}, about {minutes}."),
    "stop": _t("opinion", 2, "Stop. {reason}"),
    **{name: Template(*row) for name, row in PARTS_OF_THE_TABLE.items()},
}
"""Every sentence a paper can hold."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One sentence of a paper with all that it stands on.

    Attributes
    ----------
    id
        Unique within a paper.
    layer
        seen, measured, inferred or opinion.
    text
        The sentence as printed.
    strength
        Word that carries its strength ('very probably', 'supports', …); empty for plain facts.
    rests_on
        Ids of the dossier entries it rests on.
    frames
        Ids of the photographs that show them; empty means that none does.
    not_examined
        What bears on it and was not examined.
    template
        Key into :data:`TEMPLATES`.

    Raises
    ------
    InputError
        The layer is unknown, or an inferred statement names neither entries nor gaps (rule 2).
    BannedWordsError
        The text holds words that no paper may carry.
    """

    id: str
    layer: Layer
    text: str
    strength: str = ""
    rests_on: tuple[str, ...] = ()
    frames: tuple[str, ...] = ()
    not_examined: tuple[str, ...] = ()
    template: str = ""

    def __post_init__(self) -> None:
        if self.layer not in LAYERS:
            raise InputError(
                "unknown layer", where=self.id, received=self.layer, remedy=", ".join(LAYERS) + "."
            )
        if self.layer == "inferred" and not (self.rests_on or self.not_examined):
            raise InputError(
                "an inferred statement rests on nothing",
                where=self.id,
                received=self.text,
                remedy="Name the entries it rests on, or what was not examined.",
            )
        refuse_banned(self.text, where=self.id)


@dataclass(frozen=True, slots=True)
class Grounds:
    """What a statement stands on: entries, frames, and what was not examined."""

    rests_on: tuple[str, ...] = ()
    frames: tuple[str, ...] = ()
    not_examined: tuple[str, ...] = ()


NO_GROUNDS = Grounds()


def write(
    template: str, statement_id: str, grounds: Grounds, *, strength: str = "", **gaps: str
) -> Statement:
    """Fill a template.

    Raises
    ------
    KeyError
        No such template, or a gap has no filling: a mistake of the program, not of a user.
    """
    chosen = TEMPLATES[template]
    text = chosen.text.format(**{name: tidy(value) for name, value in gaps.items()})
    text = " ".join(text.split())
    text = text[:1].upper() + text[1:]
    return Statement(
        statement_id,
        chosen.layer,
        text,
        strength,
        grounds.rests_on,
        grounds.frames,
        grounds.not_examined,
        template,
    )


def agreement(part: str) -> dict[str, str]:
    """Give the verbs and pronouns that agree with the name of a part ('frets' are several)."""
    if part.endswith("s") and not part.endswith("ss"):
        return {
            "verb": "are",
            "past": "were",
            "pronoun": "they",
            "possessive": "their",
            "comes": "come",
            "points": "point",
        }
    return {
        "verb": "is",
        "past": "was",
        "pronoun": "it",
        "possessive": "its",
        "comes": "comes",
        "points": "points",
    }


def tidy(text: str) -> str:
    """Join lines and drop control characters; spaces at the ends are kept where a gap has them."""
    lead = " " if text[:1] == " " else ""
    return lead + " ".join("".join(char if char.isprintable() else " " for char in text).split())


def listed(items: tuple[str, ...] | list[str], last: str = "and") -> str:
    """Write a list: ``a``, ``a and b``, ``a, b and c``.

    Examples
    --------
    >>> listed(["front", "back", "edges"])
    'front, back and edges'
    """
    if len(items) <= 1:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"
