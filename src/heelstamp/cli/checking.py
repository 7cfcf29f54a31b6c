"""``verify``, ``chronology check`` and ``doctor``: whether what is kept and installed is sound."""

from __future__ import annotations

import platform
import shutil
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp import __version__
from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import emit, say, table
from heelstamp.errors import HeelstampError

if TYPE_CHECKING:
    from heelstamp.archive import ChainReport

ENTER_ANEW = "Withdraw it by a correction, and enter it anew in the fields of today."

chronology_app = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="Check what is known of a maker."
)


@chronology_app.callback()
def _chronology() -> None:
    """Check what is known of a maker."""


def verify(
    tag: Annotated[
        str | None,
        typer.Argument(
            help="Tag of a dossier, a .jsonl journal, a paper's .pdf or its copy.json; or the shop."
        ),
    ] = None,
    last: Annotated[
        str | None, typer.Option(help="Digest of the entry that the paper prints.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Verify the chain of entries and every file kept.

    Example: heelstamp verify H-0001 --shop shop
    """
    from heelstamp.archive import Verdict, verify_file
    from heelstamp.shop.copies import is_copy, verify_issued
    from heelstamp.shop.files import read_file

    results: dict[str, tuple[str, list[str]]] = {}
    if tag is not None and Path(tag).suffix == ".jsonl":
        results[tag] = _told(verify_file(read_file(Path(tag)), head=last))
    elif tag is not None and is_copy(Path(tag)):
        proof = verify_issued(Path(tag), head=last)
        said = f"{proof.code}: {proof.message}" if proof.code else f"entry {proof.digest}"
        results[tag] = (proof.verdict.value, [said])
    else:
        from heelstamp.casework.journal_file import verify as verify_dossier
        from heelstamp.casework.journal_file import verify_files
        from heelstamp.shop import open_shop

        with open_shop(shop) as opened:
            for one in (tag,) if tag is not None else opened.journals.tags():
                found = verify_dossier(opened, one, head=last)
                verdict, messages = _told(found.chain)
                messages += [f"{fault.message}: file {fault.name[:12]}…" for fault in found.files]
                results[one] = (found.verdict.value, messages)
            if tag is None:
                faults = verify_files(opened)
                lost = any(fault.code != "left over" for fault in faults)
                verdict = Verdict.BROKEN.value if lost else Verdict.SOUND.value
                told = [f"{fault.name}: {fault.code}, {fault.message}" for fault in faults]
                results["files of the shop"] = (verdict, told)
    if as_json:
        emit({name: {"verdict": v, "findings": found} for name, (v, found) in results.items()})
    else:
        for name, (verdict, messages) in results.items():
            say(f"{name}: {verdict}")
            for message in messages:
                say(message, "  ")
    verdicts = {verdict for verdict, _ in results.values()}
    if Verdict.BROKEN.value in verdicts:
        return Exit.FINDINGS
    decided = Verdict.CANNOT_DECIDE.value not in verdicts and (tag is not None or len(results) > 1)
    return Exit.DONE if decided else Exit.UNDECIDED


def _told(report: ChainReport) -> tuple[str, list[str]]:
    """Give the verdict on a chain and what to say of it, each finding with its entry."""
    told = [
        f"entry {one.seq}: {one.message}" if one.seq else one.message for one in report.findings
    ]
    if report.head_at is not None:
        since = report.length - report.head_at
        more = f"; {since} entered since" if since else ", the last"
        told.append(f"the expected digest is that of entry {report.head_at}{more}")
    return report.verdict.value, told


@chronology_app.command("check")
def check(
    what: Annotated[
        str | None, typer.Argument(help="Id or file of a chronology; all without it.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Check a chronology: its form, its tables, and that a dating can be made with it.

    Example: heelstamp chronology check sallowby-wherry
    """
    from heelstamp.chronology import dating_model
    from heelstamp.dating import infer
    from heelstamp.reference.chronology_files import chronology_ids
    from heelstamp.shop import CHRONOLOGIES_FOLDER, is_shop
    from heelstamp.shop.subjects import chronology_for

    own = shop / CHRONOLOGIES_FOLDER if is_shop(shop) else None
    names = (what,) if what is not None else chronology_ids(own)
    rows = []
    for name in names:
        chronology = chronology_for(name, shop)
        model = dating_model(chronology)
        infer(model, ())
        rows.append(
            {
                "id": chronology.id,
                "edition": chronology.edition,
                "invented": chronology.invented,
                "features": len(chronology.features),
                "signs": len(chronology.signs),
                "parts": len(chronology.parts),
                "digest": chronology.digest,
            }
        )
    if as_json:
        emit(rows)
    else:
        for row in rows:
            say(
                f"{row['id']} of {row['edition']}: sound; {row['parts']} parts, {row['features']} "
                f"features, {row['signs']} signs" + ("; invented" if row["invented"] else "")
            )
    return Exit.DONE


def doctor(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Look whether this machine and shop have everything that the work needs.

    Example: heelstamp doctor --shop shop
    """
    checks: list[tuple[str, Callable[[], str]]] = [
        ("Python", _python),
        ("reference tables", _tables),
        ("chronologies", _chronologies),
        ("typesetting", _typesetting),
        ("shop", lambda: _shop(shop)),
        ("space", lambda: _space(shop)),
    ]
    rows = []
    for name, look in checks:
        try:
            rows.append((name, "good", look()))
        except HeelstampError as error:
            rows.append((name, "not good", str(error)))
        except ImportError as error:
            rows.append((name, "not good", f"{error}; run make setup again."))
    rows += _unconverted(shop)
    if as_json:
        emit([{"check": a, "verdict": b, "detail": c} for a, b, c in rows])
    else:
        say(f"Heelstamp {__version__} on {platform.platform(terse=True)}")
        table(rows, ("check", "verdict", "detail"))
    return Exit.DONE if all(verdict == "good" for _, verdict, _ in rows) else Exit.FINDINGS


def _python() -> str:
    return f"{sys.version.split()[0]} at {sys.prefix}"


def _tables() -> str:
    from heelstamp.reference.tables import verify as verify_tables

    return f"{len(verify_tables())} tables, all as described"


def _chronologies() -> str:
    from heelstamp.chronology import dating_model
    from heelstamp.reference.chronology_files import chronology_ids, load_chronology

    names = chronology_ids()
    for name in names:
        dating_model(load_chronology(name))
    return ", ".join(names)


def _typesetting() -> str:
    import typst

    typst.compile(b"= Heelstamp", format="pdf", ignore_system_fonts=True)
    return "a test page was set"


def _shop(shop: Path) -> str:
    from heelstamp.shop import is_shop, open_shop

    if not is_shop(shop):
        return "none here; make one with heelstamp new --shop FOLDER"
    with open_shop(shop) as opened:
        return f"{opened.name}, {len(opened.journals.tags())} dossiers"


def _unconverted(shop: Path) -> list[tuple[str, str, str]]:
    """Name every entry of form 1 that could not be converted, one row a dossier."""
    from heelstamp.casework.dossier import state_of
    from heelstamp.shop import is_shop, open_shop

    if not is_shop(shop):
        return []
    rows = []
    with open_shop(shop) as opened:
        for tag in opened.journals.tags():
            try:
                left = state_of(opened, tag).unconverted.values()
            except HeelstampError as error:
                rows.append((f"entries of {tag}", "not good", str(error)))
                continue
            told = "; ".join(f"{one.kind} {one.id}: {one.reason}".rstrip(".") for one in left)
            if told:
                detail = f"kept as it was written, and read by nothing: {told}. {ENTER_ANEW}"
                rows.append((f"entries of {tag}", "not good", detail))
    return rows


def _space(shop: Path) -> str:
    free = shutil.disk_usage(shop if shop.is_dir() else Path()).free
    return f"{free / 1e9:.1f} GB free"
