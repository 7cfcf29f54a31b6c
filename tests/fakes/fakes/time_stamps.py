"""A time stamp authority on this machine, played by pyHanko's own for tests (RFC 3161)."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, HTTPServer
from threading import Thread

from asn1crypto import keys, tsp
from asn1crypto import x509 as asn1_x509
from cryptography import x509
from cryptography.hazmat.primitives.asymmetric import rsa
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID
from pyhanko.sign.timestamps import DummyTimeStamper

AT = datetime(2026, 11, 2, 9, 14, 0, tzinfo=UTC)


def _stamper() -> DummyTimeStamper:
    key = rsa.generate_private_key(public_exponent=65537, key_size=2048)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "A clock of the tests")])
    certificate = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(datetime(2026, 1, 1, tzinfo=UTC))
        .not_valid_after(datetime(2036, 1, 1, tzinfo=UTC))
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.TIME_STAMPING]), critical=True)
        .sign(key, SHA256())
    )
    secret = key.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return DummyTimeStamper(
        tsa_cert=asn1_x509.Certificate.load(certificate.public_bytes(Encoding.DER)),
        tsa_key=keys.PrivateKeyInfo.load(secret),
        fixed_dt=AT,
    )


@contextmanager
def time_stamp_authority(*, same: bool = True, status: int = 200) -> Iterator[str]:
    """Address of an authority that stamps with the time `AT`; not *same* answers other nonces."""
    stamper = _stamper()

    class Answering(BaseHTTPRequestHandler):
        def do_POST(self) -> None:
            asked = tsp.TimeStampReq.load(self.rfile.read(int(self.headers["content-length"])))
            if not same:
                asked["nonce"] = asked["nonce"].native + 1
            told = asyncio.run(stamper.async_request_tsa_response(asked))
            self.send_response(status)
            self.send_header("Content-Type", "application/timestamp-reply")
            self.end_headers()
            self.wfile.write(told.dump())

        def log_message(self, *_: object) -> None:
            pass

    server = HTTPServer(("127.0.0.1", 0), Answering)
    thread = Thread(target=server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}/"
    finally:
        server.shutdown()
        server.server_close()
        thread.join()
