"""Sums under masks with other shops, by file: entered, masked, added.

In the folder ``federation/sums/ID/NAME``: ``own.json``, this shop's tables in whole steps, which
stay here; ``entries``, what each shop entered, as it was signed; ``masked.json``, this shop's part;
``total.json``, the sum less this shop's part. The key for one sum lies beside the shop's own, is in
no export, and is deleted when the tables are masked.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from heelstamp.errors import ConflictError, InputError
from heelstamp.shop.federation import GIVEN, census_rows, given_before, ground_of
from heelstamp.shop.files import read_file
from heelstamp.shop.folder import now
from heelstamp.shop.known_shops import FOLDER, keep, key_that_is_known, known_shops

if TYPE_CHECKING:
    from pathlib import Path

    from heelstamp.casework.federation.joined import Contribution
    from heelstamp.casework.federation.masked import Roster
    from heelstamp.shop.opened import OpenShop

SUMS, OWN, ENTRIES, MASKED, TOTAL = "sums", "own.json", "entries", "masked.json", "total.json"
_NAME = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")


@dataclass(frozen=True)
class Summed:
    """What came of a sum: shops, and change-overs that enough of them spoke of."""

    shops: int
    features: tuple[str, ...]


def enter_sum(shop: OpenShop, id_: str, name: str) -> bytes:
    """Take part in a sum: give the signed entry that goes to every other shop of it.

    Said again, it gives the same entry.

    Raises
    ------
    InputError
        The name is none.
    ConflictError
        Too few instruments that were in no sum before.
    """
    import msgspec

    from heelstamp.casework.federation.masked import ENTRY_SCHEMA, SumEntry, enter
    from heelstamp.casework.federation.summary import sealed, written_steps
    from heelstamp.shop.signing import key_of

    if not _NAME.fullmatch(name):
        raise InputError(
            "not a name of a sum",
            received=name,
            remedy="Small letters, figures and hyphens, at most 40; all its shops say the same.",
        )
    key, folder = key_of(shop), _folder(id_, name)
    own = shop.folder / FOLDER / folder / ENTRIES / f"{key.fingerprint[:16]}.json"
    with shop.writing:
        if own.is_file():
            return read_file(own)
        ground = ground_of(shop, id_)
        entered = enter(ground, census_rows(shop, id_), given_before(shop, id_))
        entry = SumEntry(
            schema=ENTRY_SCHEMA,
            chronology=id_,
            ground=ground.digest,
            sum=name,
            day=now()[:10],
            public=_made_key(shop, id_, name),
            features=list(entered.features),
        )
        data = sealed(msgspec.to_builtins(entry), key.certificate, key.sign)
        stem = f"{GIVEN}/{id_}-masked-{name}"
        keep(shop, f"{stem}-instruments.json", msgspec.json.encode(entered.given) + b"\n")
        steps = {id_: written_steps(one) for id_, one in entered.features.items()}
        keep(shop, f"{folder}/{OWN}", msgspec.json.encode(steps) + b"\n")
        keep(shop, f"{folder}/{ENTRIES}/{own.name}", data)
    return data


def mask_sum(
    shop: OpenShop, id_: str, name: str, entries: Mapping[str, bytes], *, shops: int
) -> bytes:
    """Mask this shop's tables against the entries of all others: the signed part of the sum.

    Masked once, it stays: said again, it gives the same part.

    Parameters
    ----------
    entries
        Of all other shops, by name of the file.
    shops
        How many the sum has, this one with them, as they agreed: what is masked against too few
        entries cannot be masked again.

    Raises
    ------
    InputError
        Other than so many entries are here, or one is of nobody known, of another sum, maker or
        edition, or cannot be read.
    ConflictError
        This shop did not enter, or too few did.
    """
    import msgspec

    from heelstamp.casework.federation.masked import mask_tables, read_entry
    from heelstamp.casework.federation.summary import sealed, unsealed
    from heelstamp.shop.signing import key_of

    key, folder = key_of(shop), _folder(id_, name)
    masked = shop.folder / FOLDER / folder / MASKED
    if masked.is_file():
        return read_file(masked)
    ground = ground_of(shop, id_)
    with shop.writing:
        _require_entered(shop, folder, key.fingerprint, name)
        fresh: dict[str, bytes] = {}
        for where, data in entries.items():
            content, signer = unsealed(data, where)
            if signer != key.fingerprint:
                key_that_is_known(shop, signer, where)
            read_entry(content, ground, name, where)
            fresh[signer] = data
        fresh.pop(key.fingerprint, None)
        if len(fresh) + 1 != shops:
            raise InputError(
                f"{len(fresh)} of {shops - 1} entries of other shops are here",
                where=name,
                remedy="All mask against the same entries, once: wait until every one is here.",
            )
        roster = _roster(
            {
                key.fingerprint: read_file(
                    shop.folder / FOLDER / folder / ENTRIES / f"{key.fingerprint[:16]}.json"
                ),
                **fresh,
            }
        )
        part = mask_tables(
            _own_steps(shop, folder),
            roster,
            key.fingerprint,
            _agreeing(shop, id_, name),
            ground=ground,
            name=name,
        )
        data = sealed(msgspec.to_builtins(part), key.certificate, key.sign)
        for signer, one in fresh.items():
            keep(shop, f"{folder}/{ENTRIES}/{signer[:16]}.json", one)
        keep(shop, f"{folder}/{MASKED}", data)
        _secret(shop, id_, name).unlink(missing_ok=True)
    return data


def add_sum(shop: OpenShop, id_: str, name: str, parts: Mapping[str, bytes]) -> Summed:
    """Add the parts of all shops, and keep the sum less this shop's own.

    Raises
    ------
    InputError
        A part is of nobody in the sum, or masked against other entries.
    ConflictError
        A part is missing, or the masks do not cancel.
    """
    import msgspec

    from heelstamp.casework.federation.masked import read_masked, summed_tables
    from heelstamp.casework.federation.summary import unsealed, written_steps
    from heelstamp.shop.signing import key_of

    own, folder = key_of(shop).fingerprint, _folder(id_, name)
    place = shop.folder / FOLDER / folder
    if not (place / MASKED).is_file():
        raise ConflictError(
            "this shop masked nothing in this sum",
            received=name,
            remedy="First: heelstamp federation enter, then mask.",
        )
    ground = ground_of(shop, id_)
    with shop.writing:
        roster = _roster_kept(place)
        read = {}
        for where, data in {**parts, MASKED: read_file(place / MASKED)}.items():
            content, signer = unsealed(data, where)
            if signer not in roster.entries:
                raise InputError(
                    "signed by no shop of this sum", where=where, received=f"key {signer}"
                )
            read[signer] = read_masked(content, ground, roster, name, where)
        total, steps = summed_tables(read, roster), _own_steps(shop, folder)
        others = {
            feature: one - steps[feature] if own in roster.speaking(feature) else one
            for feature, one in total.items()
        }
        keep(
            shop,
            f"{folder}/{TOTAL}",
            msgspec.json.encode(
                {
                    "ground": ground.digest,
                    "keys": {
                        feature: [key for key in roster.speaking(feature) if key != own]
                        for feature in others
                    },
                    "steps": {id_: written_steps(one) for id_, one in others.items()},
                }
            )
            + b"\n",
        )
    return Summed(len(roster.entries), tuple(others))


def sum_contributions(
    shop: OpenShop, id_: str, joined: Mapping[str, Sequence[str]], without: Sequence[str]
) -> list[Contribution]:
    """What sums say besides this shop's own part.

    A sum gives way, feature by feature, to tables that one of its shops handed out since; it is not
    joined when one of its shops is no longer known or is left out, since none can be taken off it.

    Parameters
    ----------
    joined
        Features of the tables that are joined, by key.
    without
        Keys of shops that are left out.
    """
    from heelstamp.casework.federation.joined import Contribution
    from heelstamp.casework.federation.limits import LEAST_MASKED
    from heelstamp.casework.federation.summary import steps_read
    from heelstamp.dating.federation.tables import in_nats

    shops, ground, found = known_shops(shop), ground_of(shop, id_), []
    folder = shop.folder / FOLDER / SUMS
    for path in sorted(folder.glob(f"{id_}/*/{TOTAL}")) if folder.is_dir() else ():
        told: dict[str, Any] = json.loads(read_file(path))
        keys = {key for some in told["keys"].values() for key in some}
        if told["ground"] != ground.digest or keys & set(without) or not keys <= set(shops):
            continue
        tables = {
            feature: in_nats(steps_read(rows))
            for feature, rows in told["steps"].items()
            if not any(feature in joined.get(key, ()) for key in told["keys"][feature])
        }
        looks = {feature: LEAST_MASKED * len(told["keys"][feature]) for feature in tables}
        name = f"sum {path.parent.name} of {len(keys)} other shops"
        if tables:
            found.append(Contribution(f"sum {name}", name, tables, looks, single=False))
    return found


def _folder(id_: str, name: str) -> str:
    return f"{SUMS}/{id_}/{name}"


def _require_entered(shop: OpenShop, folder: str, own: str, name: str) -> None:
    if not (shop.folder / FOLDER / folder / ENTRIES / f"{own[:16]}.json").is_file():
        raise ConflictError(
            "this shop did not enter this sum, or under another key",
            received=name,
            remedy="First: heelstamp federation enter.",
        )


def _roster(signed: Mapping[str, bytes]) -> Roster:
    import msgspec

    from heelstamp.casework.federation.masked import Roster, SumEntry
    from heelstamp.casework.federation.summary import unsealed

    return Roster(
        {key: msgspec.convert(unsealed(data, "entry")[0], SumEntry) for key, data in signed.items()}
    )


def _roster_kept(place: Path) -> Roster:
    from heelstamp.casework.federation.summary import unsealed

    kept = [read_file(one) for one in sorted((place / ENTRIES).glob("*.json"))]
    return _roster({unsealed(one, "entry")[1]: one for one in kept})


def _own_steps(shop: OpenShop, folder: str) -> dict[str, Any]:
    from heelstamp.casework.federation.summary import steps_read

    told = json.loads(read_file(shop.folder / FOLDER / folder / OWN))
    return {feature: steps_read(rows) for feature, rows in told.items()}


def _secret(shop: OpenShop, id_: str, name: str) -> Path:
    from heelstamp.shop.shop_key import FOLDER as KEY_FOLDER

    return shop.folder / KEY_FOLDER / f"sum-{id_}-{name}.key"


def _made_key(shop: OpenShop, id_: str, name: str) -> str:
    """Make the key for one sum; give its public half in hexadecimal."""
    from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey

    from heelstamp.shop.certificate import replace_secret

    key = X25519PrivateKey.generate()
    replace_secret(_secret(shop, id_, name), key.private_bytes_raw())
    return key.public_key().public_bytes_raw().hex()


def _agreeing(shop: OpenShop, id_: str, name: str) -> Any:
    """How a secret is agreed on with who has a public key."""
    from cryptography.hazmat.primitives.asymmetric.x25519 import X25519PrivateKey, X25519PublicKey

    path = _secret(shop, id_, name)
    if not path.is_file():
        raise ConflictError(
            "the key of this sum is gone",
            where=path.name,
            remedy="A shop that was exported or restored without it begins another sum.",
        )
    key = X25519PrivateKey.from_private_bytes(read_file(path))

    def agree(public: str) -> bytes:
        try:
            return key.exchange(X25519PublicKey.from_public_bytes(bytes.fromhex(public)))
        except ValueError:
            raise InputError("a public key that is none", received=public) from None

    return agree
