"""A correction that was overtaken: what to do when its fact was corrected since it was read.

Three-way: fields that only one of both changed are taken from whoever changed them; a field that
both changed, each in another way, is a conflict that a person settles. To withdraw what somebody
else has changed since is one too.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from heelstamp.catalogue import DossierState, Unconverted, body_data
from heelstamp.catalogue.corrections import Version
from heelstamp.errors import ConflictError

Act = tuple[str, Mapping[str, Any]]


class OvertakenError(ConflictError):
    """The same field of the same fact was corrected by somebody else in between."""


def said_of(state: DossierState) -> dict[str, tuple[Version, ...]]:
    """Everything said of the entry that an id, or that of a correction of it, is about."""
    return {one.entry: said for said in state.history.values() for one in said}


def carried_over(acts: Sequence[Act], before: DossierState, now: DossierState) -> list[Act]:
    """Fit acts, made for a dossier as it stood *before*, to what stands *now*.

    Raises
    ------
    OvertakenError
        The same field of the same fact was changed by both.
    """
    old, new = said_of(before), said_of(now)
    fitted: list[Act] = []
    for kind, body in acts:
        target = str(body.get("corrects", ""))
        versions = new.get(target, ()) if kind == "correction" else ()
        if all(one.seq <= before.length for one in versions):
            fitted.append((kind, body))
            continue
        told = _joined(body, _standing(old.get(target, ())), _standing(versions), versions[-1].by)
        fitted.append((kind, told))
    return fitted


def _joined(
    body: Mapping[str, Any], base: Version | None, theirs: Version | None, by: str
) -> Mapping[str, Any]:
    ours = body.get("replacement")
    was, stands = _fields(base), _fields(theirs)
    if not isinstance(ours, Mapping) or was is None or stands is None:
        raise _conflict(body, by, "the whole of it")
    our_changes = _changed(was, {"id": was.get("id"), **ours})
    both = [one for one in our_changes if one in _changed(was, stands)]
    clash = [one for one in both if ours.get(one) != stands.get(one)]
    if clash:
        raise _conflict(body, by, ", ".join(clash))
    made = {key: value for key, value in stands.items() if key not in our_changes}
    made |= {key: ours[key] for key in our_changes if key in ours}
    return {**body, "replacement": made}


def _standing(versions: Sequence[Version]) -> Version | None:
    return next((one for one in versions if one.stands), None)


def _fields(said: Version | None) -> dict[str, object] | None:
    if said is None or said.body is None or isinstance(said.body, Unconverted):
        return None
    return body_data(said.body)


def _changed(was: Mapping[str, object], now: Mapping[str, object]) -> list[str]:
    return [key for key in dict.fromkeys((*was, *now)) if was.get(key) != now.get(key)]


def _conflict(body: Mapping[str, Any], by: str, fields: str) -> OvertakenError:
    return OvertakenError(
        f"{by} changed this in between",
        where=str(body.get("corrects")),
        received=fields,
        remedy="Look at what stands now, then decide again.",
    )
