"""Terms of consignment: those of the shop, and those agreed for one dossier.

A shop's ``consignment.toml`` lies beside ``shop.toml``; terms of one dossier lie in the folder
``terms``, named by its tag, and go before the shop's. Terms are read whole before anything is
written. Each text that held is kept among the shop's files, and an entry names its SHA-256, so
that what was agreed can be shown; no sum stands in the journal, which more people read than may
see a floor.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.casework.new_entry import NewEntry
from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.shop.files import make_folder, read_file
from heelstamp.shop.noted_documents import write_document

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.shop.opened import OpenShop

TERMS_FILE = "consignment.toml"
TERMS_FOLDER = "terms"
AGREED = ("start", "reserve", "floor_net", "received")
"""Agreed for one instrument: first asking price, reserve, floor as a net, day of receipt."""


@dataclass(frozen=True)
class TermsHere:
    """Terms that hold for a dossier.

    Attributes
    ----------
    text
        As they lie there; an invented example where there are none.
    whose
        ``dossier``, ``shop`` or ``nobody``.
    digest
        SHA-256 of the text; empty where there are none.
    agreed
        What is agreed for one instrument, as it is written there.
    """

    text: str
    whose: str
    digest: str
    agreed: Mapping[str, str]


def terms_file(folder: Path, tag: str) -> Path | None:
    """File of the terms that hold for a dossier of the shop in *folder*; None without any."""
    kept = [folder / TERMS_FOLDER / f"{tag}.toml"] if tag else []
    return next((one for one in (*kept, folder / TERMS_FILE) if one.is_file()), None)


def terms_for(shop: OpenShop | None, tag: str, named: Path | None = None) -> Terms | None:
    """Return the named terms of consignment, those of a dossier, the shop's own, or None.

    Raises
    ------
    InputError
        The file cannot be read, or holds no terms.
    """
    from heelstamp.casework.appraisal.consignment import parse_terms
    from heelstamp.documents import decode_text, parse_document

    path = named
    if path is None and shop is not None:
        path = terms_file(shop.folder, tag)
    if path is None:
        return None
    text = decode_text(read_file(path), path.name)
    return parse_terms(parse_document(text, path.name, "toml"), where=path.name)


def terms_known(shop: OpenShop, tag: str) -> list[Terms]:
    """Terms under which a sale may have become final: those that hold, then those agreed before.

    Texts that were kept and can no longer be read are passed over.
    """
    from heelstamp.casework.appraisal.consignment import parse_terms
    from heelstamp.catalogue import Agreement, TermsAgreed
    from heelstamp.documents import decode_text, parse_document

    state = shop.subject(tag).state
    kept = [one.file for one in state.of(TermsAgreed).values()]
    kept += [one.terms for one in state.of(Agreement).values()]
    held = terms_for(shop, tag)
    found = [] if held is None else [held]
    for digest in dict.fromkeys(reversed(kept)):
        try:
            text = decode_text(shop.files.get(digest), "terms")
            found.append(parse_terms(parse_document(text, "terms", "toml"), where="terms"))
        except HeelstampError:
            continue
    return found


def offer_stands(shop: OpenShop, tag: str, offer: str) -> str:
    """How an offer stands to reserve and floor, in words; empty without terms.

    Raises
    ------
    InputError
        Not an amount of money.
    """
    from heelstamp.valuation.money import Money

    terms = terms_for(shop, tag)
    if terms is None:
        return ""
    currency = terms.document.currency
    return terms.offer(Money.parse(offer.removesuffix(currency).strip(), currency))[1]


def terms_here(shop: OpenShop, tag: str) -> TermsHere:
    """Terms that hold for a dossier, whether or not they can be read."""
    from heelstamp.archive import sha256
    from heelstamp.documents import decode_text, parse_document
    from heelstamp.reference.demonstration import demo_terms

    shop.subject(tag)
    path = terms_file(shop.folder, tag)
    if path is None:
        return TermsHere(demo_terms(), "nobody", "", {})
    data = read_file(path)
    text = decode_text(data, path.name)
    try:
        document = parse_document(text, path.name, "toml")
    except InputError:
        document = {}  # the price says why; here the text can be mended
    agreed = {key: str(document[key]) for key in AGREED if key in document}
    whose = "shop" if path.name == TERMS_FILE else "dossier"
    return TermsHere(text, whose, sha256(data), agreed)


def keep_terms(
    shop: OpenShop, tag: str, text: str, *, base: str, whole_shop: bool, id_: str, by: str
) -> None:
    """Keep terms for one dossier or for the whole shop, and enter what was agreed.

    Raises
    ------
    InputError
        They are no terms of consignment; names the field.
    ConflictError
        Somebody changed them since the page was shown.
    StorageError
        The machine refused; what held before still does.
    """
    from heelstamp.archive import sha256
    from heelstamp.casework.appraisal.consignment import parse_terms
    from heelstamp.casework.ports import FileRecord
    from heelstamp.documents import parse_document

    name = TERMS_FILE if whole_shop else f"{TERMS_FOLDER}/{tag}.toml"
    with shop.writing:
        here = terms_here(shop, tag)
        if base != here.digest:
            raise ConflictError(
                "these terms were changed since the page was shown",
                where=name,
                remedy="Look at them again, then enter the change once more.",
            )
        plain = text.replace("\r\n", "\n")
        terms = parse_terms(parse_document(plain, name, "toml"), where=name)
        if terms.document.currency != shop.currency:
            raise InputError(
                "the shop reckons in another currency",
                where=f"{name}, field currency",
                received=terms.document.currency,
                remedy=f"Write {shop.currency}.",
            )
        data = plain.encode("utf-8")
        digest = shop.files.put(data)
        shop.journals.record_file(FileRecord(digest, len(data), "application/toml"))
        make_folder((shop.folder / name).parent)
        write_document(shop, shop.folder, name, data)
    body = {
        "id": id_,
        "file": sha256(data),
        "scope": "shop" if whole_shop else "dossier",
        "reason": "agreed at the bench",
    }
    shop.enter(tag, [NewEntry("terms", body)], by=by)


def agree(
    shop: OpenShop, tag: str, told: Mapping[str, str], *, base: str, id_: str, by: str
) -> None:
    """Keep what was agreed for one instrument: the terms that hold, with these sums and this day.

    Comments and order of the terms that hold are kept.

    Raises
    ------
    InputError
        The shop has no terms, or a sum or a day cannot be read.
    """
    from heelstamp.documents import parse_document
    from heelstamp.shop.toml_revision import revised

    here = terms_here(shop, tag)
    if here.whose == "nobody":
        raise InputError(
            "this shop has no terms of consignment", where=tag, remedy="Write them first."
        )
    document = parse_document(here.text, "terms of consignment", "toml")
    agreed = {key: told[key].strip() for key in AGREED if told.get(key, "").strip()}
    left = {key: value for key, value in document.items() if key not in AGREED}
    text = revised(here.text, {**left, **agreed})
    keep_terms(shop, tag, text, base=base, whole_shop=False, id_=id_, by=by)
