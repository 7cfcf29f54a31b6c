"""The call becomes a dossier: pictures with their digests, words as claims, nothing as seen.

Pictures enter under slots of their own, so that none of the shop's photo plan counts as taken, and
private, since nobody looked at what can be read in them. Answers enter as unsigned statements of
the owner; the age alone is what the instrument is claimed to be.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from heelstamp.casework.first_call.asked import Asked, Question
from heelstamp.casework.first_call.record import FirstCall
from heelstamp.casework.new_entry import NewEntry
from heelstamp.errors import ConflictError

SENT = "sent-"
"""Begins the slot of a picture that an owner sent."""
BEFORE = "Sent by the owner before the instrument came; not taken by the shop."


def arrived_entries(
    call: FirstCall, instrument: Mapping[str, object], asked: Asked, questions: Sequence[Question]
) -> list[NewEntry]:
    """The entries that open the dossier of a call, the instrument's first.

    Parameters
    ----------
    instrument
        Body of the instrument's entry.

    Raises
    ------
    ConflictError
        The call has become a dossier already.
    """
    if call.dossier:
        raise ConflictError(
            "this call has become a dossier already", where=call.id, received=call.dossier
        )
    age = call.answers.get("age", "")
    claimed = {"claimed": age} if age and "claimed" not in instrument else {}
    entries = [NewEntry("instrument", {**instrument, **claimed})]
    labels = {one.slot: one.label for one in asked.frames}
    for one in call.sent:
        body = {
            "id": one.id,
            "file": one.file,
            "name": one.name,
            "media_type": one.media_type,
            "width": one.measures.width,
            "height": one.measures.height,
            "slot": SENT + (one.slot or "unnamed"),
            "private": True,
            "note": f"{BEFORE} Said to show {labels.get(one.slot, 'nothing in particular')}; "
            f"came {one.at[:10]} by {one.way}.",
        }
        entries.append(
            NewEntry("photograph", body if one.taken is None else {**body, "taken": one.taken})
        )
    about = {one.key: one.label for one in questions}
    entries += [
        NewEntry(
            "statement",
            {
                "id": f"told-{key.replace('.', '-').replace('_', '-')}",
                "role": "owner",
                "about": about.get(key, key),
                "text": text,
                "signed": False,
            },
        )
        for key, text in call.answers.items()
    ]
    return entries
