"""The agreement with a consignor: written on a form, shown as what it nets, signed.

Terms lie where `heelstamp.shop.terms` keeps them; a signature names their text by its SHA-256.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.errors import ConflictError, HeelstampError, InputError
from heelstamp.shop.terms import TermsHere, keep_terms, terms_for, terms_here

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.agreement import AgreementForm, Signatures
    from heelstamp.casework.appraisal.consignment import Terms
    from heelstamp.shop.opened import OpenShop

PICTURE_MAX = 20_000_000
"""Bytes of a picture of the signed paper."""
STROKES_TYPE = "application/json"


@dataclass(frozen=True)
class AgreementView:
    """An agreement as it stands, or as a form says it.

    Attributes
    ----------
    prices, rows
        What it nets: prices, and each line at each of them; empty where it cannot be told.
    refused
        Why not.
    strokes
        Path of a signature drawn on a screen, by the id of its entry.
    """

    held: TermsHere
    form: AgreementForm
    prices: Sequence[str]
    rows: Sequence[tuple[str, ...]]
    refused: HeelstampError | None
    signatures: Signatures
    strokes: Mapping[str, str]


def agreement_view(
    shop: OpenShop, tag: str, *, form: AgreementForm | None = None, prices: Sequence[str] = ()
) -> AgreementView:
    """Lay out the agreement of a dossier; *form* is shown in place of what holds, and not kept."""
    from heelstamp.casework.appraisal.agreement import (
        form_of,
        net_table,
        read_strokes,
        signatures_of,
        strokes_path,
    )
    from heelstamp.shop.forms import three_prices

    held = terms_here(shop, tag)
    refused: HeelstampError | None = None
    told: tuple[Sequence[str], Sequence[tuple[str, ...]]] = ((), ())
    shown = form or form_of(_document(held))
    try:
        terms = terms_for(shop, tag) if form is None else _terms_of(shop, held, form)
        if terms is not None:
            asked = [one for one in prices if one.strip()]
            told = net_table(terms, three_prices(shop, tag, terms, asked))
    except HeelstampError as error:
        refused = error
    signatures = signatures_of(shop.subject(tag).state, held.digest)
    drawn = {
        one.id: strokes_path(read_strokes(shop.files.get(one.mark).decode()))
        for one in signatures.signed
        if one.how == "on the screen" and one.mark
    }
    return AgreementView(held, shown, *told, refused, signatures, drawn)


def keep_form(
    shop: OpenShop, tag: str, form: AgreementForm, *, base: str, whole_shop: bool, id_: str, by: str
) -> None:
    """Keep an agreement from a form: a new one, unsigned; comments of the text are kept.

    Raises
    ------
    InputError
        A field cannot be read; names it.
    ConflictError
        Somebody changed it since the page was shown.
    """
    held = terms_here(shop, tag)
    text = _text_of(shop, held, form)
    keep_terms(shop, tag, text, base=base, whole_shop=whole_shop, id_=id_, by=by)


def sign(
    shop: OpenShop,
    tag: str,
    stamp: EntryStamp,
    *,
    role: str,
    day: str,
    base: str,
    strokes: str = "",
    picture: tuple[bytes, str] | None = None,
    by: str,
) -> None:
    """Enter a signature under the terms that hold.

    Parameters
    ----------
    base
        SHA-256 of the terms that were shown to who signed.
    strokes
        As drawn on a screen; on paper without them.
    picture
        Bytes and name of a photograph of the signed paper.

    Raises
    ------
    ConflictError
        The terms are not those that were shown.
    InputError
        There are none, nothing was drawn, or the picture cannot be read.
    """
    from heelstamp.casework.appraisal.agreement import read_strokes
    from heelstamp.shop.files import keep_file, read_file
    from heelstamp.shop.terms import terms_file

    if stamp.id in shop.subject(tag).state.entered:
        return
    held = terms_here(shop, tag)
    if not held.digest or terms_for(shop, tag) is None:
        raise InputError("there are no terms to sign", where=tag, remedy="Agree on terms first.")
    if base != held.digest:
        raise ConflictError(
            "these terms were changed since they were shown",
            where=tag,
            remedy="Show them again, then sign.",
        )
    body: dict[str, Any] = {
        "id": stamp.id,
        "role": role.strip(),
        "terms": held.digest,
        "how": "on the screen" if strokes else "on paper",
        "day": day or stamp.at[:10],
    }
    path = terms_file(shop.folder, tag)
    if path is not None:  # what was signed stays
        keep_file(shop, read_file(path), "application/toml")
    if strokes:
        read_strokes(strokes)
        body["mark"] = keep_file(shop, strokes.encode(), STROKES_TYPE)
    elif picture is not None:
        body["mark"] = _picture(shop, *picture)
    shop.enter(tag, [NewEntry("agreement", body | stamp.late)], by=by)


def _picture(shop: OpenShop, data: bytes, name: str) -> str:
    from heelstamp.media.decoding import read_photograph
    from heelstamp.shop.files import keep_file

    if len(data) > PICTURE_MAX:
        raise InputError(
            "the picture is too large", where=name, remedy=f"At most {PICTURE_MAX / 1e6:.0f} MB."
        )
    return keep_file(shop, data, read_photograph(data, name).media_type)


def _document(held: TermsHere) -> Mapping[str, Any]:
    from heelstamp.documents import parse_document

    try:
        return parse_document(held.text, "terms of consignment", "toml")
    except InputError:
        return {}  # the whole text can be mended


def _text_of(shop: OpenShop, held: TermsHere, form: AgreementForm) -> str:
    from heelstamp.casework.appraisal.agreement import document_of
    from heelstamp.shop.toml_revision import revised, toml_of

    kept = {} if held.whose == "nobody" else _document(held)
    wanted = document_of(form, kept, shop.currency)
    return revised(held.text, wanted) if kept else toml_of(wanted)


def _terms_of(shop: OpenShop, held: TermsHere, form: AgreementForm) -> Terms:
    from heelstamp.casework.appraisal.consignment import parse_terms
    from heelstamp.documents import parse_document

    text = _text_of(shop, held, form)
    where = "the form"
    return parse_terms(parse_document(text, where, "toml"), where=where)
