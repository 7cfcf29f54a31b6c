"""A listing composed of the buyer's report: flaws first, each sentence with its picture.

Nothing is concluded here. Every line is a sentence of the report as a buyer reads it, or one of the
few of `heelstamp.wording.about_listing`; so a listing cannot say more than the report. Three
lengths tell the same in the same order, and a shorter one says how much it leaves out. Order and
limits are common practice of the trade, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from heelstamp.casework.papers.document import ReportDocument
from heelstamp.valuation.money import Money
from heelstamp.wording import Statement
from heelstamp.wording import about_listing as about
from heelstamp.wording.about_issues import entries_changed

Length = Literal["short", "middle", "full"]
LENGTHS: tuple[Length, ...] = ("short", "middle", "full")
MOST: dict[Length, int] = {"short": 1200, "middle": 4000, "full": 1_000_000}
"""Characters of a text at most."""
TITLE_MOST = 120

_NO_FLAW = frozenset(
    {
        *("nothing found changed", "no grade", "condition grade without fault"),
        *("glow even", "glow none told"),
    }
)
_NO_GRADE = "grade:none"
_GAPS = frozenset({"condition not graded", "faces not whole"})
_FLAWED_FACE = frozenset({"glow face differs", "glow differs", "glow places left open"})
_DOUBTS = frozenset({"two stories", "unexplained", "close agreement"})
_FLAWED = frozenset(
    {
        *("later", "from another", "replaced", "touched up", "refinished", "period-correct"),
        *("not determined", "not settled", "first finish, touched or not"),
    }
)
"""Verdicts that a buyer counts as a flaw: another part or coat, or that nobody can tell."""
_TOLD = ("answer", "flaws", "facts", "done", "unseen", "told", "interest")
_UNREAD = "not read"
_CASE = "case"
_OF_ALL_PARTS = 8
"""A sentence that rests on more photographs than this is shown by the marks, not by one of them."""


@dataclass(frozen=True, slots=True)
class Line:
    """One sentence of a listing.

    Attributes
    ----------
    source
        Id of the report's statement; empty of a sentence of the listing itself.
    picture
        Photograph that shows it; empty where none does.
    """

    text: str
    source: str = ""
    picture: str = ""


@dataclass(frozen=True, slots=True)
class Offer:
    """What is asked for it.

    Attributes
    ----------
    amount
        Exact decimal, ``9100.00``; empty where no price is told.
    state
        ``offered``, ``held``, ``agreed`` or ``sold``.
    """

    amount: str = ""
    currency: str = ""
    state: str = "offered"


@dataclass(frozen=True, slots=True)
class Listing:
    """A listing at its full length; `text_of` gives the shorter ones.

    Attributes
    ----------
    title
        Maker, model and kind.
    answer
        The sentence of the date.
    flaws, facts
        Lines in the order of telling.
    measured
        Readings: what, and the value with its uncertainty.
    photographs
        Ids of photographs in the order of showing, each with its caption: two views of the whole,
        then what shows the flaws, then marks, then the rest.
    unpictured
        Flaws that no photograph shows.
    """

    title: str
    tag: str
    day: str
    banner: str
    offer: Offer
    answer: Line
    flaws: tuple[Line, ...]
    facts: tuple[Line, ...]
    measured: tuple[tuple[str, str], ...]
    done: tuple[Line, ...]
    unseen: tuple[Line, ...]
    told: tuple[Line, ...]
    interest: tuple[Line, ...]
    number: Line
    photographs: tuple[tuple[str, str], ...]
    unpictured: tuple[Line, ...]

    def lines(self) -> tuple[Line, ...]:
        """Every sentence."""
        return (
            *(self.answer, *self.flaws, *self.facts, *self.done),
            *(*self.unseen, *self.told, *self.interest, self.number),
        )


def listing_of(document: ReportDocument, *, day: str, offer: Offer) -> Listing:
    """Compose the listing of a buyer's report.

    Parameters
    ----------
    document
        As a buyer reads it.
    day
        Day of that report.
    """
    rows = {row.label: row.statements for row in document.summary}
    pictured = _Pictures(document)
    flaws = _unique(_flaws(document))
    known = {one.text for one in flaws}
    answer = next(iter(rows.get("When made", ())), None) or document.conclusions[0]
    facts = _unique(
        [
            *(one for one in document.conclusions if one.id.startswith("answer:reading")),
            *rows.get("Neck with body", ()),
            *rows.get("Finish", ()),
            *rows.get("Electronics", ()),
            *(one for one in rows.get("Changed parts", ()) if one.template in _NO_FLAW),
            *(one for one in document.part_statements if one.id == f"part:{_CASE}"),
            *(one for one in document.condition if _tells_no_fault(one) and one.id != _NO_GRADE),
            *rows.get("How it plays", ()),
        ],
        without=known | {answer.text},
    )
    unseen = _unique(
        [
            *rows.get("Not seen, and why", ()),
            *(one for one in document.condition if one.template in _GAPS),
        ]
    )
    acts = [one for one in document.acts if one.id not in ("interest", "act:refused")]
    lines = pictured.lines(flaws)
    return Listing(
        title=_title(document),
        tag=document.tag,
        day=day,
        banner=document.banner,
        offer=offer,
        answer=Line(answer.text, answer.id, pictured.of(answer)),
        flaws=lines or (Line(about.no_flaw.say()),),
        facts=pictured.lines(facts),
        measured=_measured(document),
        done=pictured.lines(_unique(acts)),
        unseen=pictured.lines(unseen),
        told=pictured.lines(_unique(document.told)),
        interest=pictured.lines(_unique(rows.get("Our interest", ()))),
        number=Line(about.number.say(masked=dict(document.identity).get("Serial", "none read"))),
        photographs=pictured.order([one.picture for one in lines]),
        unpictured=tuple(
            line
            for line, one in zip(lines, flaws, strict=True)
            if not line.picture and one.layer != "opinion"
        ),
    )


def text_of(listing: Listing, length: Length) -> str:
    """Write a listing as plain text of at most `MOST` characters.

    A text that leaves something out says how much; flaws are left out last.
    """
    groups = _groups(listing, length)
    most = MOST[length]
    head = [listing.title, *filter(None, (listing.banner,))]
    head += [price_line(listing.offer), listing.answer.text]
    foot = [listing.number.text, about.rests_on_report.say(day=listing.day)]
    room = most - len(about.more.say(flaws=999, others=999)) - 8
    told = list(groups)
    while told:
        text = _written(head, told, foot)
        if len(text) <= (most if told == groups and length == "full" else room):
            break
        title, lines = told[-1]
        told[-1] = (title, lines[:-1])
        if not told[-1][1]:
            told.pop()
    everything = _groups(listing, "full")
    flaws = _count(everything, about.FLAWS) - _count(told, about.FLAWS)
    others = sum(len(lines) for _, lines in everything) - sum(len(lines) for _, lines in told)
    if flaws or others - flaws:
        foot = [about.more.say(flaws=flaws, others=others - flaws), *foot]
    text = _written(head, told, foot)
    return text if len(text) <= most else _shortened(head, foot, most)


def data_of(listing: Listing) -> dict[str, object]:
    """A listing as plain values: every sentence with its statement and its picture."""

    def rows(lines: Iterable[Line]) -> list[dict[str, str]]:
        return [
            {key: value for key, value in _fields(line) if value or key == "text"} for line in lines
        ]

    return {
        "schema": "heelstamp/listing/1",
        "title": listing.title,
        "tag": listing.tag,
        "report": listing.day,
        "demonstration": bool(listing.banner),
        "price": {"amount": listing.offer.amount, "currency": listing.offer.currency},
        "state": listing.offer.state,
        "answer": rows([listing.answer]),
        "flaws": rows(listing.flaws),
        "facts": rows(listing.facts),
        "measured": [list(one) for one in listing.measured],
        "done": rows(listing.done),
        "unseen": rows(listing.unseen),
        "told": rows(listing.told),
        "interest": rows(listing.interest),
        "number": listing.number.text,
        "photographs": [list(one) for one in listing.photographs],
        "texts": {length: text_of(listing, length) for length in LENGTHS},
    }


def changed_lines(before: Mapping[str, Any], now: Mapping[str, Any]) -> tuple[str, ...]:
    """What changed between the data of two listings, a phrase each."""
    told = []
    if before.get("price") != now.get("price"):
        told.append(about.price_changed.say(before=_asked(before), now=_asked(now)))
    was, is_ = _sentences(before), _sentences(now)
    more = len([one for one in is_ if one not in was])
    fewer = len([one for one in was if one not in is_])
    if more or fewer:
        told.append(entries_changed.say(kind="sentences", more=more, fewer=fewer))
    return tuple(told)


def _sentences(data: Mapping[str, Any]) -> list[str]:
    rows = [one for key in _TOLD for one in data.get(key, ())]
    return [str(one["text"]) for one in rows if isinstance(one, Mapping)]


def _asked(data: Mapping[str, Any]) -> str:
    price = data.get("price") or {}
    return f"{price.get('amount', '')} {price.get('currency', '')}".strip() or "on request"


def _fields(line: Line) -> Iterable[tuple[str, str]]:
    return ("text", line.text), ("from", line.source), ("picture", line.picture)


def _flaws(document: ReportDocument) -> list[Statement]:
    """What a buyer would hold against it, the weightiest first."""
    rows = {row.label: row.statements for row in document.summary}
    flawed = {row.key for row in document.parts if row.verdict in _FLAWED}
    changed = [one for one in rows.get("Changed parts", ()) if one.template not in _NO_FLAW]
    said = {one.text for one in changed}
    return [
        *changed,
        *(
            one
            for one in document.part_statements
            if one.id.removeprefix("part:") in flawed and one.text not in said
        ),
        *(one for one in document.seen if one.template == "joint heated"),
        *(one for face in document.finish for one in face.short if one.template in _FLAWED_FACE),
        *(
            one
            for one in document.condition
            if one.template not in _GAPS and not _tells_no_fault(one)
        ),
        *(one for one in document.doubts if one.template in _DOUBTS),
    ]


def _tells_no_fault(one: Statement) -> bool:
    """A best letter, or the letter of the whole alone: aspects and reasons tell the faults."""
    bare = one.id == "grade:whole" and one.template == "condition grade"
    return bare or one.template in _NO_FLAW


def _title(document: ReportDocument) -> str:
    maker, _, kind = document.subtitle.partition(", ")
    title = f"{maker} {document.title}" + (f", {kind}" if kind else "")
    return title if len(title) <= TITLE_MOST else title[: TITLE_MOST - 1].rstrip() + "…"


def _measured(document: ReportDocument) -> tuple[tuple[str, str], ...]:
    rows = [
        (row.measure, row.final or (f"{row.found}, as found" if row.found != _UNREAD else ""))
        for row in document.plays
    ]
    for name, value in document.identity:
        if name == "Weight" and not any(one[0].startswith("Weight") for one in rows):
            rows.append((name, value))
    return tuple((name, value) for name, value in rows if value and value != _UNREAD)


class _Pictures:
    """Which photograph shows a sentence, and the order of showing."""

    def __init__(self, document: ReportDocument) -> None:
        self.shown = {one.frame: one for one in document.pictures}
        self.cover = [one for one in document.cover if one in self.shown]
        self.keys = [one.frame for one in document.keys]

    def of(self, said: Statement) -> str:
        """The photograph of a sentence: a close one first; of many the one that dates."""
        frames = [one for one in said.frames if one in self.shown]
        if len(frames) > _OF_ALL_PARTS:
            frames = [one for one in self.keys if one in frames] or frames
        close = [one for one in frames if self.shown[one].close]
        return next(iter((*close, *frames)), "")

    def lines(self, said: Sequence[Statement]) -> tuple[Line, ...]:
        return tuple(Line(one.text, one.id, self.of(one)) for one in said)

    def order(self, flaws: Sequence[str]) -> tuple[tuple[str, str], ...]:
        views = [one.frame for one in self.shown.values() if not one.close]
        close = [one.frame for one in self.shown.values() if one.close]
        all_ = dict.fromkeys((*self.cover, *flaws, *self.keys, *views, *close))
        return tuple((one, self.shown[one].caption) for one in all_ if one)


def _unique(said: Iterable[Statement], without: Iterable[str] = ()) -> list[Statement]:
    left = set(without)
    found = []
    for one in said:
        if one.text not in left:
            left.add(one.text)
            found.append(one)
    return found


Groups = list[tuple[str, list[str]]]


def _groups(listing: Listing, length: Length) -> Groups:
    """Headings with their lines, in the order of reading."""
    found: Groups = [
        (about.FLAWS, _texts(listing.flaws)),
        (about.FACTS, _texts(listing.facts)),
        (about.UNSEEN, _texts(listing.unseen)),
        (about.INTEREST, _texts(listing.interest)),
    ]
    if length == "full":
        found[2:2] = [
            (about.MEASURED, [f"{name}: {value}." for name, value in listing.measured]),
            (about.DONE, _texts(listing.done)),
            (about.TOLD, _texts(listing.told)),
        ]
    return [(title, lines) for title, lines in found if lines]


def _texts(lines: Iterable[Line]) -> list[str]:
    return [one.text for one in lines]


def _count(groups: Groups, title: str) -> int:
    return sum(len(lines) for name, lines in groups if name == title)


def price_line(offer: Offer) -> str:
    """What is asked, as it is told everywhere."""
    amount = str(Money.parse(offer.amount, offer.currency)) if offer.amount else ""
    return about.price.say(amount=amount, state=offer.state)


def _written(head: Sequence[str], groups: Groups, foot: Sequence[str]) -> str:
    body = ["\n".join((title.upper(), *(f"- {line}" for line in lines))) for title, lines in groups]
    return "\n\n".join(("\n".join(head), *body, "\n".join(foot))) + "\n"


def _shortened(head: Sequence[str], foot: Sequence[str], most: int) -> str:
    """Head and foot alone do not fit: sentences of the record are longer than any text may be."""
    kept = [foot[0]]
    for one in (*head, *foot[1:]):
        if sum(map(len, kept)) + len(kept) + len(one) + 2 <= most:
            kept.insert(len(kept) - 1, one)
    return "\n".join(kept) + "\n"
