"""The shop's key, with which every paper that it issues is signed as a whole.

Made with the shop, or with the first paper of a shop that has none. ``key/shop.key`` is the secret
half (P-256, PKCS 8), which only its owner may read and which a passphrase may protect;
``key/shop.crt`` is the public half with the shop's name, in a certificate that it signs itself and
that never ends (RFC 5280, 4.1.2.5). Backups hold the folder, exports and packs never do. A key that
was renewed leaves its certificate in ``key/earlier``: what it signed stays the shop's.

Nobody vouches for the key but the shop: hand out its *fingerprint*, which every paper prints, by
another way too.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import ConflictError, InputError, StorageError
from heelstamp.shop.certificate import replace_secret

if TYPE_CHECKING:
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

FOLDER, SECRET, CERTIFICATE, EARLIER = "key", "shop.key", "shop.crt", "earlier"
LEAST_CHARACTERS = 12
"""Of a passphrase, as `heelstamp.shop.sealing` asks."""
PASSPHRASE_FILE = "HEELSTAMP_KEY_PASSPHRASE_FILE"  # noqa: S105 - the name of a variable
"""Environment: the file whose first line is the passphrase of the shop's key."""
_NAME_MAX = 64  # ub-common-name, RFC 5280, A.1


@dataclass(frozen=True, slots=True)
class ShopKey:
    """A key that can sign.

    Attributes
    ----------
    certificate
        Its certificate, DER.
    fingerprint
        SHA-256 of the public key, 64 hexadecimal digits.
    sign
        Signs bytes, as `heelstamp.archive.signed` wants it.
    """

    certificate: bytes
    fingerprint: str
    sign: Callable[[bytes], bytes]


@dataclass(frozen=True, slots=True)
class KnownKey:
    """A key of the shop by its fingerprint: since which day, and whether another followed."""

    fingerprint: str
    since: str
    earlier: bool

    def said(self) -> str:
        """Whose key it is, in words."""
        return "an earlier key of this shop" if self.earlier else "this shop's key"


def make_key(folder: Path, name: str, *, passphrase: str = "") -> None:
    """Make the key of the shop *name* in *folder*, which has none yet.

    Raises
    ------
    InputError
        The passphrase is too short.
    StorageError
        It cannot be written.
    """
    from cryptography.hazmat.primitives.asymmetric import ec

    _require_long(passphrase)
    key = ec.generate_private_key(ec.SECP256R1())
    place = folder / FOLDER
    try:
        place.mkdir(mode=0o700, exist_ok=True)
        replace_secret(place / SECRET, _written(key, passphrase))
        replace_secret(place / CERTIFICATE, _certified(key, name))
    except OSError as error:
        raise _unwritten(error) from None


def shop_key(folder: Path, name: str, *, passphrase: str = "") -> ShopKey:
    """The key of the shop in *folder*, made where there is none.

    Raises
    ------
    InputError
        It is protected and the passphrase is missing or another one, others may read it, or a file
        of it is damaged or missing.
    StorageError
        It cannot be written.
    """
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256

    from heelstamp.archive.signed import fingerprint_of

    place = folder / FOLDER
    if not (place / SECRET).exists() and not (place / CERTIFICATE).exists():
        make_key(folder, name)
    key, certificate = _read(place, passphrase)

    def sign(data: bytes) -> bytes:
        return key.sign(data, ec.ECDSA(SHA256(), deterministic_signing=True))

    return ShopKey(certificate, fingerprint_of(certificate), sign)


def known_keys(folder: Path) -> Mapping[str, KnownKey]:
    """Every key that the shop in *folder* has or had, by fingerprint; none is secret."""
    place, found = folder / FOLDER, {}
    for path in [*sorted((place / EARLIER).glob("*.crt")), place / CERTIFICATE]:
        if path.is_file():
            one = _known(path)
            found[one.fingerprint] = one
    return found


def renew(folder: Path, name: str, *, passphrase: str = "") -> str:
    """Make another key and keep the certificate of the one before; give its fingerprint.

    The secret half of the one before is gone then: nothing can be signed with it any more.

    Raises
    ------
    HeelstampError
        As `make_key`.
    """
    _require_long(passphrase)
    place = folder / FOLDER
    if (place / CERTIFICATE).is_file():
        before = _known(place / CERTIFICATE)
        try:
            (place / EARLIER).mkdir(mode=0o700, exist_ok=True)
            kept = place / EARLIER / f"{before.fingerprint[:16]}.crt"
            replace_secret(kept, (place / CERTIFICATE).read_bytes())
            (place / SECRET).unlink(missing_ok=True)
            (place / CERTIFICATE).unlink()
        except OSError as error:
            raise _unwritten(error) from None
    make_key(folder, name, passphrase=passphrase)
    return _known(place / CERTIFICATE).fingerprint


def protect(folder: Path, *, passphrase: str, now: str) -> None:
    """Protect the key with the passphrase *passphrase*, or with an empty one no longer.

    Parameters
    ----------
    now
        The passphrase that it has; empty for none.

    Raises
    ------
    InputError
        There is no key, *now* is another passphrase, or the new one is too short.
    """
    _require_long(passphrase)
    place = folder / FOLDER
    key, _ = _read(place, now)
    try:
        replace_secret(place / SECRET, _written(key, passphrase))
    except OSError as error:
        raise _unwritten(error) from None


def is_protected(folder: Path) -> bool:
    """Whether the key asks for a passphrase; false where there is none."""
    try:
        return b"ENCRYPTED" in (folder / FOLDER / SECRET).read_bytes()
    except OSError:
        return False


def key_faults(folder: Path) -> tuple[str, ...]:
    """What is not as it should be with the key's files, in sentences without full stop."""
    place = folder / FOLDER
    secret, certificate = place / SECRET, place / CERTIFICATE
    if not secret.exists() and not certificate.exists():
        return ()
    if not secret.exists() or not certificate.exists():
        missing = SECRET if certificate.exists() else CERTIFICATE
        return (f"{FOLDER}/{missing} is missing; bring it back from a backup, or say {_RENEW}",)
    if _open_to_others(secret):
        return (f"others may read {FOLDER}/{SECRET}; say chmod 600 on it, then {_RENEW}",)
    return ()


_RENEW = "heelstamp key renew"


def _known(path: Path) -> KnownKey:
    from cryptography import x509
    from cryptography.hazmat.primitives.serialization import Encoding

    from heelstamp.archive.signed import fingerprint_of

    try:
        held = x509.load_pem_x509_certificate(path.read_bytes())
    except (OSError, ValueError):
        raise _damaged(path) from None
    since = f"{held.not_valid_before_utc:%Y-%m-%d}"
    earlier = path.parent.name == EARLIER
    return KnownKey(fingerprint_of(held.public_bytes(Encoding.DER)), since, earlier)


def _read(place: Path, passphrase: str) -> tuple[EllipticCurvePrivateKey, bytes]:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization import Encoding, load_pem_private_key

    secret, certificate = place / SECRET, place / CERTIFICATE
    for path in (secret, certificate):
        if not path.is_file():
            raise InputError(
                "a file of the shop's key is missing",
                where=f"{FOLDER}/{path.name}",
                remedy=f"Bring it back from a backup, or say {_RENEW}.",
            )
    if _open_to_others(secret):
        raise InputError(
            "others may read the shop's key",
            where=f"{FOLDER}/{SECRET}",
            remedy=f"Say chmod 600 on it; if somebody may have, say {_RENEW}.",
        )
    text = secret.read_bytes()
    if b"ENCRYPTED" in text and not passphrase:
        raise InputError(
            "the shop's key is protected by a passphrase",
            where=f"{FOLDER}/{SECRET}",
            remedy="Write it on the first line of a file that only you can read, and name that "
            f"file in {PASSPHRASE_FILE} before you start the program.",
        )
    try:
        password = passphrase.encode() if b"ENCRYPTED" in text else None
        key = load_pem_private_key(text, password)
        held = x509.load_pem_x509_certificate(certificate.read_bytes())
    except (ValueError, TypeError):
        if b"ENCRYPTED" in text:
            raise InputError(
                "the shop's key does not open with this passphrase", where=f"{FOLDER}/{SECRET}"
            ) from None
        raise _damaged(secret) from None
    if not isinstance(key, EllipticCurvePrivateKey) or key.public_key() != held.public_key():
        raise _damaged(secret)
    return key, held.public_bytes(Encoding.DER)


def _written(key: EllipticCurvePrivateKey, passphrase: str) -> bytes:
    from cryptography.hazmat.primitives.serialization import (
        BestAvailableEncryption,
        Encoding,
        NoEncryption,
        PrivateFormat,
    )

    how = BestAvailableEncryption(passphrase.encode()) if passphrase else NoEncryption()
    return key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, how)


def _certified(key: EllipticCurvePrivateKey, name: str) -> bytes:
    from cryptography import x509
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.serialization import Encoding

    whose = x509.Name([x509.NameAttribute(x509.NameOID.COMMON_NAME, name[:_NAME_MAX])])
    public = key.public_key()
    usage = x509.KeyUsage(
        digital_signature=True,
        content_commitment=True,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=False,
        crl_sign=False,
        encipher_only=False,
        decipher_only=False,
    )
    today = datetime.now(UTC).replace(hour=0, minute=0, second=0, microsecond=0)
    made = (
        x509.CertificateBuilder(whose, whose, public, x509.random_serial_number())
        .not_valid_before(today)
        .not_valid_after(datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(public), critical=False)
        .sign(key, SHA256())
    )
    return made.public_bytes(Encoding.PEM)


def _require_long(passphrase: str) -> None:
    if passphrase and len(passphrase) < LEAST_CHARACTERS:
        raise InputError(
            f"a passphrase has at least {LEAST_CHARACTERS} characters",
            where="passphrase",
            received=f"{len(passphrase)} characters",
            remedy="Take five or more words drawn by lot.",
        )


def _open_to_others(path: Path) -> bool:
    return os.name == "posix" and bool(path.stat().st_mode & 0o077)


def _damaged(path: Path) -> ConflictError:
    return ConflictError(
        "the shop's key cannot be read",
        where=f"{FOLDER}/{path.name}",
        remedy=f"Bring it back from a backup, or say {_RENEW}.",
    )


def _unwritten(error: OSError) -> StorageError:
    return StorageError(
        "the shop's key cannot be kept",
        where=FOLDER,
        received=error.strerror,
        remedy="Check the permission and the space on the disk.",
    )
