"""Shipping of an instrument: packed, prompted for its route, its logger's file read on arrival."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.catalogue import Packing, TransitLog
from heelstamp.errors import HeelstampError, InputError

if TYPE_CHECKING:
    from heelstamp.casework.shipping.logger import DayOrder, Journey
    from heelstamp.casework.shipping.packing import Shot
    from heelstamp.shop.opened import OpenShop

LOG_MAX = 20_000_000
"""Bytes of a logger's file."""
NUMBERS = ("weight_g", "length_mm", "width_mm", "height_mm")
SUMS = ("value", "cover", "limit")


@dataclass(frozen=True)
class PackedView:
    """A packing and what it shows and lacks."""

    packing: Packing
    told: tuple[str, ...]


@dataclass(frozen=True)
class LogView:
    """A logger's file as it was kept, and what it says; or why it cannot be read."""

    log: TransitLog
    journey: Journey | None
    refused: HeelstampError | None


@dataclass(frozen=True)
class ShippingView:
    """What is known of the way.

    Attributes
    ----------
    shots
        Photographs that the plan asks of a packing.
    packed, logs
        The newest first.
    prompts
        What to ask about the route, protected materials among it; empty without one.
    """

    shots: tuple[Shot, ...]
    packed: tuple[PackedView, ...]
    logs: tuple[LogView, ...]
    route: str
    prompts: tuple[str, ...]


def shipping_view(shop: OpenShop, tag: str, *, to: str = "") -> ShippingView:
    """Lay out what is known of the way of an instrument.

    Parameters
    ----------
    to
        Code of a country, or ``EU``; the route of the last packing without.

    Raises
    ------
    InputError
        The route is no code.
    """
    from heelstamp.casework.shipping.packing import packing_shots, packing_told
    from heelstamp.reference.photo_plan import load_photo_plan

    state = shop.subject(tag).state
    packed = tuple(reversed(tuple(state.of(Packing).values())))
    route = to.strip().upper() or (packed[0].route if packed else "")
    shots = packing_shots(state, load_photo_plan())
    return ShippingView(
        shots,
        tuple(PackedView(one, tuple(packing_told(one, state, shots))) for one in packed),
        tuple(_log_view(shop, one) for one in reversed(tuple(state.of(TransitLog).values()))),
        route,
        tuple(_prompts(shop, tag, route)) if route else (),
    )


def _prompts(shop: OpenShop, tag: str, route: str) -> list[str]:
    from heelstamp.casework.appraisal.clearance import KNOWN_ROUTES, ROUTE_ID
    from heelstamp.casework.shipping.packing import route_prompts
    from heelstamp.shop.clearance import clear
    from heelstamp.shop.terms import terms_for

    terms = terms_for(shop, tag)
    days = 14 if terms is None else terms.document.return_days
    cleared = clear(shop, shop.subject(tag), (route,))
    asked = [
        f"{one.rule}: {one.question}"
        + (f" Answered: {one.answer.removesuffix('.')}." if one.answer else "")
        for one in cleared.materials
        if not one.id.startswith(ROUTE_ID)
    ]
    return [*route_prompts(route, known=route in KNOWN_ROUTES, window_days=days), *asked]


def _log_view(shop: OpenShop, log: TransitLog) -> LogView:
    try:
        return LogView(log, read_journey(shop.files.get(log.file), log), None)
    except HeelstampError as error:
        return LogView(log, None, error)


def read_journey(data: bytes, log: TransitLog, *, order: DayOrder = "") -> Journey:
    """Read a logger's file and judge when the parcel may be opened.

    Raises
    ------
    InputError
        It is no table of times and temperatures.
    """
    from heelstamp.casework.shipping.logger import MOST_ROWS, journey, read_log
    from heelstamp.media.decoding import read_rows

    if len(data) > LOG_MAX:
        raise InputError(
            "the logger's file is too large",
            where=log.name,
            remedy=f"At most {LOG_MAX / 1e6:.0f} MB: read out the days of the journey alone.",
        )
    sheet = read_rows(data, log.name, most_rows=MOST_ROWS)
    declared = next((one for one in ("dmy", "mdy") if one == log.note), "")
    readings = read_log(sheet, order=order or declared)  # type: ignore[arg-type]
    return journey(readings, room_c=log.room_c, room_rh=log.room_rh)


def enter_packing(
    shop: OpenShop, tag: str, stamp: EntryStamp, told: Mapping[str, Any], *, by: str
) -> None:
    """Enter how an instrument was packed.

    Parameters
    ----------
    told
        Fields of `heelstamp.catalogue.Packing` as text; sums in the shop's currency.

    Raises
    ------
    InputError
        A field is wanting or cannot be read.
    """
    from heelstamp.valuation.money import Money

    if stamp.id in shop.subject(tag).state.entered:
        return
    body: dict[str, Any] = {"id": stamp.id, "day": told.get("day") or stamp.at[:10]}
    body["route"] = str(told.get("route", "")).strip().upper()
    for name in NUMBERS:
        body[name] = _number(str(told.get(name, "")), name)
    body["tuned_down"] = int(_number(str(told.get("tuned_down") or 0), "tuned_down"))
    body |= {key: told[key].strip() for key in ("seal", "note") if (told.get(key) or "").strip()}
    body |= {"frames": list(told["frames"])} if told.get("frames") else {}
    body |= {"logger": True} if told.get("logger") else {}
    sums = {key: str(told[key]) for key in SUMS if str(told.get(key) or "").strip()}
    for key, text in sums.items():
        sum_ = Money.parse(text.removesuffix(shop.currency), shop.currency, where=f"field {key}")
        body |= {key: str(sum_.amount), "currency": shop.currency}
    shop.enter(tag, [NewEntry("packing", body | stamp.late)], by=by)


def enter_log(
    shop: OpenShop,
    tag: str,
    stamp: EntryStamp,
    data: bytes,
    name: str,
    *,
    room_c: float,
    room_rh: float,
    order: DayOrder = "",
    by: str,
) -> Journey:
    """Keep a logger's file and enter it, once it could be read.

    Raises
    ------
    InputError
        As `read_journey`; nothing is kept then.
    """
    from heelstamp.shop.files import keep_file

    log = TransitLog(
        id=stamp.id, file="0" * 64, name=name, room_c=room_c, room_rh=room_rh, note=order
    )
    found = read_journey(data, log, order=order)
    if stamp.id in shop.subject(tag).state.entered:
        return found
    body: dict[str, Any] = {"id": stamp.id, "name": name, "room_c": room_c, "room_rh": room_rh}
    body |= {"note": order} if order else {}
    body["file"] = keep_file(shop, data, "text/csv")
    shop.enter(tag, [NewEntry("transit_log", body | stamp.late)], by=by)
    return found


def _number(text: str, name: str) -> float:
    try:
        return float(text.strip().replace(",", "."))
    except ValueError:
        raise InputError(
            "not a number", where=f"field {name}", received=text, remedy="Write it as 1250."
        ) from None
