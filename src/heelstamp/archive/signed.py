"""A signature over the whole of a PDF, made and read: PAdES baseline B-B, ETSI EN 319 142-1, 5.

The signature is a CMS SignedData (RFC 5652) without content, with the signed attributes
``content-type``, ``message-digest`` and ``signing-certificate-v2`` (RFC 5035) and no signing time:
the day stands in the signature's dictionary. ECDSA on P-256 with SHA-256, deterministic (RFC 6979),
so that equal bytes get equal signatures. A time stamp token (RFC 3161) over the signature's value
may stand in the unsigned attributes (B-T).

Reading is stricter than the standard: the one byte range must cover the whole file but for the
hexadecimal text of the signature, which must be written as this program writes it, to the last
digit. So a byte changed anywhere is found from the file alone, also where no digest covers it. What
is beyond the signature's own bytes (the certificates within a time stamp token) is covered only by
the digest of the whole file that the shop keeps.

A page (HTML) carries the same signature in Base64 within a comment that is its last line; it covers
every byte before that line.

Whose key it is, cannot be learned from the file: the *fingerprint*, the SHA-256 of the public key
(SubjectPublicKeyInfo, RFC 5280, 4.1.2.7), must be known from elsewhere.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

Sign = Callable[[bytes], bytes]
"""Signs bytes with ECDSA on P-256 and SHA-256; gives the DER of the two numbers."""
Stamp = Callable[[bytes], bytes]
"""Gets a time stamp token over a signature's value."""

UNSIGNED, SHORT, FORM, CHANGED, KEY, STAMP = (
    "unsigned",
    "range",
    "form",
    "changed",
    "certificate",
    "stamp",
)
_RANGE = re.compile(rb"/ByteRange\s*\[\s*(\d{1,12})\s+(\d{1,12})\s+(\d{1,12})\s+(\d{1,12})\s*\]")
_PAGE = b"<!doctype html>"
_SIGNED_PAGE = re.compile(rb"<!-- heelstamp signature ([A-Za-z0-9+/]+={0,2}) -->\n\Z")
_HEX = re.compile(rb"<[0-9a-f]*>")
_HASHES = {"sha256": hashlib.sha256, "sha384": hashlib.sha384, "sha512": hashlib.sha512}
_UNREADABLE = (ValueError, TypeError, KeyError, AttributeError, IndexError, OverflowError)
"""What the reader of ASN.1 raises on bytes that are none."""
_STAMP_TOKEN = "1.2.840.113549.1.9.16.2.14"  # noqa: S105 - id-aa-timeStampToken, RFC 3161, A


class SignatureFault(Exception):  # noqa: N818 - a finding, told as a verdict
    """A file carries no signature, or none that holds: a code, and a sentence without full stop."""

    def __init__(self, code: str, message: str) -> None:
        super().__init__(code, message)
        self.code, self.message = code, message


@dataclass(frozen=True, slots=True)
class Signature:
    """A signature that holds over all bytes of a file.

    Attributes
    ----------
    fingerprint
        SHA-256 of the public key, 64 hexadecimal digits.
    name
        What the key's own certificate calls its holder; anyone can write anything there.
    stamped
        UTC time by a time stamp authority, as ``2026-11-02T09:14:00Z``; empty without one.
    authority
        What the authority's certificate calls it, and the SHA-256 of that certificate.
    """

    fingerprint: str
    name: str
    stamped: str = ""
    authority: str = ""


def signed_page(page: bytes, sign: Callable[[bytes], bytes]) -> bytes:
    """Add a signature to a page that ends with a newline; *sign* makes the DER of it.

    Raises
    ------
    SignatureFault
        ``form``: it is no page that this program writes.
    """
    if not is_page(page) or not page.endswith(b"\n"):
        raise SignatureFault(FORM, "this is no page that can be signed")
    return page + b"<!-- heelstamp signature " + base64.b64encode(sign(page)) + b" -->\n"


def is_page(data: bytes) -> bool:
    """Whether a file begins as the pages that this program writes."""
    return data.startswith(_PAGE)


def fingerprint_of(certificate: bytes) -> str:
    """SHA-256 of the public key in a certificate (DER)."""
    from asn1crypto import x509  # noqa: PLC0415 - wanted only where something is signed

    return hashlib.sha256(x509.Certificate.load(certificate).public_key.dump()).hexdigest()


def signed_data(
    content: bytes, certificate: bytes, sign: Sign, stamp: Stamp | None = None
) -> bytes:
    """Sign *content*: the DER of a CMS SignedData that does not hold it.

    Parameters
    ----------
    certificate
        Of the key that signs, DER.
    stamp
        Asked for a time stamp token once the signature is made.
    """
    attributes = _attributes(hashlib.sha256(content).digest(), certificate)
    value = sign(attributes.dump())
    return _container(certificate, attributes, value, stamp(value) if stamp is not None else b"")


def read_signature(pdf: bytes) -> Signature:
    """Read the signature of a file and check that it holds over all of its bytes.

    Raises
    ------
    SignatureFault
        ``unsigned``: there is none. ``range``: it does not cover the whole file. ``form``: it is
        not as this program writes it. ``changed``: the bytes are not those that were signed.
        ``certificate``: the key's certificate does not hold. ``stamp``: the time stamp does not.
    """
    content, container = _parts(pdf)
    return _checked(content, container)


def read_detached(content: bytes, container: bytes) -> Signature:
    """Check a signature that lies beside its content; faults as `read_signature`."""
    return _checked(content, container)


def _cms() -> Any:
    """The reader of CMS, which another module teaches the attributes of signatures first."""
    from asn1crypto import cms, tsp  # noqa: F401, PLC0415

    return cms


def _parts(pdf: bytes) -> tuple[bytes, bytes]:
    """The bytes that are covered, and the signature's own."""
    if is_page(pdf):
        return _page_parts(pdf)
    found = [tuple(map(int, one.groups())) for one in _RANGE.finditer(pdf)]
    if not found:
        raise SignatureFault(UNSIGNED, "it carries no signature")
    whole = [one for one in found if one[0] == 0 and one[2] + one[3] == len(pdf)]
    if len(whole) != 1 or len(found) != 1:
        raise SignatureFault(
            SHORT, "the signature does not cover the whole file: bytes were added or taken away"
        )
    ((_, before, after, rest),) = whole
    gap = pdf[before:after]
    if not before < after or not _HEX.fullmatch(gap) or len(gap) % 2:
        raise SignatureFault(FORM, "the place of the signature holds something else")
    container = bytes.fromhex(gap[1:-1].decode())
    size = _der_length(container)
    if any(container[size:]):
        raise SignatureFault(FORM, "something stands behind the signature")
    return pdf[:before] + pdf[after : after + rest], container[:size]


def _page_parts(page: bytes) -> tuple[bytes, bytes]:
    found = _SIGNED_PAGE.search(page)
    if found is None:
        if b"<!-- heelstamp signature " in page:
            raise SignatureFault(SHORT, "the signature is not its last line: bytes were added")
        raise SignatureFault(UNSIGNED, "it carries no signature")
    try:
        container = base64.b64decode(found[1], validate=True)
    except binascii.Error:
        raise SignatureFault(FORM, "the place of the signature holds something else") from None
    if base64.b64encode(container) != found[1]:
        raise SignatureFault(FORM, "the signature is not written as this program writes it")
    return page[: found.start()], container


def _der_length(data: bytes) -> int:
    """Bytes of the first DER value: its head and what it holds."""
    if len(data) < 2 or data[0] != 0x30:
        raise SignatureFault(FORM, "the place of the signature holds no signature")
    if data[1] < 0x80:
        return 2 + data[1]
    count = data[1] & 0x7F
    return 2 + count + int.from_bytes(data[2 : 2 + count], "big")


def _checked(content: bytes, container: bytes) -> Signature:
    cms = _cms()
    digest = hashlib.sha256(content).digest()
    try:
        signed = cms.ContentInfo.load(container, strict=True)["content"]
        (signer,) = signed["signer_infos"]
        (certificate,) = (one.chosen.dump() for one in signed["certificates"])
        value = signer["signature"].native
        told = {one["type"].native: one["values"][0].native for one in signer["signed_attrs"]}
        token = _token(signer)
        name, fingerprint = _named(certificate), fingerprint_of(certificate)
        attributes = _attributes(digest, certificate)
        written = _container(certificate, attributes, value, token)
    except _UNREADABLE:
        raise SignatureFault(FORM, "the signature cannot be read") from None
    if told.get("message_digest") != digest:
        raise SignatureFault(CHANGED, "its bytes are not those that were signed")
    if written != container:
        raise SignatureFault(
            FORM, "the signature is not written as this program writes it: changed, or of another"
        )
    _require_signed(certificate, attributes.dump(), value)
    stamped, authority = _stamp_over(value, token) if token else ("", "")
    return Signature(fingerprint, name, stamped, authority)


def _attributes(digest: bytes, certificate: bytes) -> Any:
    cms = _cms()
    essential = {"certs": [{"cert_hash": hashlib.sha256(certificate).digest()}]}
    return cms.CMSAttributes(
        [
            {"type": "content_type", "values": ["data"]},
            {"type": "message_digest", "values": [digest]},
            {"type": "signing_certificate_v2", "values": [essential]},
        ]
    )


def _container(certificate: bytes, attributes: Any, value: bytes, token: bytes) -> bytes:
    from asn1crypto import x509  # noqa: PLC0415

    cms = _cms()
    held = x509.Certificate.load(certificate)
    signer: dict[str, Any] = {
        "version": "v1",
        "sid": {
            "issuer_and_serial_number": {"issuer": held.issuer, "serial_number": held.serial_number}
        },
        "digest_algorithm": {"algorithm": "sha256"},
        "signed_attrs": attributes,
        "signature_algorithm": {"algorithm": "sha256_ecdsa"},
        "signature": value,
    }
    signer["sid"] = cms.SignerIdentifier(signer["sid"])
    if token:
        stamp = {"type": "signature_time_stamp_token", "values": [cms.ContentInfo.load(token)]}
        signer["unsigned_attrs"] = [stamp]
    content = {
        "version": "v1",
        "digest_algorithms": [{"algorithm": "sha256"}],
        "encap_content_info": {"content_type": "data"},
        "certificates": [held],
        "signer_infos": [signer],
    }
    whole = {"content_type": "signed_data", "content": cms.SignedData(content)}
    return bytes(cms.ContentInfo(whole).dump())


def _token(signer: Any) -> bytes:
    for one in signer["unsigned_attrs"] or ():
        if one["type"].dotted == _STAMP_TOKEN:
            return bytes(one["values"][0].dump())
    return b""


def _named(certificate: bytes) -> str:
    from asn1crypto import x509  # noqa: PLC0415

    told = x509.Certificate.load(certificate).subject.native
    return str(told.get("common_name") or told.get("organization_name") or "without a name")


def _require_signed(certificate: bytes, attributes: bytes, value: bytes) -> None:
    """The certificate holds under its own key, and that key signed the attributes."""
    from cryptography import x509  # noqa: PLC0415
    from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm  # noqa: PLC0415
    from cryptography.hazmat.primitives.asymmetric import ec  # noqa: PLC0415
    from cryptography.hazmat.primitives.hashes import SHA256  # noqa: PLC0415

    try:
        held = x509.load_der_x509_certificate(certificate)
        held.verify_directly_issued_by(held)
        key = held.public_key()
    except (ValueError, TypeError, InvalidSignature, UnsupportedAlgorithm):
        raise SignatureFault(KEY, "the certificate of the key was changed") from None
    if not isinstance(key, ec.EllipticCurvePublicKey) or key.curve.name != "secp256r1":
        raise SignatureFault(KEY, "the key is of another kind than a shop's")
    try:
        key.verify(value, attributes, ec.ECDSA(SHA256()))
    except InvalidSignature:
        raise SignatureFault(CHANGED, "the key did not sign this") from None


def stamp_request(value: bytes, nonce: int) -> bytes:
    """Ask for a time stamp over a signature's value: TimeStampReq, RFC 3161, 2.4.1."""
    from asn1crypto import tsp  # noqa: PLC0415

    imprint = {
        "hash_algorithm": {"algorithm": "sha256"},
        "hashed_message": hashlib.sha256(value).digest(),
    }
    asked = {"version": 1, "message_imprint": imprint, "nonce": nonce, "cert_req": True}
    return bytes(tsp.TimeStampReq(asked).dump())


def stamp_token(answer: bytes, value: bytes, nonce: int) -> bytes:
    """The token of an authority's answer, checked: TimeStampResp, RFC 3161, 2.4.2.

    Raises
    ------
    SignatureFault
        It was refused, is not over this value, not for this nonce, or does not hold.
    """
    from asn1crypto import tsp  # noqa: PLC0415

    try:
        told = tsp.TimeStampResp.load(answer, strict=True)
        status = told["status"]["status"].native
        if status not in ("granted", "granted_with_mods"):
            raise SignatureFault(STAMP, f"the time stamp authority answered {status}")
        token = bytes(told["time_stamp_token"].dump())
        info = told["time_stamp_token"]["content"]["encap_content_info"]["content"].parsed
        if info["nonce"].native != nonce:
            raise SignatureFault(STAMP, "the time stamp answers another question")
    except _UNREADABLE:
        raise SignatureFault(STAMP, "the time stamp authority's answer cannot be read") from None
    _stamp_over(value, token)
    return token


def _stamp_over(value: bytes, token: bytes) -> tuple[str, str]:
    """UTC time and authority of a token over *value*; whether it is to be trusted is not asked."""
    cms = _cms()
    try:
        signed = cms.ContentInfo.load(token, strict=True)["content"]
        encapsulated = signed["encap_content_info"]["content"]
        info, inner = encapsulated.parsed, encapsulated.contents
        (signer,) = signed["signer_infos"]
        attributes = signer["signed_attrs"]
        told = {one["type"].native: one["values"][0].native for one in attributes}
        hashed = _HASHES[signer["digest_algorithm"]["algorithm"].native]
        imprint = info["message_imprint"]
        over = _HASHES[imprint["hash_algorithm"]["algorithm"].native]
        holds = (
            imprint["hashed_message"].native == over(value).digest()
            and told["message_digest"] == hashed(inner).digest()
        )
        wanted = signer["sid"].chosen["serial_number"].native
        (held,) = (
            one.chosen for one in signed["certificates"] if one.chosen.serial_number == wanted
        )
        when = info["gen_time"].native
        name = str(held.subject.native.get("common_name", "without a name"))
    except _UNREADABLE:
        raise SignatureFault(STAMP, "the time stamp cannot be read") from None
    if not holds or not _by_authority(held.dump(), attributes.untag().dump(), signer):
        raise SignatureFault(STAMP, "the time stamp is not one over this signature")
    print_of = hashlib.sha256(held.dump()).hexdigest()
    return when.strftime("%Y-%m-%dT%H:%M:%SZ"), f"{name}, certificate {print_of}"


def _by_authority(certificate: bytes, attributes: bytes, signer: Any) -> bool:
    from cryptography import x509  # noqa: PLC0415
    from cryptography.exceptions import InvalidSignature  # noqa: PLC0415
    from cryptography.hazmat.primitives import hashes  # noqa: PLC0415
    from cryptography.hazmat.primitives.asymmetric import ec, padding, rsa  # noqa: PLC0415

    value = signer["signature"].native
    name = signer["digest_algorithm"]["algorithm"].native
    known = (hashes.SHA256(), hashes.SHA384(), hashes.SHA512())
    hashed = next((one for one in known if one.name == name), None)
    try:
        key = x509.load_der_x509_certificate(certificate).public_key()
        if hashed is None:
            return False
        if isinstance(key, rsa.RSAPublicKey):
            key.verify(value, attributes, padding.PKCS1v15(), hashed)
        elif isinstance(key, ec.EllipticCurvePublicKey):
            key.verify(value, attributes, ec.ECDSA(hashed))
        else:
            return False
    except (InvalidSignature, ValueError):
        return False
    return True
