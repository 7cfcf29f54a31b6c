"""Terms of consignment at the desk: those of the shop, and those agreed for one dossier.

Terms are read whole by the reader of terms before anything is written. Each text that held is kept
among the shop's files, and a decision names its SHA-256, so that what was agreed can be shown; no
sum stands in the journal, which more people read than may see a floor.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from heelstamp.shop.appraisals import TERMS_FILE, TERMS_FOLDER, terms_path
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.files import write_whole
from heelstamp.shop.files import read_file
from heelstamp.errors import ConflictError, InputError, StorageError

ABOUT = "terms of consignment"
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


def terms_here(desk: OpenShop, tag: str) -> TermsHere:
    """Give the terms that hold for a dossier, whether or not they can be read."""
    from heelstamp.archive import sha256
    from heelstamp.documents import decode_text, parse_document
    from heelstamp.reference.demonstration import demo_terms

    desk.subject(tag)
    path = terms_path(desk.folder, tag)
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
    desk: OpenShop, tag: str, text: str, *, base: str, whole_shop: bool, id_: str, by: str
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
    from heelstamp.documents import parse_document
    from heelstamp.casework.ports import FileRecord

    name = TERMS_FILE if whole_shop else f"{TERMS_FOLDER}/{tag}.toml"
    with desk.writing:
        here = terms_here(desk, tag)
        if base != here.digest:
            raise ConflictError(
                "these terms were changed since the page was shown",
                where=name,
                remedy="Look at them again, then enter the change once more.",
            )
        plain = text.replace("\r\n", "\n")
        terms = parse_terms(parse_document(plain, name, "toml"), where=name)
        if terms.document.currency != desk.currency:
            raise InputError(
                "the shop reckons in another currency",
                where=f"{name}, field currency",
                received=terms.document.currency,
                remedy=f"Write {desk.currency}.",
            )
        data = plain.encode("utf-8")
        digest = desk.files.put(data)
        desk.journals.record_file(FileRecord(digest, len(data), "application/toml"))
        path = desk.folder / name
        try:
            path.parent.mkdir(exist_ok=True)
        except OSError as error:
            raise StorageError(
                "the folder cannot be made", where=str(path.parent), received=error.strerror
            ) from error
        write_whole(path, data)
    whose = "of the whole shop" if whole_shop else "of this dossier"
    body = {
        "id": id_,
        "about": ABOUT,
        "decided": sha256(data),
        "reason": f"Terms {whose}; this is the SHA-256 of their text.",
    }
    desk.enter(tag, [("decision", body)], by=by)


def agree(desk: OpenShop, tag: str, told: Mapping[str, str], *, base: str, id_: str, by: str) -> None:
    """Keep what was agreed for one instrument: the terms that hold, with these sums and this day.

    Raises
    ------
    InputError
        The shop has no terms, or a sum or a day cannot be read.
    """
    from heelstamp.documents import parse_document
    from heelstamp.toml_text import toml_text

    here = terms_here(desk, tag)
    if here.whose == "nobody":
        raise InputError(
            "this shop has no terms of consignment", where=tag, remedy="Write them first."
        )
    document: dict[str, Any] = parse_document(here.text, ABOUT, "toml")
    for key in AGREED:
        document.pop(key, None)
        if told.get(key, "").strip():
            document[key] = told[key].strip()
    text = toml_text(document)
    keep_terms(desk, tag, text, base=base, whole_shop=False, id_=id_, by=by)
