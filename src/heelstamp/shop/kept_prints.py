"""Printed copies of photographs, kept in the shop's cache folder so that no paper makes them anew.

What is kept is named by all that it rests on: the photograph's digest, its size, its boxes, and the
versions of this program and of the picture library. Each file begins with the SHA-256 of the rest
and counts for nothing where it does not fit. The folder may be deleted at any time; it keeps its
bound by letting go of what was asked for longest ago. Nothing here is part of the record, and no
backup has it.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path
from uuid import uuid4

import PIL

from heelstamp import __version__
from heelstamp.archive import canonical_json

FOLDER = ".cache"
MOST_BYTES = 400_000_000
"""Of all files together: the copies of some thousand photographs."""
_DIGEST = 32
_LEFT = 0.8
"""Share of the bound that is left when it was passed."""


class KeptPrints:
    """Copies in a folder; a folder that cannot be written keeps none.

    Parameters
    ----------
    most
        Bound of all files together, in bytes.
    """

    def __init__(self, folder: Path, most: int = MOST_BYTES) -> None:
        self.folder, self.most = folder, most

    def get(self, key: tuple[object, ...], make: Callable[[], bytes]) -> bytes:
        """Return the copy that *key* names, which is all that it rests on, or make it now."""
        told = canonical_json([__version__, PIL.__version__, *map(str, key)])
        path = self.folder / f"{hashlib.sha256(told).hexdigest()}.print"
        found = self._read(path)
        if found is not None:
            return found
        made = make()
        with suppress(OSError):
            self._keep(path, made)
        return made

    def _read(self, path: Path) -> bytes | None:
        try:
            whole = path.read_bytes()
        except OSError:
            return None
        digest, data = whole[:_DIGEST], whole[_DIGEST:]
        if hashlib.sha256(data).digest() != digest:
            return None
        with suppress(OSError):
            os.utime(path)  # asked for just now
        return data

    def _keep(self, path: Path, data: bytes) -> None:
        self.folder.mkdir(mode=0o700, exist_ok=True)
        partial = path.with_name(f".{uuid4().hex}.partial")
        try:
            partial.write_bytes(hashlib.sha256(data).digest() + data)
            partial.replace(path)
        finally:
            partial.unlink(missing_ok=True)
        self._bound()

    def _bound(self) -> None:
        files = [(one, one.stat()) for one in self.folder.glob("*.print")]
        size = sum(about.st_size for _, about in files)
        if size <= self.most:
            return
        for one, about in sorted(files, key=lambda file: file[1].st_mtime_ns):
            one.unlink(missing_ok=True)
            size -= about.st_size
            if size <= _LEFT * self.most:
                return
