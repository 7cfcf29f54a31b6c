"""What is to be done, and what came of it, as bytes that only this shop's machines can have made.

Work that another machine takes over is kept in the database as Python's own pickles, which would
run whatever somebody wrote there. So each is sealed: an HMAC (RFC 2104) with a key that follows
from the shop's own, which lies in its folder and never in the database. What was sealed by another
version of the program is not opened: it can be begun again. The shop itself is not part of what is
sealed; whoever opens it puts in their own.
"""

from __future__ import annotations

import hashlib
import hmac
import io
import pickle
from pathlib import Path
from typing import Any

from heelstamp import __version__
from heelstamp.errors import IntegrityError
from heelstamp.shop.shop_key import FOLDER, SECRET

_SHOP = "the shop"
_SIZE = hashlib.sha256().digest_size


class Seal:
    """Seals and opens values for one open shop.

    Parameters
    ----------
    folder
        The shop's folder.
    shop
        What stands in the place of the shop where a value is opened.
    """

    def __init__(self, folder: Path, shop: object) -> None:
        secret = (folder / FOLDER / SECRET).read_bytes()
        self._key = hashlib.sha256(b"heelstamp work\n" + secret).digest()
        self._shop = shop

    def sealed(self, value: object) -> bytes:
        """A value as bytes."""
        written = io.BytesIO()
        _Pickler(written, self._shop).dump(value)
        data = written.getvalue()
        return self._mac(data) + data

    def opened(self, sealed: bytes) -> Any:
        """The value of sealed bytes.

        Raises
        ------
        IntegrityError
            They were not sealed by this shop, or by another version of the program.
        """
        mac, data = sealed[:_SIZE], sealed[_SIZE:]
        if not hmac.compare_digest(mac, self._mac(data)):
            raise IntegrityError(
                "this work was not begun by this shop and this version of the program",
                remedy="Begin it anew; let all machines run one version.",
            )
        return _Unpickler(io.BytesIO(data), self._shop).load()

    def _mac(self, data: bytes) -> bytes:
        return hmac.new(self._key, __version__.encode() + b"\n" + data, hashlib.sha256).digest()


class _Pickler(pickle.Pickler):
    """Leaves the shop out."""

    def __init__(self, file: io.BytesIO, shop: object) -> None:
        super().__init__(file)
        self._shop = shop

    def persistent_id(self, obj: object) -> str | None:
        """A name in the place of the shop."""
        return _SHOP if obj is self._shop else None


class _Unpickler(pickle.Unpickler):
    """Puts a shop in."""

    def __init__(self, file: io.BytesIO, shop: object) -> None:
        super().__init__(file)
        self._shop = shop

    def persistent_load(self, pid: object) -> object:
        """The shop in the place of its name."""
        if pid != _SHOP:
            raise pickle.UnpicklingError("nothing of this name")
        return self._shop
