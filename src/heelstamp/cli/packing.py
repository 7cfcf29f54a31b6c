"""``pack`` and ``key``: what one reader gets in one bag, and the key that signs."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from heelstamp.cli.exits import Exit
from heelstamp.cli.options import HERE, AsJson, Shop
from heelstamp.cli.output import bullet, emit, say, table

key_app = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, help="The key that signs the shop's papers."
)


@key_app.callback()
def _key() -> None:
    """The key that signs the shop's papers."""


def pack(
    tag: Annotated[str, typer.Argument(help="Tag of a dossier.")],
    reader: Annotated[
        str, typer.Option("--for", help="buyer, insurer, public, consignor or shop.")
    ] = "buyer",
    out: Annotated[
        Path | None, typer.Option("--out", "-o", help="Folder, or a file that ends in .zip.")
    ] = None,
    shop: Shop = HERE,
    as_json: AsJson = False,
) -> int:
    """Put what one reader gets of a dossier into one signed bag: papers, photographs, findings.

    For the consignor and the shop it is the whole record, which heelstamp import takes into another
    shop. For a buyer or an insurer it holds what was issued to them; nothing is entered.

    Example: heelstamp pack H-0001 --for buyer -o H-0001-buyer.zip
    """
    from heelstamp.shop.opened import OpenShop
    from heelstamp.shop.pack import WHOLE, make_pack
    from heelstamp.wording.sentences import counted

    path = out or Path(f"{tag}-{reader}.zip")
    with OpenShop(shop) as opened:
        made = make_pack(opened, tag, reader, path)
    if as_json:
        emit(
            {
                "path": str(path),
                "reader": reader,
                "files": made.files,
                "bytes": made.size,
                "lacking": list(made.lacking),
            }
        )
    else:
        said = f"{counted(made.files, 'file')}, {made.size / 1e6:.1f} MB"
        say(f"Pack for the {reader}: {path} ({said}); begin with README.txt.")
        for one in made.lacking:
            bullet(one)
        if reader in WHOLE:
            say("It holds private frames, names and prices: keep it as you keep the shop.")
    return Exit.FINDINGS if made.lacking else Exit.DONE


PassphraseFile = Annotated[
    Path | None, typer.Option(help="File whose first line is the passphrase; asked for without it.")
]


@key_app.command()
def show(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Tell the fingerprints of the shop's keys: hand the first one out by another way than papers.

    Example: heelstamp key show --shop shop
    """
    from heelstamp.shop import read_settings
    from heelstamp.shop.shop_key import is_protected, key_faults, known_keys

    read_settings(shop)
    rows = [(one.fingerprint, one.said(), one.since) for one in known_keys(shop).values()]
    faults = key_faults(shop)
    if as_json:
        names = ("fingerprint", "whose", "since")
        told = [dict(zip(names, one, strict=True)) for one in reversed(rows)]
        emit({"keys": told, "protected": is_protected(shop), "faults": list(faults)})
        return Exit.FINDINGS if faults else Exit.DONE
    if not rows:
        say("No key yet: it is made with the first paper that is issued.")
    else:
        table(list(reversed(rows)), ("fingerprint (SHA-256)", "whose", "since"))
        kept = "protected by a passphrase" if is_protected(shop) else "protected by its file alone"
        say(f"The secret half is {kept}.")
    for one in faults:
        bullet(one)
    return Exit.FINDINGS if faults else Exit.DONE


@key_app.command()
def renew(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Make another key: when somebody may have read the one before, or once in some years.

    What the earlier key signed stays the shop's; nothing more can be signed with it. Tell everyone
    who has the fingerprint.

    Example: heelstamp key renew --shop shop
    """
    from heelstamp.shop import read_settings
    from heelstamp.shop.shop_key import renew as renew_key
    from heelstamp.shop.signing import passphrase

    fingerprint = renew_key(shop, read_settings(shop).name, passphrase=passphrase())
    if as_json:
        emit({"fingerprint": fingerprint})
    else:
        say(f"The shop signs with another key from now on: {fingerprint}")
        say("Hand these digits out by another way than papers, and make a backup.")
    return Exit.DONE


@key_app.command()
def protect(
    passphrase_file: PassphraseFile = None, shop: Shop = HERE, as_json: AsJson = False
) -> int:
    """Protect the key with a passphrase, asked for or read from a file.

    From then on HEELSTAMP_KEY_PASSPHRASE_FILE names the file with it when papers are issued.

    Example: heelstamp key protect --shop shop
    """
    from heelstamp.shop.sealing import read_passphrase
    from heelstamp.shop.shop_key import protect as protect_key
    from heelstamp.shop.signing import passphrase

    if passphrase_file is not None:
        words = read_passphrase(passphrase_file)
    else:
        words = str(typer.prompt("Passphrase", hide_input=True, confirmation_prompt=True, err=True))
    protect_key(shop, passphrase=words, now=passphrase())
    if as_json:
        emit({"protected": True})
    else:
        say("The key is protected. Without its passphrase nobody can sign: keep it on paper too.")
    return Exit.DONE


@key_app.command()
def unprotect(shop: Shop = HERE, as_json: AsJson = False) -> int:
    """Take the passphrase off the key again; HEELSTAMP_KEY_PASSPHRASE_FILE names it once more.

    Example: heelstamp key unprotect --shop shop
    """
    from heelstamp.shop.shop_key import protect as protect_key
    from heelstamp.shop.signing import passphrase

    protect_key(shop, passphrase="", now=passphrase())
    if as_json:
        emit({"protected": False})
    else:
        say("The key is protected by its file alone.")
    return Exit.DONE
