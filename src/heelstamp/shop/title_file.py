"""The title file of an instrument: its owners with a signature of their own, and what was searched.

Who owns it is told by role; the name is kept apart (`heelstamp.shop.persons`). Of the paper by
which identity was seen its kind and last characters are kept, never a copy.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.casework.new_entry import EntryStamp, NewEntry
from heelstamp.casework.sale.blocks import OWNERSHIP
from heelstamp.catalogue import OwnerOf, TitleSearch
from heelstamp.errors import InputError
from heelstamp.wording import about_sale as about

if TYPE_CHECKING:
    from heelstamp.casework.appraisal.clearance import NearFound
    from heelstamp.shop.opened import OpenShop

OWNER_FIELDS = ("role", "identity", "ending", "acquired", "liens", "signed", "note")


@dataclass(frozen=True)
class OwnerSeen:
    """An owner, what their entry does not tell, and the strokes of their signature as a path."""

    owner: OwnerOf
    lacking: tuple[str, ...]
    strokes: str


@dataclass(frozen=True)
class TitleFile:
    """What stands of title.

    Attributes
    ----------
    stated
        Whether a signed statement of ownership is kept.
    searches
        Every search, the newest first.
    hits
        Sentences of the hits that stand: everything stops.
    near
        Numbers of the shop's lists and other dossiers that this one may be.
    numbers
        Its own number, in every reading.
    names
        Name by role, of owners whose name is kept.
    """

    owners: tuple[OwnerSeen, ...]
    stated: bool
    searches: tuple[TitleSearch, ...]
    hits: tuple[str, ...]
    near: Sequence[NearFound]
    numbers: tuple[str, ...]
    names: Mapping[str, str]


def title_file(shop: OpenShop, tag: str) -> TitleFile:
    """Lay out the title file of a dossier."""
    from heelstamp.casework.appraisal.clearance import numbers_of
    from heelstamp.shop.clearance import clear

    subject = shop.subject(tag)
    state = subject.state
    owners = {one.role.casefold(): one for one in state.of(OwnerOf).values()}
    searches = tuple(reversed(tuple(state.of(TitleSearch).values())))
    last = {one.register.casefold(): one for one in reversed(searches)}
    return TitleFile(
        tuple(OwnerSeen(one, _lacking(one), _strokes(shop, one)) for one in owners.values()),
        any(one.about == OWNERSHIP and one.signed for one in state.statements.values()),
        searches,
        tuple(
            about.block_hit.say(register=one.register, result=one.result or "a hit")
            for one in last.values()
            if one.hit
        ),
        clear(shop, subject, ()).near,
        numbers_of(state),
        {one.role: one.name for one in shop.persons.all() if one.tag == tag and one.name},
    )


def keep_owner(
    shop: OpenShop, tag: str, stamp: EntryStamp, told: Mapping[str, str], *, by: str
) -> None:
    """Enter an owner, how their identity was seen, and their signature.

    What was entered of this role before and is not told now stands on.

    Parameters
    ----------
    told
        Fields of `heelstamp.catalogue.OwnerOf`; ``strokes`` of a signature drawn on a screen;
        ``name`` and ``contact``, which are kept apart.

    Raises
    ------
    InputError
        A field is wanting or cannot be read.
    """
    from heelstamp.casework.appraisal.agreement import read_strokes
    from heelstamp.catalogue.entries import body_data
    from heelstamp.shop.agreement import STROKES_TYPE
    from heelstamp.shop.files import keep_file
    from heelstamp.shop.persons import keep_person

    state = shop.subject(tag).state
    if stamp.id in state.entered:
        return
    body: dict[str, Any] = {
        key: told[key].strip() for key in OWNER_FIELDS if told.get(key, "").strip()
    }
    role = str(body.get("role", ""))
    before = [one for one in state.of(OwnerOf).values() if one.role.casefold() == role.casefold()]
    stood = body_data(before[-1]) if before else {}
    if told.get("strokes"):
        read_strokes(told["strokes"])
        body["mark"] = keep_file(shop, told["strokes"].encode(), STROKES_TYPE)
        body |= {"how": "on the screen", "signed": body.get("signed") or stamp.at[:10]}
    elif "signed" in body:
        body["how"] = "on paper"
        stood.pop("mark", None)
    apart = ("id", "made", "public")
    stands = {key: value for key, value in stood.items() if key not in apart}
    whole = {**stands, **body, "id": stamp.id}
    shop.enter(tag, [NewEntry("owner", whole | stamp.late)], by=by)
    if told.get("name", "").strip():
        keep_person(
            shop,
            tag,
            role=role,
            name=told["name"],
            contact=told.get("contact", ""),
            purpose="owner",
            day=stamp.at[:10],
        )


def keep_search(
    shop: OpenShop, tag: str, stamp: EntryStamp, told: Mapping[str, str], *, by: str
) -> None:
    """Enter a search of a list: what was asked of it, for which numbers, and what it answered.

    Parameters
    ----------
    told
        ``register``, ``query``, ``day``, ``result``, and ``hit``: *yes* or *no*.

    Raises
    ------
    InputError
        It does not say whether there was a hit, or a hit not what was found.
    """
    from heelstamp.casework.appraisal.clearance import numbers_of

    state = shop.subject(tag).state
    if stamp.id in state.entered:
        return
    if told.get("hit") not in ("yes", "no"):
        raise InputError("it is not said whether there was a hit", remedy="Say yes or no.")
    hit = told["hit"] == "yes"
    if hit and not told.get("result", "").strip():
        raise InputError("a hit without what was found", remedy="Write what the list says.")
    body: dict[str, Any] = {"id": stamp.id, "hit": hit, "day": told.get("day") or stamp.at[:10]}
    body |= {"numbers": list(numbers_of(state))}
    names = ("register", "query", "result")
    body |= {key: told[key].strip() for key in names if told.get(key, "").strip()}
    shop.enter(tag, [NewEntry("title_search", body | stamp.late)], by=by)


def _lacking(one: OwnerOf) -> tuple[str, ...]:
    wanted = {
        "identity": "how identity was seen",
        "acquired": "how they came by it",
        "liens": "whether there are liens",
        "signed": "their signature",
    }
    return tuple(words for field, words in wanted.items() if not getattr(one, field))


def _strokes(shop: OpenShop, one: OwnerOf) -> str:
    from heelstamp.casework.appraisal.agreement import read_strokes, strokes_path

    if one.how != "on the screen" or one.mark is None:
        return ""
    return strokes_path(read_strokes(shop.files.get(one.mark).decode()))
