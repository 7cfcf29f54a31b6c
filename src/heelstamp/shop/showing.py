"""The showing page of an instrument, made for everyone, previewed, issued as a version.

It holds what a buyer's report shows and no more: photographs with their boxes filled, pairs of the
finish, the listing's sentences, and recordings that a person released one by one. It is refused
like a listing while title, law or clearance is open.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from heelstamp.casework.listing.composing import changed_lines, data_of
from heelstamp.casework.listing.showing import Heard, showing_page, sounds_of
from heelstamp.shop.issuing import issue_made
from heelstamp.shop.listing import READER, STEP, Listed, listing_at
from heelstamp.shop.printed_pictures import boxes_of, outgoing
from heelstamp.shop.reports import plates_of_told, told_at
from heelstamp.shop.signing import key_of, sign_page
from heelstamp.wording import about_listing as about

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop

PAPER = "showing page"
SAID, HEARD = "listing.json", "recordings.json"
KIND = "text/html"


def preview_showing(shop: OpenShop, tag: str) -> bytes:
    """Make the page as it would be issued now, unsigned; nothing is entered."""
    return _made(shop, tag, listing_at(shop, tag), about.showing_preview.say())


def issue_showing(shop: OpenShop, tag: str, *, id_: str, by: str) -> str:
    """Issue the page, and return the SHA-256 of its file; the same id issues it once.

    Raises
    ------
    ConflictError
        Title, law or clearance is open; says what lifts it.
    HeelstampError
        A photograph or a recording cannot be read, or the page is too large.
    """
    from heelstamp.archive import canonical_json
    from heelstamp.casework.sale.gate import require_open
    from heelstamp.report.showing_page import said_in

    require_open(shop.subject(tag).state, STEP, shop.against, where=tag)
    found = listing_at(shop, tag)
    data = data_of(found.listing)
    files = {SAID: canonical_json(data), HEARD: canonical_json(_heard(shop, tag))}

    def make(version: int, day: str) -> bytes:
        signed = about.showing_signed.say(version=version, day=day, key=key_of(shop).fingerprint)
        return sign_page(shop, _made(shop, tag, found, signed))

    return issue_made(
        shop,
        tag,
        paper=PAPER,
        reader=READER,
        files=files,
        make=make,
        media_type=KIND,
        changed=lambda kept: changed_lines(said_in(kept), data),
        id_=id_,
        by=by,
    )


def _made(shop: OpenShop, tag: str, found: Listed, signed: str) -> bytes:
    from heelstamp.media.decoding import read_recording
    from heelstamp.media.outgoing_sound import outgoing_sound
    from heelstamp.report.showing_page import render_showing

    told, state = told_at(shop, tag, "buyer"), shop.subject(tag).state
    page = showing_page(
        found.document,
        found.listing,
        sorts={id_: one.sort for id_, one in told.subject.state.treatments.items()},
        sounds=_sounds(shop, tag),
    )
    boxes = boxes_of(told.subject.state)
    plates = plates_of_told(told)
    sounds = {}
    for one in page.sounds:
        kept = state.recordings[one.recording]
        heard = read_recording(shop.files.get(kept.file), one.what)
        sounds[one.recording] = outgoing_sound(heard)
    return render_showing(
        page,
        pictures={
            one.frame: outgoing(shop, told.photographs[one.frame], boxes.get(one.frame, ()))
            for one in page.pictures
        },
        pairs={one.key: plates[one.key] for one in page.faces},
        sounds=sounds,
        said=data_of(found.listing),
        signed=signed,
    )


def _sounds(shop: OpenShop, tag: str) -> tuple[Heard, ...]:
    subject = shop.subject(tag)
    return sounds_of(subject.state, subject.tree)


def _heard(shop: OpenShop, tag: str) -> list[str]:
    """SHA-256 of each recording that goes along, which fixes it beside the sentences."""
    found = shop.subject(tag).state.recordings
    return [found[one.recording].file for one in _sounds(shop, tag)]
