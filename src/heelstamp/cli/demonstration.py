"""``demo``: the whole job on the invented instrument, from the door to the report."""

from __future__ import annotations

import shutil
import time
from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.examining import print_finding
from heelstamp.cli.exits import Exit
from heelstamp.cli.output import bullet, emit, heading, say

TAG = "H-0001"


def demo(
    shop: Annotated[Path, typer.Option("--shop", help="Folder to make the shop in.")] = Path(
        "demo-shop"
    ),
    fresh: Annotated[
        bool, typer.Option("--fresh", help="Remove an earlier demo in that folder first.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON value.")] = False,
) -> int:
    """Examine the demonstration instrument: maker, instrument and readings are invented.

    Example: heelstamp demo --shop demo-shop --fresh
    """
    from heelstamp.archive import sha256
    from heelstamp.bootstrap import create_shop, is_shop, now
    from heelstamp.bootstrap.paper_issue import issue_report, write_whole
    from heelstamp.bootstrap.subjects import date_subject, load_subject
    from heelstamp.casework.journal_file import verify
    from heelstamp.casework.replay import replay
    from heelstamp.reference.demonstration import (
        DEMO_SHOP_NAME,
        demo_journal,
        demo_photographs,
        demo_recordings,
    )

    begun = time.perf_counter()
    if fresh and is_shop(shop):
        _remove_demo(shop, DEMO_SHOP_NAME)
    rows, files = demo_journal(), demo_photographs() | demo_recordings()
    with create_shop(shop, name=DEMO_SHOP_NAME, currency="USD") as opened:
        replay(opened, TAG, rows, files)
        verified = verify(opened, TAG)
    subject = load_subject(TAG, shop)
    finding = date_subject(subject)
    papers: dict[str, str] = {}
    for reader in ("consignor", "buyer"):
        pdf = issue_report(subject, reader, at=now(), finding=finding)
        path = shop / f"{TAG}-report-{reader}.pdf"
        write_whole(path, pdf)
        papers[reader] = str(path)
        if reader == "consignor":
            digest = sha256(pdf)
    took = time.perf_counter() - begun
    if as_json:
        emit(
            {
                "shop": str(shop),
                "tag": TAG,
                "papers": papers,
                "verdict": verified.verdict.value,
                "seconds": round(took, 1),
                "finding": finding.data(),
            }
        )
        return Exit.DONE
    say("DEMONSTRATION: maker, instrument and readings are invented, pictures are simulated.")
    say()
    print_finding(subject, finding)
    heading("Record")
    state = subject.state
    bullet(
        f"{state.length} journal entries, {len(state.photographs)} photographs, "
        f"{len(state.recordings)} recordings; chain and files: "
        f"{verified.verdict.value}"
    )
    for reader, path_text in papers.items():
        bullet(f"report for the {reader}: {path_text}")
    bullet(f"SHA-256 of the consignor's report: {digest}")
    heading("Try next")
    bullet(f"heelstamp show {TAG} --shop {shop} --part neck")
    bullet(f"heelstamp verify {TAG} --shop {shop}")
    bullet("heelstamp date examples/outside-only.toml")
    bullet("heelstamp read 137-6-43")
    say(f"Done in {took:.1f} s.")
    return Exit.DONE


def _remove_demo(shop: Path, name: str) -> None:
    """Remove an earlier demo, and nothing that is not one."""
    from heelstamp.bootstrap import open_shop, read_settings
    from heelstamp.errors import ConflictError

    own = read_settings(shop).name != name
    if not own:
        with open_shop(shop) as opened:
            own = bool(set(opened.journals.tags()) - {TAG})
    if own:
        raise ConflictError(
            "this shop is not a demo, or holds dossiers of yours",
            where=str(shop),
            remedy="Name another folder; nothing was removed.",
        )
    shutil.rmtree(shop)
