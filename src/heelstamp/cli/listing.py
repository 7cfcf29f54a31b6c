"""``listing`` and ``paper listing``: the text for who looks for one, and its issue."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import bullet, emit, heading, say

Tag = Annotated[str, typer.Argument(help="Tag of a dossier.")]
Out = Annotated[Path | None, typer.Option("--out", "-o", help="File to write.")]


def listing(
    tag: Tag,
    length: Annotated[str, typer.Option("--length", help="short, middle or full.")] = "middle",
    check: Annotated[
        Path | None, typer.Option("--check", help="A text of your own to hold against the report.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Print the listing of an instrument: flaws first, each sentence one of the report's.

    Nothing is entered; heelstamp paper listing issues it. With --check a text of the shop's own is
    held against the report: what says more than it, and which flaws it leaves out.

    Example: heelstamp listing H-0001 --length short --shop demo-shop
    """
    import msgspec

    from heelstamp.casework.listing.composing import LENGTHS, data_of, text_of
    from heelstamp.errors import InputError
    from heelstamp.shop.files import read_file
    from heelstamp.shop.listing import check_text, listing_at
    from heelstamp.shop.opened import OpenShop

    chosen = next((one for one in LENGTHS if one == length), None)
    if chosen is None:
        raise InputError(
            "no such length", where="--length", received=length, remedy=", ".join(LENGTHS) + "."
        )
    with OpenShop(shop) as here:
        if check is not None:
            text = read_file(check).decode("utf-8", "replace")
            against = check_text(here, tag, text)
            if as_json:
                emit(msgspec.to_builtins(against))
            else:
                say("Nothing in it says more than the report." if not against else "")
                for one in against:
                    bullet(one.told)
            return Exit.FINDINGS if against else Exit.DONE
        found = listing_at(here, tag)
    if as_json:
        emit(data_of(found.listing) | {"blocks": [one.told for one in found.blocks]})
    else:
        for line in text_of(found.listing, chosen).splitlines():
            say(line)
        for told in found.listing.unpictured:
            say(f"No photograph shows: {told.text}")
        if found.blocks:
            heading("Not to be offered yet")
            for block in found.blocks:
                bullet(block.told)
    return Exit.FINDINGS if found.blocks else Exit.DONE


def listing_papers(papers: typer.Typer) -> None:
    """Add the commands that issue them to those of the other papers."""

    @papers.command("listing")
    def issue_it(
        tag: Tag, out: Out = None, by: By = EXAMINER, shop: Shop = HERE, as_json: AsJson = False
    ) -> int:
        """Issue the listing as one signed bag: three lengths, photographs in order, schema.org.

        Refused while title, law or clearance is open.

        Example: heelstamp paper listing H-0001 -o listing.zip
        """
        from heelstamp.casework.dossier import next_id
        from heelstamp.shop.files import write_whole
        from heelstamp.shop.listing import issue_listing
        from heelstamp.shop.opened import OpenShop

        path = out or Path(f"{tag}-listing.zip")
        with OpenShop(shop) as here:
            id_ = next_id(here.subject(tag).state, "issue-")
            digest = issue_listing(here, tag, id_=id_, by=by)
            data = here.files.get(digest)
        write_whole(path, data)
        if as_json:
            told = {"path": str(path), "bytes": len(data), "sha256": digest, "paper": "listing"}
            emit(told)
        else:
            say(f"Listing: {path} ({len(data) / 1e6:.1f} MB); begin with README.txt.")
            say(f"SHA-256 {digest}")
        return Exit.DONE

    @papers.command("showing")
    def showing(
        tag: Tag,
        out: Out = None,
        preview: Annotated[
            bool, typer.Option("--preview", help="Write it as it would be issued; enter nothing.")
        ] = False,
        by: By = EXAMINER,
        shop: Shop = HERE,
        as_json: AsJson = False,
    ) -> int:
        """Issue the showing page: one file with pictures and sounds that opens on any phone.

        It needs no network. Refused while title, law or clearance is open; a preview is not signed.

        Example: heelstamp paper showing H-0001 -o showing.html
        """
        from heelstamp.archive import sha256
        from heelstamp.casework.dossier import next_id
        from heelstamp.shop.files import write_whole
        from heelstamp.shop.opened import OpenShop
        from heelstamp.shop.showing import issue_showing, preview_showing

        path = out or Path(f"{tag}-showing.html")
        with OpenShop(shop) as here:
            if preview:
                page = preview_showing(here, tag)
            else:
                id_ = next_id(here.subject(tag).state, "issue-")
                page = here.files.get(issue_showing(here, tag, id_=id_, by=by))
        write_whole(path, page)
        digest = sha256(page)
        if as_json:
            emit({"path": str(path), "bytes": len(page), "sha256": digest, "paper": "showing page"})
        else:
            say(f"Showing page: {path} ({len(page) / 1e6:.1f} MB); any browser opens it.")
            say(f"SHA-256 {digest}")
        return Exit.DONE
