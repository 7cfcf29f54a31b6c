"""The keys of other shops, entered by hand and called something; the folder they stand in.

``federation/shops.json`` in the shop's folder. A key is known from elsewhere than the files that it
signs: whoever alters a file can sign it anew with a key of their own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import TYPE_CHECKING

from heelstamp.errors import ConflictError, InputError, NotFoundError
from heelstamp.shop.files import make_folder, read_file
from heelstamp.shop.noted_documents import write_document

if TYPE_CHECKING:
    from heelstamp.shop.opened import OpenShop

FOLDER, SHOPS = "federation", "shops.json"
NAME_MAX = 60
_KEY = re.compile(r"[0-9a-f]{64}")


def key_named(text: str) -> str:
    """A fingerprint as a person gives it: 64 hexadecimal digits, spaces and colons between.

    Raises
    ------
    InputError
        It is none.
    """
    key = re.sub(r"[\s:]", "", text).lower()
    if not _KEY.fullmatch(key):
        raise InputError(
            "no fingerprint of a key",
            received=text,
            remedy="64 hexadecimal digits; the other shop tells them with: heelstamp key show.",
        )
    return key


def known_shops(shop: OpenShop) -> Mapping[str, str]:
    """What other shops are called here, by the fingerprint of their key."""
    from heelstamp.archive import read_json

    path = shop.folder / FOLDER / SHOPS
    if not path.is_file():
        return {}
    found: dict[str, str] = read_json(read_file(path), where=SHOPS)
    return found


def know(shop: OpenShop, key: str, name: str) -> str:
    """Enter the key of another shop, known by another way than its files; give the key.

    Raises
    ------
    InputError
        It is no key, or the name is empty or too long.
    ConflictError
        It is this shop's own, or the name is another key's.
    """
    from heelstamp.shop.shop_key import known_keys

    key, called = key_named(key), " ".join(name.split())
    if not called or len(called) > NAME_MAX or not called.isprintable():
        raise InputError(
            "a shop is called something", received=name, remedy=f"1 to {NAME_MAX} characters."
        )
    if key in known_keys(shop.folder):
        raise ConflictError("this is a key of this shop", received=key[:16])
    with shop.writing:
        shops = dict(known_shops(shop))
        if any(other == called and one != key for one, other in shops.items()):
            raise ConflictError("another key is called that", received=called)
        _write_shops(shop, shops | {key: called})
    return key


def forget(shop: OpenShop, key: str) -> str:
    """No longer know a shop, by its key, the beginning of it or its name; give its name.

    Its tables stay where they are and are joined no more.

    Raises
    ------
    NotFoundError
        No one shop is meant.
    """
    with shop.writing:
        shops = dict(known_shops(shop))
        name = shops.pop(named_shop(shops, key))
        _write_shops(shop, shops)
    return name


def named_shop(shops: Mapping[str, str], word: str) -> str:
    """The key of a shop that is named by its key, the beginning of it or what it is called.

    Raises
    ------
    NotFoundError
        No one shop is meant.
    """
    plain = word.strip()
    meant = [key for key, name in shops.items() if name == plain or key == plain.lower()]
    if not meant and len(plain) >= 8:
        meant = [key for key in shops if key.startswith(plain.lower())]
    if len(meant) != 1:
        raise NotFoundError(
            "no shop that is known here",
            received=word,
            remedy=f"One of {', '.join(sorted(shops.values())) or 'none'}, or 8 digits of its key.",
        )
    return meant[0]


def _write_shops(shop: OpenShop, shops: Mapping[str, str]) -> None:
    from heelstamp.archive import canonical_json

    keep(shop, SHOPS, canonical_json(dict(shops)) + b"\n")


def key_that_is_known(shop: OpenShop, key: str, name: str) -> str:
    """What the shop that signed a file is called here.

    Raises
    ------
    InputError
        It is nobody's who is known here.
    ConflictError
        It is this shop's own.
    """
    from heelstamp.shop.shop_key import known_keys

    if key in known_keys(shop.folder):
        raise ConflictError("this shop's own tables", where=name, remedy="It knows them.")
    called = known_shops(shop).get(key)
    if called is None:
        raise InputError(
            "signed by nobody who is known here",
            where=name,
            received=f"key {key}",
            remedy="If the shop tells you these digits by another way, say: heelstamp federation "
            "know KEY --name NAME.",
        )
    return called


def keep(shop: OpenShop, name: str, data: bytes) -> None:
    """Write one of the folder's documents whole, and note it."""
    make_folder((shop.folder / FOLDER / name).parent)
    write_document(shop, shop.folder, f"{FOLDER}/{name}", data)
