"""Backups encrypted with a passphrase, in the age format, by the library ``pyrage``.

A backup folder has one key pair (X25519). Its secret half lies in the folder, encrypted with the
passphrase by scrypt; every file is encrypted to the public half (age-encryption.org/v1). Files are
named by an HMAC of their digest under the secret half, so that a name tells nobody which
photograph is kept. What stays visible: how many files, their sizes, when they came.
"""

from __future__ import annotations

import hashlib
import hmac
import os
from pathlib import Path
from typing import Any, BinaryIO

from heelstamp.errors import ConflictError, InputError

KEY_FILE = "key.age"
"""The folder's secret key, encrypted with the passphrase."""
LEAST_CHARACTERS = 12
"""Of a new passphrase: NIST SP 800-63B asks 8 of a password that a server throttles; this one can
be tried without anyone noticing, slowed by scrypt alone."""


class Sealed:
    """Wraps files of one backup folder; see `heelstamp.shop.backup_folder.Wrapping`."""

    ending = ".age"

    def __init__(self, identity: Any) -> None:
        self._identity = identity
        self._recipient = identity.to_public()
        self._naming = hashlib.sha256(b"heelstamp/backup/names\x00" + str(identity).encode())

    def name_of(self, digest: str) -> str:
        """Name under which a file of this SHA-256 lies in the folder: 64 hexadecimal digits."""
        return hmac.new(self._naming.digest(), digest.encode(), "sha256").hexdigest()

    def wrap(self, reader: BinaryIO, writer: BinaryIO) -> None:
        """Encrypt all of *reader* into *writer*."""
        _pyrage().encrypt_io(reader, writer, [self._recipient])

    def unwrap(self, reader: BinaryIO, writer: BinaryIO) -> None:
        """Decrypt all of *reader* into *writer*.

        Raises
        ------
        ValueError
            It was changed or cut, or is of another key.
        """
        library = _pyrage()
        try:
            library.decrypt_io(reader, writer, [self._identity])
        except library.DecryptError as error:
            raise ValueError(str(error)) from None


def new_sealed(passphrase: str) -> tuple[Sealed, bytes]:
    """Draw a new key; return what wraps with it, and the content of its `KEY_FILE`.

    Raises
    ------
    InputError
        The passphrase is too short, or the library is not installed.
    """
    library = _pyrage()
    if len(passphrase) < LEAST_CHARACTERS:
        raise InputError(
            f"a passphrase has at least {LEAST_CHARACTERS} characters",
            where="passphrase",
            received=f"{len(passphrase)} characters",
            remedy="Take five or more words drawn by lot, and keep them away from the backup.",
        )
    identity = library.x25519.Identity.generate()
    return Sealed(identity), library.passphrase.encrypt(str(identity).encode(), passphrase)


def opened_sealed(key_file: bytes, passphrase: str) -> Sealed:
    """Open the key of a backup folder.

    Raises
    ------
    ConflictError
        The passphrase is another one, or the key's file is damaged.
    InputError
        The library is not installed.
    """
    library = _pyrage()
    try:
        secret = library.passphrase.decrypt(key_file, passphrase).decode()
        return Sealed(library.x25519.Identity.from_str(secret))
    except (library.DecryptError, library.IdentityError, UnicodeDecodeError):
        raise ConflictError(
            "the backup does not open with this passphrase",
            where=KEY_FILE,
            remedy="Give the passphrase that was set with the first backup in this folder.",
        ) from None


def read_passphrase(path: Path) -> str:
    """Read a passphrase from the first line of a file.

    Raises
    ------
    InputError
        The file cannot be read, is empty, or others may read it.
    """
    try:
        if os.name == "posix" and path.stat().st_mode & 0o077:
            raise InputError(
                "others may read the file of the passphrase",
                where=str(path),
                remedy=f"Say: chmod 600 {path.name}",
            )
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise InputError(
            "the file of the passphrase cannot be read", where=str(path), received=error
        ) from None
    if not lines or not lines[0].strip():
        raise InputError("the file of the passphrase is empty", where=str(path))
    return lines[0]


def _pyrage() -> Any:
    try:
        import pyrage
    except ImportError:
        raise InputError(
            "this backup needs the library that encrypts, which is not installed",
            received="no pyrage",
            remedy="Install it: pip install 'heelstamp[encrypt]'.",
        ) from None
    return pyrage
