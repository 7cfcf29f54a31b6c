"""The listing of an instrument: composed, held against the report, issued in one signed bag.

A bag holds three lengths of text, the same as schema.org data, and the photographs in the order of
showing, with the boxes over them filled. Nothing is issued while title, law or clearance is open.
"""

from __future__ import annotations

import json
import zipfile
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import TYPE_CHECKING

from heelstamp.casework.listing.checking import Contradiction, contradictions
from heelstamp.casework.listing.composing import (
    LENGTHS,
    Listing,
    Offer,
    changed_lines,
    data_of,
    listing_of,
    text_of,
)
from heelstamp.casework.listing.product import product
from heelstamp.catalogue.sale import SOLD_STATES
from heelstamp.shop.folder import now
from heelstamp.shop.issuing import issue_made
from heelstamp.shop.printed_pictures import boxes_of, outgoing
from heelstamp.shop.reports import document_at, told_at

if TYPE_CHECKING:
    from heelstamp.casework.papers.document import ReportDocument
    from heelstamp.casework.sale.blocks import Block
    from heelstamp.shop.opened import OpenShop

PAPER, READER = "listing", "public"
DATA, PRODUCT = "listing.json", "product.jsonld"
STEP = "offered"
"""The step of a sale that a listing is: what stands against it stands against a listing."""
PHOTO_PX = 2400
GUIDE = """\
{title}
{banner}
short.txt, middle.txt, full.txt   The same listing at three lengths. Paste one.
photographs/                      In the order of showing. Copies: what the camera wrote is not in
                                  them, and what must not be read is covered in grey.
product.jsonld                    The same as schema.org Product and Offer (JSON-LD).
listing.json                      Every sentence with the statement of the report and the photograph
                                  that it stands on.

Every sentence is one of the examination report, word for word. Change one, and hold it against the
report again: heelstamp listing {tag} --check FILE
"""


@dataclass(frozen=True, slots=True)
class Listed:
    """A listing of a dossier as it stands.

    Attributes
    ----------
    document
        The buyer's report that it is composed of.
    blocks
        What stands against offering it, with what lifts each; none where the owner lets it pass.
    """

    document: ReportDocument
    listing: Listing
    blocks: tuple[Block, ...]


def listing_at(shop: OpenShop, tag: str) -> Listed:
    """Compose the listing of a dossier as it stands; nothing is entered."""
    from heelstamp.casework.sale.blocks import left_open

    state = shop.subject(tag).state
    document = document_at(shop, tag, "buyer")
    listing = listing_of(document, day=now()[:10], offer=offer_of(shop, tag))
    return Listed(document, listing, tuple(left_open(state, STEP, shop.against)))


def offer_of(shop: OpenShop, tag: str) -> Offer:
    """What is asked, by the steps of its sale; no price before it was offered."""
    from heelstamp.casework.sale.blocks import standing_of

    standing = standing_of(shop.subject(tag).state)
    if standing.state in SOLD_STATES:
        return Offer(state="agreed" if standing.state == "agreed" else "sold")
    state = "held" if standing.state == "held" else "offered"
    if standing.asked is None or standing.state not in ("offered", "held"):
        return Offer()
    return Offer(str(standing.asked), standing.currency, state)


def check_text(shop: OpenShop, tag: str, text: str) -> tuple[Contradiction, ...]:
    """Hold a text of the shop's own against the report that a buyer would get now."""
    found = listing_at(shop, tag)
    seen = shop.subject(tag).state.observations.values()
    numbers = [one.text for one in seen if one.kind == "serial" and one.text]
    return contradictions(text, found.document, found.listing, numbers=numbers)


def issue_listing(shop: OpenShop, tag: str, *, id_: str, by: str) -> str:
    """Issue the listing, and return the SHA-256 of its bag; the same id issues it once.

    Raises
    ------
    ConflictError
        Title, law or clearance is open; says what lifts it.
    HeelstampError
        A photograph cannot be read, or a machine refused.
    """
    from heelstamp.archive import canonical_json, read_json
    from heelstamp.casework.sale.gate import require_open

    require_open(shop.subject(tag).state, STEP, shop.against, where=tag)
    found = listing_at(shop, tag)
    data = canonical_json(data_of(found.listing))
    return issue_made(
        shop,
        tag,
        paper=PAPER,
        reader=READER,
        files={DATA: data},
        make=lambda _, day: listing_bag(shop, tag, found, day=day),
        media_type="application/zip",
        changed=lambda kept: changed_lines(read_json(_data_in(kept)), read_json(data)),
        id_=id_,
        by=by,
    )


def listing_bag(shop: OpenShop, tag: str, found: Listed, *, day: str) -> bytes:
    """Make the bag of a listing."""
    with TemporaryDirectory() as folder:
        path = Path(folder, f"{tag}-listing.zip")
        write_bag(shop, tag, found, path, day=day)
        return path.read_bytes()


def write_bag(shop: OpenShop, tag: str, found: Listed, to: Path, *, day: str) -> None:
    """Write the bag of a listing to a folder or a ZIP file; nothing is entered."""
    from heelstamp.archive import canonical_json
    from heelstamp.casework.exported import safe_name
    from heelstamp.shop.bag import writing_bag
    from heelstamp.shop.carrying_out import about_bag, signer

    told, listing = told_at(shop, tag, "buyer"), found.listing
    boxes = boxes_of(told.subject.state)
    with writing_bag(to, day=day) as bag:
        images = []
        for number, (frame, caption) in enumerate(listing.photographs, start=1):
            name = f"photographs/{safe_name(f'{number:02d} {caption}')}.jpg"
            images.append(name)
            file = told.photographs[frame]
            bag.add(name, outgoing(shop, file, boxes.get(frame, ()), PHOTO_PX))
        for length in LENGTHS:
            bag.add(f"{length}.txt", text_of(listing, length).encode())
        bag.add(DATA, canonical_json(data_of(listing)))
        described = product(found.document, listing, shop=shop.name, images=images)
        bag.add(PRODUCT, (json.dumps(described, ensure_ascii=False, indent=1) + "\n").encode())
        banner = f"{listing.banner}.\n" if listing.banner else ""
        guide = GUIDE.format(title=listing.title, banner=banner, tag=tag)
        bag.add("README.txt", guide.encode())
        bag.close(about_bag(shop.name, tag, PAPER, day), signer(shop.folder, shop.name))


def _data_in(kept: bytes) -> bytes:
    """The data of a listing that was issued, from its bag."""
    import io

    with zipfile.ZipFile(io.BytesIO(kept)) as archive:
        name = next(one for one in archive.namelist() if one.endswith(f"/data/{DATA}"))
        return archive.read(name)
