"""Files kept by the SHA-256 of their content in an S3-compatible object store.

The same names as in a folder (`heelstamp.media.files`), below a bucket and a prefix. An object is
written by one request, with a checksum that the store holds it against: it is there whole or not at
all. What is kept is never written again. The store is reached through obstore; who may is told by
the machine's surroundings (``AWS_ACCESS_KEY_ID``, ``AWS_SECRET_ACCESS_KEY``, ``AWS_REGION``), never
by ``shop.toml``.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import timedelta
from typing import Any
from urllib.parse import urlsplit

from heelstamp.archive import is_digest, sha256
from heelstamp.casework.ports import FileFault
from heelstamp.errors import HeelstampError, InputError, IntegrityError, StorageError
from heelstamp.media.kept_content import held_to, kept_name, missing, missing_faults

SCHEME = "s3"
WAIT_S = 5.0
"""Seconds to wait for a connection."""
WHOLE_S = 120.0
"""Seconds that one request may take: a raw photograph of 60 MB at 0.5 MB/s."""
TRIES, TRYING_S = 2, 10.0
"""How often a request is repeated, and for how long at most."""
LENT_MOST = timedelta(minutes=5)
"""The longest that an address of an object may hold."""
_FULL = ("InsufficientStorage", "QuotaExceeded", "StorageFull", "507 ")
_NO_BUCKET = "NoSuchBucket"


def check_address(address: str, endpoint: str) -> tuple[str, str]:
    """Bucket and prefix of an address; *endpoint* may be empty.

    Raises
    ------
    InputError
        Not an address of a bucket, or an endpoint that is none.
    """
    parts, server = urlsplit(address), urlsplit(endpoint)
    if parts.scheme != SCHEME or not parts.netloc or "@" in parts.netloc or parts.query:
        raise InputError(
            "not the address of an object store",
            where="files",
            received=address.rpartition("@")[2],
            remedy="Write it as s3://bucket/prefix; keys are told by the machine, not here.",
        )
    if endpoint and (
        server.scheme not in ("http", "https") or not server.netloc or server.username
    ):
        raise InputError(
            "not the address of a server",
            where="files_endpoint",
            received=endpoint.rpartition("@")[2],
            remedy="Write it as https://objects.example.",
        )
    return parts.netloc, parts.path.strip("/")


class StoredFiles:
    """Files of a shop in a bucket.

    Parameters
    ----------
    address, endpoint
        ``s3://bucket/prefix``; and the server, where the machine does not tell it.

    Raises
    ------
    InputError
        An address that cannot be used, or obstore is not installed.
    """

    def __init__(self, address: str, endpoint: str = "") -> None:
        bucket, prefix = check_address(address, endpoint)
        try:
            from obstore.store import S3Store  # noqa: PLC0415 - an extra
        except ImportError as error:
            raise InputError(
                "a shop whose files are in an object store needs the package obstore, which is not "
                "installed",
                received=error,
                remedy="Say make setup-server, or pip install 'heelstamp[server]'.",
            ) from None
        told: dict[str, Any] = {"endpoint": endpoint} if endpoint else {}
        self._place = address
        self._store: Any = S3Store(
            bucket,
            prefix=prefix or None,
            checksum_algorithm="SHA256",
            client_options={
                "connect_timeout": timedelta(seconds=WAIT_S),
                "timeout": timedelta(seconds=WHOLE_S),
                "allow_http": endpoint.startswith("http://"),
            },
            retry_config={"max_retries": TRIES, "retry_timeout": timedelta(seconds=TRYING_S)},
            **told,
        )

    def put(self, data: bytes) -> str:
        """Keep *data* and give its digest; what is already kept whole is not written again.

        Raises
        ------
        StorageError
            The store is away, full, or refuses; nothing is left behind.
        """
        import obstore  # noqa: PLC0415

        digest = sha256(data)
        name = kept_name(digest)
        with self._refusals(digest):
            try:
                if obstore.head(self._store, name)["size"] == len(data):
                    return digest
            except FileNotFoundError as error:
                self._refuse_no_bucket(error, digest)
            obstore.put(self._store, name, data, use_multipart=False)
        return digest

    def get(self, digest: str) -> bytes:
        """The file, verified.

        Raises
        ------
        IntegrityError
            It is missing, or no longer has this digest.
        StorageError
            The store is away, or refuses.
        """
        import obstore  # noqa: PLC0415

        name = kept_name(digest)
        with self._refusals(digest):
            try:
                data = bytes(obstore.get(self._store, name).bytes())
            except FileNotFoundError as error:
                self._refuse_no_bucket(error, digest)
                raise missing(digest) from None
        return held_to(data, digest)

    def has(self, digest: str) -> bool:
        """Whether a file of this digest is kept; its content is not read."""
        import obstore  # noqa: PLC0415

        with self._refusals(digest):
            try:
                obstore.head(self._store, kept_name(digest))
            except FileNotFoundError as error:
                self._refuse_no_bucket(error, digest)
                return False
        return True

    def lent(self, digest: str, seconds: float) -> str:
        """An address by which whoever has it reads the file for some seconds, without a key.

        Raises
        ------
        InputError
            Not a SHA-256.
        """
        import obstore  # noqa: PLC0415

        holds = min(timedelta(seconds=seconds), LENT_MOST)
        with self._refusals(digest):
            return str(obstore.sign(self._store, "GET", kept_name(digest), holds))

    def verify_all(self, expected: Mapping[str, int]) -> tuple[FileFault, ...]:
        """Read every file, and report all faults; see `ContentFiles.verify_all`."""
        import obstore  # noqa: PLC0415

        faults: list[FileFault] = []
        kept: set[str] = set()
        with self._refusals(""):
            names = [str(one["path"]) for some in obstore.list(self._store) for one in some]
        for name in sorted(names):
            digest = name.replace("/", "")
            if not is_digest(digest):
                faults.append(FileFault(name, "left over", "not a kept file"))
                continue
            kept.add(digest)
            try:
                self.get(digest)
            except IntegrityError as error:
                faults.append(FileFault(digest, "changed", str(error)))
        return (*faults, *missing_faults(expected, kept))

    def _refuse_no_bucket(self, error: Exception, digest: str) -> None:
        if _NO_BUCKET in str(error):
            raise self._away(error, digest) from None

    def _away(self, error: Exception, digest: str) -> StorageError:
        said = str(error).partition("\n")[0][:300]
        if type(error).__name__ in {"PermissionDeniedError", "UnauthenticatedError"}:
            what, remedy = "the object store refused", "Check the keys and rights of this machine."
        elif any(one in str(error) for one in _FULL):
            what = "the object store is full"
            remedy = "Free some space there, then repeat; nothing was kept."
        elif _NO_BUCKET in str(error):
            what, remedy = "the object store has no such bucket", "Make it, or check its name."
        else:
            what = "no connection to the object store"
            remedy = "Check that it runs, and its address; nothing was kept. Then repeat."
        where = self._place + (f", file {digest[:12]}…" if digest else "")
        return StorageError(what, where=where, received=said, remedy=remedy)

    @contextmanager
    def _refusals(self, digest: str) -> Iterator[None]:
        """Turn what the store raises inside into one clear error."""
        from obstore.exceptions import BaseError  # noqa: PLC0415

        try:
            yield
        except HeelstampError:
            raise
        except (BaseError, OSError) as error:
            raise self._away(error, digest) from error
