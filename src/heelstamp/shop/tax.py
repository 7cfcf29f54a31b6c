"""Tax of the shop's sales: the scheme of one, declared; the register of all that are final."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.sale.tax_register import TaxRow, tax_row

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop


def tax_of(shop: OpenShop, tag: str) -> TaxRow | None:
    """The row of one instrument's last sale; None before it is final."""
    from heelstamp.shop.terms import terms_known

    return tax_row(shop.standing(tag)[0], terms_known(shop, tag))


def tax_register(shop: OpenShop) -> list[TaxRow]:
    """The rows of all sales that are final, by day."""
    found = [tax_of(shop, tag) for tag in shop.journals.tags()]
    return sorted((one for one in found if one is not None), key=lambda one: (one.day, one.tag))


def declare_scheme(
    shop: OpenShop, tag: str, stamp: EntryStamp, told: Mapping[str, str], *, by: str
) -> None:
    """Enter under which scheme a sale is taxed, as the shop declares it.

    Parameters
    ----------
    told
        ``scheme``, ``rate`` (``20 %``), ``bought`` in the shop's currency, ``reason``.

    Raises
    ------
    InputError
        A field is wanting or cannot be read.
    """
    from heelstamp.valuation.money import Money

    if stamp.id in shop.subject(tag).state.entered:
        return
    body: dict[str, Any] = {"id": stamp.id, "scheme": told.get("scheme", "")}
    body["reason"] = told.get("reason", "").strip() or "declared by the shop"
    rate = told.get("rate", "").strip().replace(",", ".").removesuffix("%").strip()
    body |= {"rate": f"{rate} %"} if rate else {}
    bought = told.get("bought", "").strip()
    if bought:
        sum_ = Money.parse(bought.removesuffix(shop.currency), shop.currency, where="field bought")
        body |= {"bought": str(sum_.amount), "currency": shop.currency}
    shop.enter(tag, [NewEntry("tax", body | stamp.late)], by=by)
