"""``demo``: the whole job on the invented instrument, from the door to the report."""

from __future__ import annotations

import shutil
import time
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.examining import print_finding
from heelstamp.cli.exits import Exit
from heelstamp.cli.output import bar, bullet, emit, heading, say

if TYPE_CHECKING:
    from heelstamp.casework.finish import FinishFinding
    from heelstamp.catalogue import DossierState
    from heelstamp.reference.demonstration import DemoPair
    from heelstamp.shop.opened import OpenShop

TAG = "H-0001"
PAPER_NAMES = {
    "consignor": "report for the consignor",
    "buyer": "report for the buyer",
    "invoice": "invoice, not issued",
}


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
    from heelstamp.reference.demonstration import DEMO_COVER, DEMO_SHOP_NAME, demo_pairs
    from heelstamp.shop import is_shop, now
    from heelstamp.shop.demonstration import keep_demo_census, make_demo_dossier
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.premises import keep_cover
    from heelstamp.shop.prices import price_demo
    from heelstamp.shop.reports import typeset_report

    begun = time.perf_counter()
    if fresh and is_shop(shop):
        _remove_demo(shop, DEMO_SHOP_NAME)
    papers: dict[str, str] = {}
    with bar("Demonstration") as told, ExitStack() as closing:
        told(0.02, "the journal, and the lamp's pairs")
        verified, faces = make_demo_dossier(
            shop,
            TAG,
            name=DEMO_SHOP_NAME,
            tell=lambda stage: told(0.05 + 0.6 * stage.share, stage.name),
        )
        opened = closing.enter_context(OpenShop(shop))
        told(0.7, "the date")
        subject, finding = opened.subject(TAG), opened.finding(TAG)
        said = opened.said(TAG)
        told(0.8, "the price")
        price = price_demo(opened, TAG)
        keep_demo_census(opened)
        keep_cover(opened, DEMO_COVER)
        for reader in ("consignor", "buyer"):
            told(0.9, f"the report for the {reader}")
            pdf = typeset_report(
                subject, reader, at=now(), finding=finding, doubts=opened.doubts(TAG)
            )
            path = shop / f"{TAG}-report-{reader}.pdf"
            write_whole(path, pdf)
            papers[reader] = str(path)
            if reader == "consignor":
                digest = sha256(pdf)
        papers["invoice"] = str(_invoice(opened))
    took = time.perf_counter() - begun
    if as_json:
        emit(
            {
                "shop": str(shop),
                "tag": TAG,
                "papers": papers,
                "verdict": verified.verdict.said,
                "seconds": round(took, 1),
                "finding": finding.data(),
                "price": {
                    "median": price.market.median,
                    "interval_90": price.market.interval_90,
                    "insured": price.insured,
                    "net": price.net,
                },
                "finish": [one.data() for one in faces],
            }
        )
        return Exit.DONE
    say("DEMONSTRATION: maker, instrument and readings are invented, pictures are simulated.")
    say()
    print_finding(subject, finding, said)
    state = subject.state
    _print_finish(state, faces)
    heading("Record")
    bullet(
        f"{state.length} journal entries, {len(state.photographs)} photographs, "
        f"{len(state.recordings)} recordings; chain and files: "
        f"{verified.verdict.said}"
    )
    for reader, path_text in papers.items():
        bullet(f"{PAPER_NAMES[reader]}: {path_text}")
    bullet(f"SHA-256 of the consignor's report: {digest}")
    heading("Money, three numbers apart")
    for sentence in price.sentences[:3]:
        bullet(sentence)
    _print_next(shop, demo_pairs()[0])
    say(f"Done in {took:.1f} s.")
    return Exit.DONE


def _invoice(shop: OpenShop) -> Path:
    """Typeset the invoice of the sale; return its file."""
    from heelstamp.shop.files import write_whole
    from heelstamp.shop.forms import form_at, typeset_form

    path = shop.folder / f"{TAG}-invoice.pdf"
    write_whole(path, typeset_form(shop, TAG, form_at(shop, TAG, "invoice")))
    return path


def _print_next(shop: Path, pair: DemoPair) -> None:
    """Name a few commands to go on with."""
    heading("Try next")
    bullet(f"heelstamp show {TAG} --shop {shop} --part neck")
    bullet(f"heelstamp verify {TAG} --shop {shop}")
    bullet(f"heelstamp price {TAG} --shop {shop} --as-of 2026-11")
    ruler = ",".join(f"{v:g}" for v in pair.ruler)
    bullet(
        f"heelstamp glow {TAG}:{pair.visible} {TAG}:{pair.uv} --shop {shop} "
        f"--masks {shop / pair.masks_name} --ruler {ruler} --out {shop / 'glow'}"
    )
    bullet("heelstamp date examples/outside-only.toml")
    bullet("heelstamp read 137-6-43")


def _print_finish(state: DossierState, faces: tuple[FinishFinding, ...]) -> None:
    """Tell what the pairs came to, one line a region."""
    from heelstamp.casework.papers.finish_section import face_name
    from heelstamp.wording.about_finish import COULD_MAKE, first_cause

    heading("Finish under UV-A, with the cause of most support")
    say("Simulated pairs. No glow tells whose coat it is.")
    for finding in faces:
        data, name = finding.data(), face_name(state, finding.uv)
        if not finding.assessed:
            bullet(f"{name}: not assessable, because {'; '.join(data['reasons'])}")
            continue
        count = len(data["regions"])
        places = f"{count} place{'' if count == 1 else 's'}"
        left = len(data["doubts"])
        even = "nothing is put down to the finish" if left else "even (cohesive) where assessed"
        told = f"differs in {places}" if count else even
        bullet(f"{name}: {told}" + (f"; left open in {left}" if left else ""))
        for region in data["regions"]:
            first = first_cause(region["causes"])
            cause = "no cause told" if first is None else f"{first[0]} {first[1]:.2f}"
            seen = "visible" if region["visible"] else "not visible"
            say(
                f"      {region['number']}  {region['kind']}, {region['area_cm2']:.2f} cm², {seen} "
                f"in ordinary light; {cause}"
            )
        for doubt in data["doubts"]:
            say(f"      {doubt['label']} {doubt['place']}: {COULD_MAKE[doubt['why']]}")


def _remove_demo(shop: Path, name: str) -> None:
    """Remove an earlier demo, and nothing that is not one."""
    from heelstamp.errors import ConflictError
    from heelstamp.shop import open_shop, read_settings

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
