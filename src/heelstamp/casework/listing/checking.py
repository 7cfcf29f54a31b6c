"""A text of the shop's own held against the buyer's report before it leaves.

Found are: figures that the report does not have, years and months outside of its range, states of
parts that it does not give or gives with a strength that the text leaves out, phrases that claim
more than anybody looked for, words that no paper may carry, the number in full, and flaws that the
text does not tell. The search reads English and finds words, not meanings: that nothing is found
does not say that a text is true (common practice, no source).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from heelstamp.casework.feature_names import heading
from heelstamp.casework.listing.composing import Listing
from heelstamp.casework.papers.document import ReportDocument, texts
from heelstamp.casework.papers.document_rows import PartRow
from heelstamp.units import Period
from heelstamp.wording import about_listing as about
from heelstamp.wording import find_banned

_UNITS: dict[str, tuple[str, float]] = {
    "g": ("mass", 1.0),
    "kg": ("mass", 1000.0),
    "lb": ("mass", 453.59237),
    "lbs": ("mass", 453.59237),
    "oz": ("mass", 28.349523125),
    "mm": ("length", 1.0),
    "cm": ("length", 10.0),
    "in": ("length", 25.4),
    "inch": ("length", 25.4),
    "inches": ("length", 25.4),
    '"': ("length", 25.4),
    "ω": ("resistance", 1.0),
    "kω": ("resistance", 1e3),
    "kohm": ("resistance", 1e3),
    "k": ("resistance", 1e3),
    "mω": ("resistance", 1e6),
    "µf": ("capacitance", 1.0),
    "uf": ("capacitance", 1.0),
    "nf": ("capacitance", 1e-3),
    "n": ("force", 1.0),
    "cent": ("pitch", 1.0),
    "cents": ("pitch", 1.0),
    "%": ("share", 1.0),
}
"""Kind and size of each unit; the pound and the inch are exact (agreement of 1959)."""
_FIGURE = re.compile(
    r"(?<![\w.])(?P<value>\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+(?:\.\d+)?)"
    r"(?: ?(?:±|\+/-) ?\d+(?:\.\d+)?)? ?"
    r"(?P<unit>kg|g|lbs?|oz|mm|cm|inch(?:es)?|in|\"|k[Ωω]|kohm|k|m[Ωω]|[Ωω]|[µu]F|nF|N|cents?|%)"
    r"(?!\w)",
    re.IGNORECASE,
)
_BESIDE_LB = re.compile(r"(\d+) ?lbs?,? ?(\d+(?:\.\d+)?) ?oz", re.IGNORECASE)
_MONTHS = ["jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"]
_MONTH_YEAR = re.compile(rf"\b({'|'.join(_MONTHS)})[a-z]*\.?,? (1[89]\d\d|20\d\d)\b", re.IGNORECASE)
_YEAR = re.compile(r"(?<![\d.,#])(1[89]\d\d|20\d\d)(?P<decade>s|’s|'s)?(?![\d.,]*\d)")
_STATE = re.compile(
    r"\b(original|first finish|factory|refinish(?:ed)?|replaced|replacement|later"
    r"|period[- ]correct)\b",
    re.IGNORECASE,
)
_STRENGTH = re.compile(r"\b(very probably|probably)\b", re.IGNORECASE)
_MORE = re.compile(
    r"\b(?:never (?:been )?(?:refinished|repaired|opened|played|modified|broken|off)"
    r"|no (?:repairs?|issues?|cracks?|breaks?|damage|changes|modifications?|mods|flaws?|problems?)"
    r"|untouched|unmodified|unplayed|unmolested|unrestored|mint|perfect|immaculate|as new"
    r"|like new|all stock|bone stock|100 ?% stock|neck has never been off)\b",
    re.IGNORECASE,
)
_SENTENCE = re.compile(r"(?:[^.;!?\n]|\.(?=\d))+")
_SAME = {
    "original": frozenset({"original", "first finish", "first finish, touched or not", "assumed"}),
    "period-correct": frozenset({"period-correct", "original"}),
    "changed": frozenset({"later", "from another", "replaced", "touched up", "refinished"}),
}
_EXCERPT = 60


@dataclass(frozen=True, slots=True)
class Contradiction:
    """One thing of a text that the report does not bear out.

    Attributes
    ----------
    kind
        ``figure``, ``months``, ``state``, ``more than seen``, ``banned``, ``number`` or
        ``left out``.
    said
        What the text says there; empty of what it leaves out.
    told
        What is wrong with it and what the report says.
    """

    kind: str
    said: str
    told: str


def contradictions(
    text: str, document: ReportDocument, listing: Listing, *, numbers: Sequence[str] = ()
) -> tuple[Contradiction, ...]:
    """Hold a text against the report that a buyer reads.

    Parameters
    ----------
    document, listing
        As a buyer reads it, and the listing composed of it.
    numbers
        Serial numbers in full, which no listing may show.
    """
    report = "\n".join(texts(document))
    own = _without_sentences_of(document, text)
    found = [
        *_banned(own),
        *_numbers(text, numbers),
        *_months(own, document, report),
        *_figures(own, report),
        *_states(own, document.parts),
        *_more_than_seen(own, report),
        *_left_out(text, document, listing),
    ]
    return tuple(dict.fromkeys(found))


def _without_sentences_of(document: ReportDocument, text: str) -> str:
    """The text without what it has from the report word for word."""
    own = text
    for one in sorted({one.text for one in document.statements()}, key=len, reverse=True):
        own = own.replace(one, " ")
    return own


def _banned(text: str) -> Iterator[Contradiction]:
    for one in find_banned(text):
        told = about.banned.write(said=one.phrase, instead=one.ban.instead)
        yield Contradiction("banned", one.phrase, _begun(str(told)))


def _numbers(text: str, numbers: Iterable[str]) -> Iterator[Contradiction]:
    bare = re.sub(r"[\s.\-]", "", text).casefold()
    for one in numbers:
        if len(one) > 3 and re.sub(r"[\s.\-]", "", one).casefold() in bare:
            yield Contradiction("number", "", about.number_in_full.say())
            return


def _months(text: str, document: ReportDocument, report: str) -> Iterator[Contradiction]:
    line = document.timeline
    told = "" if line is None else f"{document.headline} (90 %)"
    within = range(0) if line is None else _months_of(line.interval_90)
    rest = text
    for match in _MONTH_YEAR.finditer(text):
        month = int(match[2]) * 12 + _MONTHS.index(match[1][:3].lower())
        rest = rest.replace(match[0], " ")
        shown = f"{match[1][:3].title()} {match[2]}"
        if month not in within and shown.casefold() not in report.casefold():
            said = about.months_outside.write(said=match[0], told=told)
            yield Contradiction("months", match[0], _begun(str(said)))
    for match in _YEAR.finditer(rest):
        year = int(match[1])
        months = range(year * 12, (year + (10 if match["decade"] else 1)) * 12)
        literal = not match["decade"] and match[0] in report
        if not (set(months) & set(within)) and not literal:
            said = about.months_outside.write(said=match[0], told=told)
            yield Contradiction("months", match[0], _begun(str(said)))


def _months_of(period: Period) -> range:
    return range(period.first, period.last + 1)


def _figures(text: str, report: str) -> Iterator[Contradiction]:
    known = list(_read(report))
    for kind, value, doubt, said in _read(text):
        if kind == "share":
            continue  # shares of a text are words of probability, which states are held to
        same = [one for one in known if one[0] == kind]
        if not any(abs(value - one[1]) <= doubt + one[2] + 1e-9 for one in same):
            near = sorted(same, key=lambda one: abs(one[1] - value))
            told = about.figure_unknown.write(
                figure=said, known=list(dict.fromkeys(one[3] for one in near))[:2]
            )
            yield Contradiction("figure", said, str(told))


def _read(text: str) -> Iterator[tuple[str, float, float, str]]:
    """Figures with a unit: kind, value and half of its last digit in the base unit, as written.

    A text has the report's figure, rounded or not; one that lies within its uncertainty is another.
    """
    for match in _BESIDE_LB.finditer(text):
        grams = float(match[1]) * 453.59237 + float(match[2]) * 28.349523125
        yield "mass", grams, 28.349523125 * _half(match[2]), match[0]
    for match in _FIGURE.finditer(_BESIDE_LB.sub(" ", text)):
        kind, size = _UNITS[match["unit"].lower()]
        value = float(match["value"].replace(",", ""))
        yield kind, value * size, _half(match["value"]) * size, match[0].strip()


def _half(written: str) -> float:
    decimals = len(written.partition(".")[2])
    return float(0.5 * 10.0**-decimals)


def _states(text: str, rows: Sequence[PartRow]) -> Iterator[Contradiction]:
    for sentence in _SENTENCE.findall(text):
        clause = ""
        for chunk in sentence.split(","):
            clause += f" {chunk}"
            state = _STATE.search(chunk)
            if state is not None:
                for row in _named(clause, rows):
                    yield from _state(clause, state[0], row)
                clause = ""


def _named(clause: str, rows: Sequence[PartRow]) -> list[PartRow]:
    """The parts that a clause names, the longest names first; a plural names every part of it."""
    whole = rest = clause.casefold()
    found = []
    for row in sorted(rows, key=lambda one: -len(one.label)):
        if re.search(rf"\b{re.escape(row.label.casefold())}\b", rest):
            rest = rest.replace(row.label.casefold(), " ")
            found.append(row)
    for row in rows:
        noun = row.label.casefold().split()[-1]
        several = noun if noun.endswith("s") else f"{noun}s"
        if row not in found and re.search(rf"(?<!\w){re.escape(several)}\b", whole):
            found.append(row)
    return found


def _state(clause: str, said: str, row: PartRow) -> Iterator[Contradiction]:
    word = said.casefold()
    asked = "original" if word in ("original", "first finish", "factory") else "changed"
    asked = "period-correct" if word.startswith("period") else asked
    shown = f"{row.label}: {said}"
    if re.search(r"\b(?:not|whether|no longer|un)\b", clause, re.IGNORECASE):
        return
    if row.verdict not in _SAME[asked] or (word == "later" and row.verdict != "later"):
        told = about.state_otherwise.write(part=row.label, said=said.lower(), told=row.said)
        yield Contradiction("state", shown, _begun(str(told)))
        return
    strengths = [one.lower() for one in _STRENGTH.findall(clause)]
    if row.word and (not strengths or ("very probably" in strengths and row.word == "probably")):
        told = about.strength_wanting.write(part=row.label, told=row.said)
        yield Contradiction("state", shown, _begun(str(told)))


def _more_than_seen(text: str, report: str) -> Iterator[Contradiction]:
    for match in _MORE.finditer(text):
        if match[0].casefold() not in report.casefold():
            told = about.more_than_seen.write(said=match[0])
            yield Contradiction("more than seen", match[0], _begun(str(told)))


def _left_out(text: str, document: ReportDocument, listing: Listing) -> Iterator[Contradiction]:
    """Flaws of which the text names neither the sentence nor the part."""
    folded = " ".join(text.casefold().split())
    labels = {row.key: row.label.casefold() for row in document.parts}
    for line in listing.flaws:
        part = labels.get(line.source.rpartition("part:")[2], "")
        named = bool(part) and re.search(rf"\b{re.escape(part)}\b", folded) is not None
        if line.source and not named and line.text.casefold().rstrip(".") not in folded:
            yield Contradiction("left out", "", about.flaw_left_out.say(flaw=line.text))


def _begun(text: str) -> str:
    return heading(text)
