"""A certificate of the shop's own, so that telephones get camera, microphone and offline work.

An authority of the shop signs a certificate for the bench. A device that was told to trust the
authority once goes on trusting when the bench's certificate is renewed. The authority can sign for
the bench's names and for addresses of private networks only (name constraints, RFC 5280, 4.2.1.10),
so that its key, were it stolen, opens nothing else. P-256 with SHA-256; the bench's certificate
holds 397 days (telephones refuse more than 398, from memory), the authority's ten years. Private
ranges: RFC 1918, RFC 4193, RFC 3927, RFC 4291.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from ipaddress import ip_address, ip_network
from pathlib import Path
from typing import TYPE_CHECKING

from heelstamp.errors import InputError, StorageError

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey

FOLDER = "certificate"
AUTHORITY, AUTHORITY_KEY, BENCH, BENCH_KEY = (
    "authority.crt",
    "authority.key",
    "bench.crt",
    "bench.key",
)
LASTS, AUTHORITY_LASTS = timedelta(days=397), timedelta(days=3652)
RENEWED_BEFORE, AUTHORITY_RENEWED_BEFORE = timedelta(days=30), timedelta(days=400)
"""How long before its end each is made anew."""
BACKDATED = timedelta(days=1)
"""A telephone's clock may be behind."""
PRIVATE = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "169.254.0.0/16",
    "127.0.0.0/8",
    "fc00::/7",
    "fe80::/10",
    "::1/128",
)


@dataclass(frozen=True, slots=True)
class OwnCertificate:
    """Files of the bench's certificate and key, and what a device is asked to trust.

    Attributes
    ----------
    authority
        The authority's certificate, DER.
    fingerprint
        Its SHA-256, in pairs of figures as devices show it.
    fresh
        The authority was made just now: every device must be told anew.
    until
        End of the bench's certificate.
    """

    certificate: Path
    key: Path
    authority: bytes
    fingerprint: str
    fresh: bool
    until: datetime


def own_certificate(shop: Path, names: Sequence[str], at: datetime) -> OwnCertificate:
    """The shop's own certificate for *names*, made or renewed where it must be.

    Parameters
    ----------
    names
        Names and addresses by which browsers call the bench.
    at
        The time now, UTC.

    Raises
    ------
    InputError
        A file of it is there and cannot be read.
    StorageError
        It cannot be written.
    """
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.hazmat.primitives.serialization import Encoding

    folder = shop / FOLDER
    kept = _kept(folder / AUTHORITY, folder / AUTHORITY_KEY)
    fresh = kept is None or not _serves(kept[0], names, at + AUTHORITY_RENEWED_BEFORE, signs=True)
    if kept is None or fresh:
        kept = _authority(names, at)
        _write(folder, AUTHORITY, AUTHORITY_KEY, *kept)
    bench = _kept(folder / BENCH, folder / BENCH_KEY)
    if bench is None or fresh or not _serves(bench[0], names, at + RENEWED_BEFORE, signs=False):
        bench = _bench(names, at, *kept)
        _write(folder, BENCH, BENCH_KEY, *bench)
    print_of = kept[0].fingerprint(SHA256()).hex(":").upper()
    return OwnCertificate(
        folder / BENCH,
        folder / BENCH_KEY,
        kept[0].public_bytes(Encoding.DER),
        print_of,
        fresh,
        bench[0].not_valid_after_utc,
    )


def _authority(
    names: Sequence[str], at: datetime
) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256

    key = ec.generate_private_key(ec.SECP256R1())
    name = _name("The shop's own authority")
    permitted: list[x509.GeneralName] = [x509.IPAddress(ip_network(one)) for one in PRIVATE]
    permitted += [_constraint(one) for one in names if not _is_private(one)]
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(at - BACKDATED)
        .not_valid_after(at + AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(x509.NameConstraints(permitted, None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, SHA256())
    )
    return made, key


def _bench(
    names: Sequence[str],
    at: datetime,
    authority: x509.Certificate,
    authority_key: EllipticCurvePrivateKey,
) -> tuple[x509.Certificate, EllipticCurvePrivateKey]:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.hazmat.primitives.hashes import SHA256
    from cryptography.x509.oid import ExtendedKeyUsageOID

    key = ec.generate_private_key(ec.SECP256R1())
    identifier = authority.extensions.get_extension_for_class(x509.SubjectKeyIdentifier).value
    made = (
        x509.CertificateBuilder(
            authority.subject, _name("The bench"), key.public_key(), x509.random_serial_number()
        )
        .not_valid_before(at - BACKDATED)
        .not_valid_after(min(at + LASTS, authority.not_valid_after_utc))
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_alternative(one) for one in names]), False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_subject_key_identifier(identifier),
            critical=False,
        )
        .sign(authority_key, SHA256())
    )
    return made, key


def _name(common: str) -> x509.Name:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, common)])


def _usage(*, signs: bool) -> x509.KeyUsage:
    from cryptography import x509

    return x509.KeyUsage(
        digital_signature=not signs,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=signs,
        crl_sign=signs,
        encipher_only=False,
        decipher_only=False,
    )


def _alternative(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _constraint(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ip_network(name))
    except ValueError:
        return x509.DNSName(name)


def _is_private(name: str) -> bool:
    try:
        address = ip_address(name)
    except ValueError:
        return False
    nets = [ip_network(one) for one in PRIVATE]
    return any(address in one for one in nets if one.version == address.version)


def _serves(
    certificate: x509.Certificate, names: Sequence[str], until: datetime, *, signs: bool
) -> bool:
    """Whether a certificate holds *until* then and is good for every name."""
    from cryptography import x509

    if certificate.not_valid_after_utc < until:
        return False
    found = certificate.extensions
    if signs:
        constraints = found.get_extension_for_class(x509.NameConstraints).value
        allowed = constraints.permitted_subtrees or []
        return all(_is_private(one) or _constraint(one) in allowed for one in names)
    held = list(found.get_extension_for_class(x509.SubjectAlternativeName).value)
    return all(_alternative(one) in held for one in names)


def _kept(certificate: Path, key: Path) -> tuple[x509.Certificate, EllipticCurvePrivateKey] | None:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric.ec import EllipticCurvePrivateKey
    from cryptography.hazmat.primitives.serialization import load_pem_private_key

    if not certificate.exists() or not key.exists():
        return None
    try:
        read = x509.load_pem_x509_certificate(certificate.read_bytes())
        secret = load_pem_private_key(key.read_bytes(), None)
    except (OSError, ValueError, TypeError):
        read, secret = None, None
    if (
        read is None
        or not isinstance(secret, EllipticCurvePrivateKey)
        or read.public_key() != secret.public_key()
    ):
        raise InputError(
            "the shop's own certificate cannot be read",
            where=f"{FOLDER}/{certificate.name}",
            remedy=f"Take the folder {FOLDER} out of the shop's: a new one is made, and devices "
            "are told to trust it anew.",
        )
    return read, secret


def _write(
    folder: Path,
    certificate_name: str,
    key_name: str,
    certificate: x509.Certificate,
    key: EllipticCurvePrivateKey,
) -> None:
    from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat

    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        secret = key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
        (folder / certificate_name).unlink(missing_ok=True)  # never beside the key of another
        replace_secret(folder / key_name, secret)
        replace_secret(folder / certificate_name, certificate.public_bytes(Encoding.PEM))
    except OSError as error:
        raise StorageError(
            "the shop's own certificate cannot be kept",
            where=FOLDER,
            received=error.strerror,
            remedy="Give --certificate and --key, or --unencrypted.",
        ) from None


def replace_secret(path: Path, data: bytes) -> None:
    """Write a file that only its owner can read, whole or not at all."""
    fresh = path.with_suffix(path.suffix + ".new")
    fresh.unlink(missing_ok=True)
    descriptor = os.open(fresh, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(descriptor, "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    fresh.replace(path)
