"""The shop's own certificate: what a client accepts, what it cannot vouch for, its renewal."""

from __future__ import annotations

import socket
import ssl
import stat
import threading
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from heelstamp.errors import InputError
from heelstamp.shop.certificate import (
    AUTHORITY_LASTS,
    FOLDER,
    LASTS,
    OwnCertificate,
    own_certificate,
)

NOW = datetime.now(UTC).replace(microsecond=0)  # the client judges by its own clock
NAMES = ("127.0.0.1", "bench.test")


def shaken(own: OwnCertificate, called: str) -> str:
    """Shake hands as a client that trusts the authority alone; give the fault, or nothing."""
    served = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    served.load_cert_chain(own.certificate, own.key)
    asks = ssl.create_default_context(cadata=own.authority)
    asks.verify_flags |= ssl.VERIFY_X509_STRICT
    ours, theirs = socket.socketpair()

    def serve() -> None:
        try:
            served.wrap_socket(theirs, server_side=True).close()
        except (ssl.SSLError, OSError):
            theirs.close()

    other = threading.Thread(target=serve)
    other.start()
    try:
        asks.wrap_socket(ours, server_hostname=called).close()
    except ssl.SSLError as error:
        return str(error)
    finally:
        ours.close()
        other.join()
    return ""


def test_a_client_that_trusts_the_authority_accepts_the_bench_by_each_name(tmp_path: Path) -> None:
    own = own_certificate(tmp_path, NAMES, NOW)
    for name in NAMES:
        assert shaken(own, name) == ""
    assert "mismatch" in shaken(own, "another.test")


def test_the_keys_are_their_owners_alone(tmp_path: Path) -> None:
    own = own_certificate(tmp_path, NAMES, NOW)
    for one in (tmp_path / FOLDER).iterdir():
        assert stat.S_IMODE(one.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / FOLDER).stat().st_mode) == 0o700
    assert own.fresh


def test_it_is_kept_and_renewed_before_it_ends_without_being_trusted_anew(tmp_path: Path) -> None:
    first = own_certificate(tmp_path, NAMES, NOW)
    held = first.certificate.read_bytes()
    assert own_certificate(tmp_path, NAMES, NOW + timedelta(days=300)).until == first.until
    assert first.certificate.read_bytes() == held
    later = own_certificate(tmp_path, NAMES, NOW + LASTS - timedelta(days=20))
    assert later.until > first.until
    assert (later.fresh, later.fingerprint) == (False, first.fingerprint)
    renewed = own_certificate(tmp_path, NAMES, NOW + AUTHORITY_LASTS - timedelta(days=300))
    assert renewed.fresh
    assert renewed.fingerprint != first.fingerprint


def test_another_private_address_needs_no_new_trust_and_another_name_does(tmp_path: Path) -> None:
    first = own_certificate(tmp_path, NAMES, NOW)
    moved = own_certificate(tmp_path, ("192.168.7.9", "127.0.0.1"), NOW)
    assert (moved.fresh, moved.fingerprint) == (False, first.fingerprint)
    assert shaken(moved, "192.168.7.9") == ""
    named = own_certificate(tmp_path, ("other.test",), NOW)
    assert named.fresh
    assert shaken(named, "other.test") == ""


def test_the_authority_can_vouch_for_nothing_else(tmp_path: Path) -> None:
    from heelstamp.shop import certificate

    own_certificate(tmp_path, NAMES, NOW)
    folder = tmp_path / FOLDER
    kept = certificate._kept(folder / "authority.crt", folder / "authority.key")
    assert kept is not None
    forged = certificate._bench(("bank.test",), NOW, *kept)
    certificate._write(folder, "bench.crt", "bench.key", *forged)
    from cryptography.hazmat.primitives.serialization import Encoding

    own = OwnCertificate(
        folder / "bench.crt",
        folder / "bench.key",
        kept[0].public_bytes(Encoding.DER),
        "",
        False,
        NOW,
    )
    assert "permitted subtree violation" in shaken(own, "bank.test")


def test_a_spoilt_certificate_says_what_to_do(tmp_path: Path) -> None:
    own = own_certificate(tmp_path, NAMES, NOW)
    own.key.write_text("no key")
    with pytest.raises(InputError, match="certificate"):
        own_certificate(tmp_path, NAMES, NOW)
