"""Words that no paper may carry, and the search that finds them.

The list is rule 12 (certainty, praise, promise), rule 11 (motive and person in talk of ageing) and
the part of rule 6 that a machine can see ('original finish'). A state or a month said without a
word of strength ('is original', 'is dated', 'dates from May') is banned too, unless its clause asks
or has such a word. Two phrases are allowed on a condition: 'never opened' when the screws and the
joints were described, 'original finish' when the covered areas were. Common practice of the trade,
no source. The search reads English only, and it finds words, not meanings: a boast in other words
passes.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from heelstamp.errors import InputError

LEFT_OUT = "[…]"
"""Stands for a banned phrase in quoted words."""

Condition = Literal["", "screws and joints described", "covered areas described"]


@dataclass(frozen=True, slots=True)
class Ban:
    """One banned phrase with its inflections.

    Attributes
    ----------
    name
        The phrase as the rule names it.
    pattern
        Regular expression over text in lower case with single spaces and plain hyphens.
    rule
        Number of the rule that bans it.
    instead
        What may be written instead.
    unless
        Condition under which it is allowed; empty when there is none.
    excused
        Regular expression of words before it in the same clause that give it a strength or ask.
    """

    name: str
    pattern: str
    rule: int
    instead: str
    unless: Condition = ""
    excused: str = ""


_MONTH = (
    r"(?:jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|july?|aug(?:ust)?"
    r"|sep(?:t(?:ember)?)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?)"
)
_STRENGTH = r"(?:probabl[ey]|likely|whether|if|that|not|unless|when|between|about|may be|might be)"
_SEP = r"[ -]{0,3}"
BANS: tuple[Ban, ...] = (
    Ban(
        "with certainty",
        r"certain(?:ly|ty|ties)?|definitely|undoubted(?:ly)?|indisputabl[ey]"
        r"|unquestionabl[ey]|(?:without|beyond|no)(?: any| a| reasonable)* doubt",
        12,
        "very probably, with its percentage",
    ),
    Ban(
        "guaranteed", r"guarant(?:ee|ees|eed|eeing|y|ies)", 12, "what was examined and what was not"
    ),
    Ban(
        "proves",
        r"prove(?:s|d|n)?|proving|proofs? that|(?:is|are|as|gives?) proof",
        12,
        "supports, or is consistent with",
    ),
    Ban("flawless", r"flawless(?:ly|ness)?", 12, "the flaws that were looked for and not found"),
    Ban(
        "never opened",
        r"never(?: once| ever| yet)?(?: been)? (?:opened|apart|taken apart|dismantled)"
        r"|unopened since",
        12,
        "what the screws and joints show",
        "screws and joints described",
    ),
    Ban(
        "all original",
        rf"(?:all|100 ?%|hundred per ?cent|fully|completely|entirely|totally|wholly|bone)"
        rf"{_SEP}original(?:ity)?|original throughout",
        12,
        "the state of each part",
    ),
    Ban(
        "is original",
        r"(?:is|are|was|were|remains?|'s|\u2019s) (?:an? |the |all )?originals?"
        r"(?! (?:owner|buyer|player|maker|documents?|papers?|files?|entr(?:y|ies)))",
        12,
        "probably or very probably original, or what the signs favour",
        excused=_STRENGTH,
    ),
    Ban(
        "dates from May",
        rf"(?:dates? (?:from|to|back to)|made in|built in|completed in)(?: early| late| mid)?[ -]"
        rf"{_MONTH}\b",
        12,
        "a range of months with its probability, or the months that a mark names",
        excused=_STRENGTH,
    ),
    Ban(
        "is dated",
        r"(?:is|are|was|were|'s) dated",
        12,
        "the mark names, or probably completed between two months",
        excused=_STRENGTH,
    ),
    Ban(
        "one of the best",
        r"one of the (?:very )?(?:best|finest|greatest)"
        r"|the (?:very )?(?:best|finest|greatest)(?: \w+)? (?:we|i) have(?: ever)? seen",
        12,
        "the condition grades",
    ),
    Ban("museum quality", rf"museum{_SEP}(?:quality|grade|piece)s?", 12, "the condition grades"),
    Ban("time capsule", rf"time{_SEP}capsules?", 12, "what was examined and what was not"),
    Ban(
        "investment",
        rf"invest(?:s|ed|ing|ments?|or|ors)?(?:{_SEP}grade)?",
        12,
        "an estimate with its date and number of sales",
    ),
    Ban(
        "fake",
        r"fak(?:e|es|ed|er|ers|ing|ery)|forg(?:er|ers|ery|eries)|counterfeit\w*|fraud\w*"
        r"|deceiv\w*|deception|deceit\w*|swindl\w*",
        11,
        "what does not match, without motive or person",
    ),
    Ban(
        "original finish",
        r"original (?:finish|coat|coating|lacquer|paint)(?:es|s)?",
        6,
        "the zones seen, the wavelength, and the covered areas",
        "covered areas described",
    ),
)
_COMPILED = tuple((ban, re.compile(rf"(?<!\w)(?:{ban.pattern})(?!\w)")) for ban in BANS)
_EXCUSES = {
    ban.excused: re.compile(rf"(?<!\w)(?:{ban.excused})(?!\w)") for ban in BANS if ban.excused
}
SHORT = 400
"""Characters up to which what was found in a text is remembered: a sentence of a paper."""

_CLAUSE = re.compile(r"[.;:!?]")
_DROPPED = {"\u00ad", "\u200b", "\u200c", "\u200d", "\u2060", "\ufeff"}
_HYPHENS = {"\u2010", "\u2011", "\u2012", "\u2013", "\u2014", "\u2212"}


@dataclass(frozen=True, slots=True)
class BannedPhrase:
    """A banned phrase found in a text; ``start`` and ``end`` index the text as it was given."""

    phrase: str
    start: int
    end: int
    ban: Ban


class BannedWordsError(InputError):
    """A text holds words that no paper may carry."""


def _plain(text: str) -> tuple[str, Sequence[int]]:
    """Fold case, widths, spaces, hyphens and invisible characters; keep each one's place."""
    if text.isascii() and text.isprintable() and "  " not in text:  # nothing but case to fold
        return text.lower(), range(len(text))
    out: list[str] = []
    places: list[int] = []
    for place, raw in enumerate(text):
        for folded in _folded(raw):
            if folded == " " and out and out[-1] == " ":
                continue
            out.append(folded)
            places.append(place)
    return "".join(out), places


@lru_cache(4096)
def _folded(raw: str) -> str:
    """Fold one character; nothing where it is left out."""
    if raw in _DROPPED or unicodedata.category(raw) in ("Cf", "Mn"):
        return ""
    return "".join(
        " " if char.isspace() else "-" if char in _HYPHENS else char
        for char in unicodedata.normalize("NFKC", raw).casefold()
    )


def find_banned(
    text: str, *, screws_and_joints_described: bool = False, covered_areas_described: bool = False
) -> tuple[BannedPhrase, ...]:
    """Find every banned phrase of *text*, in the order of their places.

    Parameters
    ----------
    text
        Any text, of any length.
    screws_and_joints_described
        The paper describes the screws and the joints, so that 'never opened' says more than hope.
    covered_areas_described
        The paper describes the coating in areas that were covered, not only its fluorescence.

    Examples
    --------
    >>> [hit.phrase for hit in find_banned("Guaranteed all-original.")]
    ['Guaranteed', 'all-original']
    """
    found = _found_in if len(text) <= SHORT else _found_in.__wrapped__
    return found(text, screws_and_joints_described, covered_areas_described)


@lru_cache(4096)
def _found_in(
    text: str, screws_and_joints_described: bool, covered_areas_described: bool
) -> tuple[BannedPhrase, ...]:
    plain, places = _plain(text)
    allowed = {
        "screws and joints described": screws_and_joints_described,
        "covered areas described": covered_areas_described,
        "": False,
    }
    hits = []
    for ban, pattern in _COMPILED:
        if allowed[ban.unless]:
            continue
        for match in pattern.finditer(plain):
            if ban.excused:
                before = _CLAUSE.split(plain[: match.start()])[-1]
                if _EXCUSES[ban.excused].search(before):
                    continue
            start, end = places[match.start()], places[match.end() - 1] + 1
            hits.append(BannedPhrase(text[start:end], start, end, ban))
    return tuple(sorted(hits, key=lambda hit: (hit.start, hit.end)))


def without_banned(text: str) -> str:
    """*text* with each banned phrase left out, for words of others that must be shown.

    Examples
    --------
    >>> without_banned("note: a fraud was reported")
    'note: a […] was reported'
    """
    told, begin = "", 0
    for hit in find_banned(text):
        if hit.start >= begin:
            told += text[begin : hit.start] + LEFT_OUT
        begin = max(begin, hit.end)
    return told + text[begin:]


def refuse_banned(
    text: str,
    *,
    where: str = "",
    screws_and_joints_described: bool = False,
    covered_areas_described: bool = False,
) -> str:
    """Refuse *text* that holds a banned phrase; else it is returned as it is.

    Raises
    ------
    BannedWordsError
        It holds a banned phrase; the message names each and what to write instead.
    """
    hits = find_banned(
        text,
        screws_and_joints_described=screws_and_joints_described,
        covered_areas_described=covered_areas_described,
    )
    if hits:
        raise BannedWordsError(
            "words that no paper may carry: " + ", ".join(f"'{hit.phrase}'" for hit in hits),
            where=where,
            received=text,
            remedy="Write instead: "
            + "; ".join(dict.fromkeys(hit.ban.instead for hit in hits))
            + ".",
        )
    return text
