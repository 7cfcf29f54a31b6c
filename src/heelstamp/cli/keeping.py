"""``backup``, ``restore``, ``export`` and ``import``: a shop copies itself, leaves, comes back."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say
from heelstamp.errors import ConflictError, HeelstampError, InputError

if TYPE_CHECKING:
    from heelstamp.shop.backup_folder import BackupFolder

PassphraseFile = Annotated[
    Path | None, typer.Option(help="File whose first line is the passphrase; asked for without it.")
]


def backup(
    to: Annotated[Path, typer.Argument(help="Folder of the backups, best on another disk.")],
    encrypt: Annotated[
        bool, typer.Option("--encrypt", help="Encrypt the backups of a new folder.")
    ] = False,
    passphrase_file: PassphraseFile = None,
    keep: Annotated[
        int | None,
        typer.Option(
            min=1, help="Then take away backups older than this many whole ones; never the last."
        ),
    ] = None,
    check: Annotated[
        bool, typer.Option("--check", help="Make none; read every backup there is, whole.")
    ] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Back the shop up, also while it is served; files that are there already are not copied again.

    Exit 1 where something in the shop was not whole: it is named, the rest is backed up.

    Example: heelstamp backup /media/disk/heelstamp --shop shop
    """
    from heelstamp.shop.backup import make_backup
    from heelstamp.wording.sentences import counted

    folder = _opened(to, passphrase_file, sealed=encrypt)
    if check:
        return _checked(folder, as_json=as_json)
    made = make_backup(shop, folder)
    lacking = [f"file {one[:12]}… is not whole in the shop" for one in made.manifest.lacking]
    told = [*made.manifest.faults, *lacking]
    pruned, files = ((), 0) if keep is None else folder.prune(keep)
    if as_json:
        emit(
            {
                "backup": made.name,
                "dossiers": len(made.manifest.dossiers),
                "files": len(made.manifest.files),
                "copied": made.copied,
                "ledger": made.manifest.ledger,
                "faults": told,
                "taken_away": list(pruned),
            }
        )
    else:
        say(
            f"Backup {made.name}: {counted(len(made.manifest.dossiers), 'dossier')}, "
            f"{counted(len(made.manifest.files), 'file')}, {made.copied} copied now."
        )
        if pruned:
            say(f"Taken away: {', '.join(pruned)}, with {counted(files, 'file')} of their own.")
        if not made.noted and not told:
            say("The shop could not note that it was made, and will go on reminding.")
        for one in told:
            bullet(one)
        if told:
            say("The shop is not whole. Say heelstamp doctor to learn which backup is.")
    return Exit.FINDINGS if told else Exit.DONE


def _checked(folder: BackupFolder, *, as_json: bool) -> int:
    faults = {name: list(folder.faults(name)) for name in folder.names()}
    if as_json:
        emit(faults)
    else:
        for name, told in faults.items():
            say(f"{name}: {'whole' if not told else 'not whole'}")
            for one in told:
                bullet(one)
        if not faults:
            say("No backup here.")
    if not faults:
        return Exit.UNDECIDED
    return Exit.FINDINGS if any(faults.values()) else Exit.DONE


def restore(
    source: Annotated[Path, typer.Argument(metavar="FROM", help="Folder of the backups.")],
    shop: Annotated[Path, typer.Option("--shop", help="New or empty folder for the shop.")],
    date: Annotated[
        str, typer.Option(help="Beginning of a backup's name, as 20261130; the newest without it.")
    ] = "",
    database: Annotated[
        str, typer.Option(help="Address of an empty PostgreSQL database; a file without it.")
    ] = "",
    incomplete: Annotated[
        bool, typer.Option("--incomplete", help="Also where files of the backup are damaged.")
    ] = False,
    passphrase_file: PassphraseFile = None,
    as_json: AsJson = False,
) -> int:
    """Bring a shop back from a backup into a new folder; never over a shop.

    Example: heelstamp restore /media/disk/heelstamp --shop shop-again
    """
    from heelstamp.shop.backup import restore_backup
    from heelstamp.wording.sentences import counted

    if not source.is_dir():
        raise InputError("no such folder of backups", where=str(source))
    restored = restore_backup(
        _opened(source, passphrase_file), shop, date=date, database=database, incomplete=incomplete
    )
    if as_json:
        emit({"backup": restored.name, "shop": str(shop), "lacking": list(restored.lacking)})
    else:
        say(
            f"Backup {restored.name} is restored in {shop}: "
            f"{counted(len(restored.manifest.dossiers), 'dossier')}, "
            f"{counted(len(restored.manifest.files), 'file')}."
        )
        for one in [*restored.lacking, *restored.manifest.faults]:
            bullet(one)
    whole = not restored.lacking and restored.manifest.whole
    return Exit.DONE if whole else Exit.FINDINGS


def export(
    what: Annotated[list[str], typer.Argument(metavar="[TAG]… TO", help="Dossiers, and a folder.")],
    everything: Annotated[bool, typer.Option("--all", help="The whole shop.")] = False,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Carry dossiers, or the whole shop, out into a folder that a person reads.

    Example: heelstamp export H-0001 wherry --shop shop
    """
    from heelstamp.shop.carrying_out import export_dossiers
    from heelstamp.wording.sentences import counted

    *tags, to = what
    if bool(tags) == everything:
        raise InputError(
            "an export names dossiers, or --all",
            where="export",
            received="both" if tags else "neither",
            remedy="Say heelstamp export H-0001 TO, or heelstamp export --all TO.",
        )
    done = export_dossiers(shop, tags, Path(to))
    if as_json:
        emit({"folder": to, "dossiers": done.tags, "files": done.files, "lacking": done.lacking})
    else:
        say(
            f"Written to {to}: {counted(len(done.tags), 'dossier')}, "
            f"{counted(done.files, 'file')}; begin with README.txt."
        )
        for one in done.lacking:
            bullet(one)
        say("It holds private frames, names and prices: keep it as you keep the shop.")
    return Exit.FINDINGS if done.lacking else Exit.DONE


def import_(
    folder: Annotated[Path, typer.Argument(help="Folder that heelstamp export wrote.")],
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Take exported dossiers into the shop, entry by entry as they were made: all or nothing.

    Example: heelstamp import wherry --shop shop
    """
    from heelstamp.shop.carrying_in import import_folder

    done = import_folder(folder, shop)
    if as_json:
        emit({"entries": done.entries, "files": done.files, "rows": done.rows, "own": done.own})
        return Exit.DONE
    for tag, count in done.entries.items():
        say(f"{tag}: entries taken in: {count}" if count else f"{tag}: the shop holds all of it")
    say(f"{done.files} files, {done.rows} rows of sales and census.")
    for one in done.own:
        bullet(f"{one} stays as this shop has it; the folder has another.")
    return Exit.DONE


def record_rows(shop: Path, backups: Sequence[Path]) -> list[tuple[str, str, str]]:
    """What ``doctor`` says of a shop's record: one row, or one for each thing that is not whole."""
    from heelstamp.shop import is_shop
    from heelstamp.shop.backup import days_since_backup, last_backup
    from heelstamp.shop.sealing import KEY_FILE
    from heelstamp.shop.soundness import shop_faults
    from heelstamp.wording.sentences import counted

    if not is_shop(shop):
        return []
    last = last_backup(shop)
    known = list(backups) or ([] if last is None else [Path(last.folder)])
    # one that is encrypted is opened only when it was named: it asks for its passphrase
    folders = [one for one in known if one in backups or not (one / KEY_FILE).exists()]
    days = days_since_backup(shop)
    told = "none known; say heelstamp backup TO" if days is None else f"{counted(days, 'day')} ago"
    rows = [("last backup", "good" if days is not None else "none", told)]
    try:
        faults = shop_faults(shop, [_opened(one, None) for one in folders], compared=bool(backups))
    except HeelstampError as error:
        return [*rows, ("record", "not good", str(error))]
    for one in faults:
        held = f"whole in {'; '.join(one.whole_in)}" if one.whole_in else "whole in no backup known"
        rows.append(("record", "not good", f"{one.where}: {one.code}, {one.message}; {held}"))
    if not faults:
        rows.append(("record", "good", "every row, entry and file is as it was left"))
    return rows


def _opened(folder: Path, passphrase_file: Path | None, *, sealed: bool = False) -> BackupFolder:
    from heelstamp.shop.backup import backup_folder
    from heelstamp.shop.sealing import KEY_FILE, read_passphrase

    def ask() -> str:
        if passphrase_file is not None:
            return read_passphrase(passphrase_file)
        new = not (folder / KEY_FILE).exists()
        return str(typer.prompt("Passphrase", hide_input=True, confirmation_prompt=new, err=True))

    opened = backup_folder(folder, ask, sealed=sealed)
    if passphrase_file is not None and not (folder / KEY_FILE).exists():
        raise ConflictError(
            "a passphrase for backups that are not encrypted",
            where=str(folder),
            remedy="Say --encrypt with the first backup in a new folder.",
        )
    return opened
