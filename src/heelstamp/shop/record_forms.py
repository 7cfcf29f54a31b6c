"""Forms of records made ready before several threads share them.

msgspec fills the table of a struct's fields when the struct is first read. A second thread that
reads the same struct meanwhile meets an empty place, and the process ends without a word (seen with
msgspec 0.20 and two first requests at once). So every form is filled here, by one thread.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Iterator
from importlib import import_module
from threading import Lock

import msgspec

PACKAGES = ("heelstamp.catalogue", "heelstamp.casework", "heelstamp.reference")
_lock = Lock()
_filled: set[type[msgspec.Struct]] = set()


def fill_forms() -> int:
    """Fill the form of every record of the program; give how many were filled now."""
    with _lock:
        for name in PACKAGES:
            package = import_module(name)
            for found in pkgutil.walk_packages(package.__path__, f"{name}."):
                import_module(found.name)
        new = {one for one in _below(msgspec.Struct) if one.__module__.startswith("heelstamp.")}
        new -= _filled
        for one in sorted(new, key=lambda form: form.__qualname__):
            msgspec.json.Decoder(one)
        _filled.update(new)
        return len(new)


def _below(form: type[msgspec.Struct]) -> Iterator[type[msgspec.Struct]]:
    for one in form.__subclasses__():
        yield one
        yield from _below(one)
