"""The shop's other papers: made from a dossier, previewed, issued as versions, kept.

Issuing is one act for command and bench: the file is made, signed as a whole and kept, and one
`Issue` entry holds its number, its SHA-256 and what it was made of.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import msgspec

from heelstamp import __version__
from heelstamp.errors import HeelstampError, InputError
from heelstamp.shop.folder import now
from heelstamp.shop.settings import read_settings
from heelstamp.shop.signing import key_of, sign_paper
from heelstamp.shop.subjects import names_of

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.casework.papers.form import FormPaper
    from heelstamp.casework.papers.making import Making
    from heelstamp.shop.opened import OpenShop
    from heelstamp.units import LengthUnit
    from heelstamp.valuation.money import Money


def names() -> tuple[str, ...]:
    """Names of the papers that there are."""
    from heelstamp.casework.papers.shop_papers import PAPERS

    return tuple(PAPERS)


def lacking(shop: OpenShop, tag: str) -> dict[str, HeelstampError]:
    """Papers that cannot be made of a dossier as it stands: what each lacks, and what mends it."""
    from heelstamp.casework.papers.sale_papers import SALE_PAPERS
    from heelstamp.shop.terms import terms_for

    found: dict[str, HeelstampError] = {}
    if terms_for(shop, tag) is None:
        found["agreement"] = _no_terms(tag)
    for name, make in SALE_PAPERS.items():
        try:
            make(_making(shop, tag, name, "mm", ()))
        except HeelstampError as error:
            found[name] = error
    return found


def _no_terms(tag: str) -> InputError:
    return InputError(
        "an agreement needs terms of consignment",
        where=tag,
        remedy="Write them under Money, Terms of consignment.",
    )


def form_at(
    shop: OpenShop, tag: str, name: str, *, lengths: LengthUnit = "mm", prices: Sequence[str] = ()
) -> FormPaper:
    """Make a paper of a dossier as it stands.

    Parameters
    ----------
    lengths
        Unit of lengths on it.
    prices
        At which an agreement tells the net; those of terms and comparables without.

    Raises
    ------
    InputError
        There is no such paper, or what it is made of is missing.
    """
    from heelstamp.casework.papers.shop_papers import PAPERS

    if name not in PAPERS:
        raise InputError(
            "no such paper", received=name, remedy="Papers: " + ", ".join(PAPERS) + "."
        )
    return PAPERS[name](_making(shop, tag, name, lengths, prices))


def typeset_form(
    shop: OpenShop,
    tag: str,
    paper: FormPaper,
    *,
    version: int = 0,
    key: str = "",
    single: bool = False,
) -> bytes:
    """Typeset a paper; *version* 0 is a preview.

    Parameters
    ----------
    key
        Fingerprint of the key that it will be signed with.

    Raises
    ------
    HeelstampError
        A picture is missing, or typesetting failed.
    """
    from heelstamp.casework.papers.evidence_section import pictures
    from heelstamp.casework.papers.examination_report import DEMONSTRATION
    from heelstamp.report.forms import render_form
    from heelstamp.shop.printed_pictures import outgoing
    from heelstamp.wording.about_issues import signed_form

    subject = shop.subject(tag)
    state = subject.state
    wanted = {frame for one in paper.sections for frame in one.frames}
    shown = {one.frame: one for one in pictures(state, subject.tree) if one.frame in wanted}
    photographs = {
        frame: (outgoing(shop, state.photographs[frame].file), shown[frame].caption)
        for frame in wanted
    }
    moment = datetime.fromisoformat(now()).astimezone(UTC)
    issued = f"version {version}" if version else "preview, not issued"
    return render_form(
        paper,
        timestamp=datetime(moment.year, moment.month, moment.day, tzinfo=UTC),
        program=f"Heelstamp {__version__}",
        photographs=photographs,
        footer=f"{paper.title}, {issued}, {day_words(shop, moment.isoformat())}",
        banner=DEMONSTRATION if subject.chronology.invented else "",
        signed=signed_form.say(key=key) if key else "",
        single=single,
    )


def issue_form(
    shop: OpenShop,
    tag: str,
    name: str,
    *,
    id_: str,
    by: str,
    lengths: LengthUnit = "mm",
    prices: Sequence[str] = (),
    single: bool = False,
) -> str:
    """Issue a paper, and return the SHA-256 of its file; the same id issues it once.

    Where the shop's folder cannot be written, a paper that was issued of the same record stands.

    Raises
    ------
    HeelstampError
        As `form_at` and `typeset_form`.
    """
    from heelstamp.archive import canonical_json
    from heelstamp.catalogue import Issue
    from heelstamp.shop.issuing import issue_made
    from heelstamp.wording.about_forms import READERS

    before = shop.subject(tag).state.of(Issue).get(id_)
    if before is not None and before.file is not None:
        return before.file
    paper = form_at(shop, tag, name, lengths=lengths, prices=prices)

    def make(version: int, day: str) -> bytes:
        key = key_of(shop).fingerprint
        pdf = typeset_form(shop, tag, paper, version=version, key=key, single=single)
        return sign_paper(shop, pdf, day=day)

    return issue_made(
        shop,
        tag,
        paper=name,
        reader=READERS[name],
        files={"document.json": canonical_json(msgspec.to_builtins(paper))},
        make=make,
        media_type="application/pdf",
        changed=lambda _: (),
        id_=id_,
        by=by,
    )


def day_words(shop: OpenShop, text: str) -> str:
    """Write a day or a moment as it is where the shop is: ``2 Nov 2026``.

    Examples
    --------
    A moment in UTC is brought to the shop's time zone first; a day alone stays that day.
    """
    if not text:
        return ""
    if len(text) > 10:
        zone = read_settings(shop.folder).timezone
        moment = datetime.fromisoformat(text)
        moment = moment.astimezone(ZoneInfo(zone)) if zone else moment.astimezone()
    else:
        moment = datetime.fromisoformat(text)
    return f"{moment.day} {moment:%b %Y}"


def _making(
    shop: OpenShop, tag: str, name: str, lengths: LengthUnit, prices: Sequence[str]
) -> Making:
    from heelstamp.casework.appraisal.agreement import agreed_rows
    from heelstamp.casework.papers.making import Making
    from heelstamp.casework.screws import trays
    from heelstamp.shop.terms import terms_for, terms_known
    from heelstamp.units import show_length

    subject = shop.subject(tag)
    terms = terms_for(shop, tag) if name == "agreement" else None
    if name == "agreement" and terms is None:
        raise _no_terms(tag)
    found: list[tuple[str, int, int, Sequence[tuple[str, ...]]]] = []
    for tray in trays(subject.state, subject.tree, subject.chronology):
        rows = [
            (
                str(one.number),
                " ".join(filter(None, (one.head, one.drive))),
                show_length(one.length_mm, 0.0, lengths) if one.length_mm else "",
                one.note,
            )
            for one in tray.screws
        ]
        found.append((tray.label, len(tray.out), len(tray.back), rows))
    return Making(
        state=subject.state,
        tree=subject.tree,
        names=names_of(subject.chronology),
        lengths=lengths,
        day_words=lambda day: day_words(shop, day),
        currency=shop.currency,
        terms=terms,
        clauses=[] if terms is None else [(one.title, one.text) for one in terms.document.clause],
        agreed=[] if terms is None else agreed_rows(terms),
        prices=[] if terms is None else three_prices(shop, tag, terms, prices),
        trays=found,
        agreed_terms=terms_known(shop, tag) if name == "settlement" else (),
    )


def three_prices(shop: OpenShop, tag: str, terms: Terms, asked: Sequence[str]) -> list[Money]:
    """Three prices at which the net is told: asked for, else of terms, else of comparables."""
    from heelstamp.shop.prices import priced
    from heelstamp.valuation.money import Money

    currency = terms.document.currency
    if asked:
        return [Money.parse(one.removesuffix(currency).strip(), currency) for one in asked]
    low = terms.least_price or terms.reserve
    known = [one for one in (low, terms.start) if one is not None]
    if len(known) == 2:
        middle = Money((known[0].minor + known[1].minor) // 2, currency)
        return [known[0], middle, known[1]]
    finding = priced(shop, tag).finding
    if finding is None:
        return known
    (low_end, high_end), middle_price = finding.market.interval_50, finding.market.median
    return [Money.nearest(round(one, -1), currency) for one in (low_end, middle_price, high_end)]
