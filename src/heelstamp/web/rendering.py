"""Templates to pages. Everything is escaped but drawings that this program made."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from fastapi import Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup

from heelstamp.casework.feature_names import heading, reader_words
from heelstamp.casework.glossary import put_away
from heelstamp.casework.sharing import Hand, Role, Session
from heelstamp.casework.sharing.rights import PUBLISHES
from heelstamp.casework.taking_back import entry_words, last_of, withdrawn_words
from heelstamp.casework.treatment import act_words
from heelstamp.catalogue import amount_words
from heelstamp.reference.glossary import load_screen_lines
from heelstamp.shop.opened import OpenShop
from heelstamp.shop.subjects import Subject
from heelstamp.units import LENGTH_UNITS, LengthUnit, show_length
from heelstamp.valuation.money import Money
from heelstamp.web.help import add_help
from heelstamp.web.paths import GROUPS, SCREENS, group_of
from heelstamp.wording.about_doubts import held

Light = Literal["paper", "dusk", "red"]
LIGHTS: tuple[Light, ...] = ("paper", "dusk", "red")
HAND_COOKIE, LIGHT_COOKIE, LENGTHS_COOKIE = "hand", "light", "lengths"
HERE = Path(__file__).parent
AWAY_COOKIE = "put-away"
"""Screens of which this device hides what they are for."""
DEFAULT_HAND = "examiner A"

KEEP_NOTHING = {"cache-control": "no-store"}


@lru_cache(1)
def _templates() -> Environment:
    made = Environment(
        loader=FileSystemLoader([HERE / "templates", HERE / "screens"]),
        autoescape=select_autoescape(),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.filters.update(
        amount=amount_words,
        as_read=reader_words,
        act_words=act_words,
        heading=heading,
        held=held,
        length_in=_length_in,
        bare_length=_bare_length,
        sum_in=_sum_in,
    )
    made.globals.update(screens=SCREENS, page_groups=GROUPS, group_of=group_of)
    add_help(made)
    return made


def _length_in(mm: float, unit: LengthUnit) -> str:
    return show_length(mm, 0.0, unit)


def _bare_length(mm: float, unit: LengthUnit) -> str:
    return show_length(mm, 0.0, unit).partition(" ")[0]


def _sum_in(amount: Decimal, currency: str) -> str:
    return str(Money.of(amount, currency))


@lru_cache(64)
def _style(template: str) -> str:
    """Return the address of the style in the template's own folder, or nothing."""
    screen = template.partition("/")[0]
    there = (HERE / "screens" / screen / f"{screen}.css").is_file()
    return f"/static/screens/{screen}/{screen}.css" if there else ""


def shop_of(request: Request) -> OpenShop:
    """Return the shop that the request is about."""
    shop: OpenShop = request.app.state.shop
    return shop


def who_of(request: Request) -> Session | None:
    """Return who is signed in; None on a bench that only its own machine can reach."""
    who: Session | None = getattr(request.state, "who", None)
    return who


def hand_of(request: Request) -> str:
    """Return the name that signs: who is signed in, with the role, else what this device chose."""
    if request.app.state.shared is not None:
        who = who_of(request)
        return Hand("", Role.READER) if who is None else Hand(who.account, who.role)
    if signs := getattr(request.state, "signs", ""):  # a program says so itself
        return str(signs)
    told = request.cookies.get(HAND_COOKIE, "")
    known = shop_of(request).examiners
    if known:
        return told if told in known else known[0]
    return told or DEFAULT_HAND


def sees_sums(request: Request) -> bool:
    """Whether who asks may see sums of money: an examiner and the owner may."""
    who = who_of(request)
    return request.app.state.shared is None or (who is not None and who.role.may(Role.EXAMINER))


def light_of(request: Request) -> Light | None:
    """Return the light that was chosen on this device; None leaves it to the device's own."""
    told = request.cookies.get(LIGHT_COOKIE, "")
    return next((one for one in LIGHTS if one == told), None)


def lengths_of(request: Request) -> LengthUnit:
    """Return the unit of lengths that this device asked for."""
    told = request.cookies.get(LENGTHS_COOKIE, "")
    return next((one for one in LENGTH_UNITS if one == told), "mm")


def purpose_of(request: Request, screen: str) -> str:
    """Return what a screen is for, until this device hid the line."""
    lines = load_screen_lines()
    away = put_away(request.cookies.get(AWAY_COOKIE, ""), lines)
    return "" if screen in away else lines.get(screen, "")


def page(request: Request, template: str, *, status: int = 200, **told: Any) -> HTMLResponse:
    """Fill a template."""
    shop = shop_of(request)
    told = {"screen": "", "tag": "", "subject": None, **told}
    who = who_of(request)
    told["taken_back"] = taken_back(request, told["subject"])
    told["own_last_id"], told["own_last"] = last_entry(request, told["subject"])
    text = (
        _templates()
        .get_template(template)
        .render(
            request=request,
            style=_style(template),
            shop=shop.name,
            hand=hand_of(request),
            light=light_of(request),
            lengths=lengths_of(request),
            who=who,
            may=who is None or who.role is Role.OWNER,
            publishes=who is None or who.role.may(PUBLISHES),
            enters=who is None or who.role is not Role.READER,
            shared=request.app.state.shared,
            purpose=purpose_of(request, told["screen"]),
            **told,
        )
    )
    return HTMLResponse(text, status, headers=KEEP_NOTHING)


def taken_back(request: Request, subject: Subject | None) -> str:
    """Name the entry that was just taken back: its kind and its part."""
    id_ = request.query_params.get("taken", "")
    return "" if subject is None else withdrawn_words(subject.state, subject.tree, id_)


def last_entry(request: Request, subject: Subject | None) -> tuple[str, str]:
    """Id of what *Take back* would take back, and its kind and part; both empty without one."""
    id_ = "" if subject is None else last_of(subject.state, hand_of(request))
    if subject is None or not id_:
        return "", ""
    return id_, entry_words(subject.state, subject.tree, id_)


def first_page(request: Request, template: str, *, status: int = 200, **told: Any) -> HTMLResponse:
    """Fill a template where there is no shop yet."""
    text = (
        _templates()
        .get_template(template)
        .render(
            request=request,
            style=_style(template),
            shop="Heelstamp",
            hand="",
            light=light_of(request),
            lengths=lengths_of(request),
            who=None,
            may=True,
            enters=True,
            shared=None,
            purpose="",
            screen="",
            tag="",
            subject=None,
            taken_back="",
            own_last="",
            **told,
        )
    )
    return HTMLResponse(text, status, headers=KEEP_NOTHING)


def drawn(svg: str) -> Markup:
    """Mark a drawing of this program as safe; its texts were escaped when it was made."""
    return Markup(svg)  # noqa: S704
