"""``verify``, ``chronology check`` and ``doctor``: whether what is kept and installed is sound."""

from __future__ import annotations

import platform
import shutil
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp import __version__
from heelstamp.cli.exits import Exit
from heelstamp.cli.keeping import record_rows
from heelstamp.cli.options import EXAMINER, HERE, AsJson, By, Shop
from heelstamp.cli.output import emit, say, table
from heelstamp.errors import HeelstampError

if TYPE_CHECKING:
    from heelstamp.shop.verification import Verified

ENTER_ANEW = "Withdraw it by a correction, and enter it anew in the fields of today."

chronology_app = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="Check what is known of a maker."
)


@chronology_app.callback()
def _chronology() -> None:
    """Check what is known of a maker."""


def verify(
    what: Annotated[
        str | None,
        typer.Argument(
            help="Tag of a dossier; or a file: a paper, a pack, a journal, a copy.json beside its "
            "files."
        ),
    ] = None,
    last: Annotated[
        str | None, typer.Option(help="Digest of the entry that the paper prints.")
    ] = None,
    key: Annotated[
        list[str] | None,
        typer.Option(help="The shop's key, 64 digits, as it tells them by another way."),
    ] = None,
    page: Annotated[
        Path | None, typer.Option(help="Write the page that checks in a browser, and stop.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Check a file that was handed out, a dossier's chain and files, or the whole shop.

    A file is checked without the shop; with --shop it is known besides whose key signed it and
    whether a later version supersedes it. Exit 0 passed, 1 failed, 3 cannot tell.

    A journal cut off after an entry is a shorter journal like any other: that its end is missing
    shows only against the last backup that the shop knows of, or a digest given with --last.

    Example: heelstamp verify report.pdf --key 5f0c…
    """
    from heelstamp.archive import Verdict

    if page is not None:
        return _page(page)
    if what is not None and _is_file(what):
        found = _held(Path(what), last, key or (), shop)
    else:
        from heelstamp.shop.verification import verify_shop

        found = verify_shop(shop, what, last)
    if as_json:
        emit(
            {
                one.name: {
                    "verdict": one.verdict.said,
                    "findings": list(one.findings),
                    "limits": list(one.limits),
                }
                for one in found
            }
        )
    else:
        for one in found:
            say(f"{one.name}: {one.verdict.said}")
            for message in [*one.findings, *one.limits]:
                say(message, "  ")
    verdicts = {one.verdict for one in found}
    if Verdict.BROKEN in verdicts:
        return Exit.FINDINGS
    decided = Verdict.CANNOT_DECIDE not in verdicts and (what is not None or len(found) > 2)
    return Exit.DONE if decided else Exit.UNDECIDED


def _is_file(what: str) -> bool:
    path = Path(what)
    named = path.suffix in {".json", ".jsonl", ".pdf", ".zip"}
    return named or path.is_file() or (path / "bagit.txt").is_file()


def _held(path: Path, last: str | None, given: Sequence[str], shop: Path) -> Sequence[Verified]:
    """Check a file; with a shop at hand against what that knows of it."""
    from heelstamp.archive import is_digest
    from heelstamp.errors import InputError
    from heelstamp.shop import is_shop
    from heelstamp.shop.handed_out import Known, check_file, check_with_shop

    keys = {}
    for one in given:
        digits = one.lower().replace(":", "").replace(" ", "")
        if not is_digest(digits):
            raise InputError(
                "not the fingerprint of a key",
                where="--key",
                received=one,
                remedy="It has 64 digits of 0 to 9 and a to f.",
            )
        keys[digits] = "the key given"
    if not is_shop(shop):
        return check_file(path, Known(last, keys))
    return check_with_shop(shop, path, Known(last, keys))


def _page(path: Path) -> int:
    from heelstamp.report.check_page import check_page
    from heelstamp.shop.files import write_whole

    write_whole(path, check_page())
    say(f"{path}: open it in a browser; it needs no network.")
    return Exit.DONE


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
    from heelstamp.wording.sentences import counted

    own = shop / CHRONOLOGIES_FOLDER if is_shop(shop) else None
    names = (what,) if what is not None else chronology_ids(own)
    rows, told = [], []
    for name in names:
        chronology = chronology_for(name, shop)
        what_for = [
            counted(len(chronology.parts), "part"),
            counted(len(chronology.features), "feature"),
            counted(len(chronology.signs), "tell-tale"),
        ]
        told.append(
            f"{chronology.id} of {chronology.edition}: sound; {', '.join(what_for)}"
            + ("; invented" if chronology.invented else "")
        )
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
        for line in told:
            say(line)
    return Exit.DONE


@chronology_app.command("new")
def new_maker(
    id_: Annotated[str, typer.Argument(metavar="ID", help="Id, the name of its file.")],
    maker: Annotated[str, typer.Option(help="Maker.")],
    model: Annotated[str, typer.Option(help="Model.")],
    first: Annotated[str, typer.Option(help="First year or month of production.")],
    last: Annotated[str, typer.Option(help="Last year or month of production.")],
    kind: Annotated[str, typer.Option(help="Kind of instrument.")] = "guitar",
    point: Annotated[
        list[str] | None, typer.Option(help="A serial number and its month: 'S10350 1965-06'.")
    ] = None,
    serial_part: Annotated[str, typer.Option(help="Part that carries the number.")] = "",
    change: Annotated[
        list[str] | None,
        typer.Option(help="part; what; old; new; first month with new; last month with old."),
    ] = None,
    lots: Annotated[
        str, typer.Option(help="Do like parts come from one lot: usually, sometimes, rarely.")
    ] = "sometimes",
    note: Annotated[str, typer.Option(help="Where this is known from.")] = "",
    shop: Shop = HERE,
    by: By = EXAMINER,
    as_json: AsJson = False,
) -> int:
    """Begin a blank chronology of a maker of one's own: nothing of any other maker is in it.

    Example: heelstamp chronology new hollis-drifter --maker Hollis --model Drifter --first 1958
    --last 1967 --point "1200 1959-03" --point "6400 1965-11"
    """
    from heelstamp.chronology.blank import KnownOfMaker
    from heelstamp.shop.makers import begin_blank
    from heelstamp.shop.opened import OpenShop

    points, changes = "\n".join(point or ()), "\n".join(change or ())
    known = KnownOfMaker(maker, model, first, last, points, serial_part, changes, lots, note)
    with OpenShop(shop) as opened:
        made = begin_blank(opened, id_, kind, known, by=by)
    if as_json:
        emit({"id": made.id, "edition": made.edition, "digest": made.digest})
    else:
        say(f"{made.id} of {made.edition}: begun. Shares and delays are judgement until learned.")
    return Exit.DONE


def doctor(
    shop: Shop = HERE,
    backups: Annotated[
        list[Path] | None, typer.Option(help="Folder of backups to look in; may be repeated.")
    ] = None,
    accept: Annotated[
        list[str] | None,
        typer.Option(help="Document of the shop that was changed on purpose; may be repeated."),
    ] = None,
    as_json: AsJson = False,
) -> int:
    """Look whether this machine and shop have everything the work needs, and the record is whole.

    Of what is not whole it is said which backup holds it: of those named, or where the shop made
    its last one.

    Example: heelstamp doctor --shop shop --backups /media/disk/heelstamp
    """
    checks: list[tuple[str, Callable[[], str]]] = [
        ("Python", _python),
        ("reference tables", _tables),
        ("chronologies", _chronologies),
        ("typesetting", _typesetting),
        ("shop", lambda: _shop(shop)),
        ("shop's key", lambda: _signing_key(shop)),
        ("space", lambda: _space(shop)),
    ]
    if accept:
        _accept(shop, accept)
    rows = []
    for name, look in checks:
        try:
            rows.append((name, "good", look()))
        except HeelstampError as error:
            rows.append((name, "not good", str(error)))
        except ImportError as error:
            rows.append((name, "not good", f"{error}; run make setup again."))
    rows += _unconverted(shop)
    rows += record_rows(shop, backups or [])
    if as_json:
        emit([{"check": a, "verdict": b, "detail": c} for a, b, c in rows])
    else:
        say(f"Heelstamp {__version__} on {platform.platform(terse=True)}")
        table(rows, ("check", "verdict", "detail"))
    return Exit.FINDINGS if any(verdict == "not good" for _, verdict, _ in rows) else Exit.DONE


def _accept(shop: Path, names: list[str]) -> None:
    from heelstamp.shop import open_shop
    from heelstamp.shop.noted_documents import accept

    with open_shop(shop) as opened:
        accept(opened, shop, names)


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
    from datetime import UTC, datetime
    from tempfile import TemporaryDirectory

    from heelstamp.report.typesetter import typesetter
    from heelstamp.report.typesetting import MAIN

    with TemporaryDirectory(prefix="heelstamp-paper-") as folder:
        page = '#set document(title: "A test page")\n= A test page\n'
        Path(folder, MAIN).write_text(page, "utf-8")
        typesetter.pdf(Path(folder), datetime(2026, 1, 1, tzinfo=UTC))
    return "a test page was set"


def _shop(shop: Path) -> str:
    from heelstamp.shop import is_shop, open_shop

    if not is_shop(shop):
        return "none here; make one with heelstamp new --shop FOLDER"
    with open_shop(shop) as opened:
        return f"{opened.name}, {len(opened.journals.tags())} dossiers"


def _signing_key(shop: Path) -> str:
    from heelstamp.errors import IntegrityError
    from heelstamp.shop import is_shop
    from heelstamp.shop.shop_key import key_faults, known_keys

    if not is_shop(shop):
        return "none without a shop"
    if faults := key_faults(shop):
        raise IntegrityError(faults[0], where="key")
    told = [one.fingerprint for one in known_keys(shop).values() if not one.earlier]
    return told[0] if told else "none yet; made with the first paper that is issued"


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
