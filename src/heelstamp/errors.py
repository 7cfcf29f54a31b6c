"""The few errors that Heelstamp raises on purpose, and the sentence each of them carries.

Every message says what is wrong, where, what was received and what to do next. Exit codes and
web status codes are decided at the faces (``cli``), never here. Subclasses live beside the code
that raises them and end in ``Error``.
"""

from __future__ import annotations

RECEIVED_MAX = 120

RESTORE = "Restore it from the last backup: heelstamp restore BACKUP --shop NEW-FOLDER."
"""What to do where something kept is no longer whole."""


class HeelstampError(Exception):
    """Base of every error that a user can meet.

    Parameters
    ----------
    what
        What is wrong, one clause without a full stop.
    where
        File and line, entry, field, or part; empty when there is only one place it can be.
    received
        The offending value as it came; shortened to 120 characters when shown.
    remedy
        What to do next, one sentence.
    """

    def __init__(
        self, what: str, *, where: str = "", received: object = None, remedy: str = ""
    ) -> None:
        self.what = what
        self.where = _whole(where)
        self.received = "" if received is None else _whole(str(received))
        self.remedy = _whole(remedy)
        super().__init__(str(self))

    def __str__(self) -> str:
        """The whole message on one line."""
        text = f"{self.where}: {self.what}" if self.where else self.what
        if self.received:
            shown = self.received
            if len(shown) > RECEIVED_MAX:
                shown = shown[:RECEIVED_MAX] + "…"
            text += f" (received: {shown})"
        return f"{text}. {self.remedy}".rstrip() if self.remedy else f"{text}."

    def at(self, where: str) -> HeelstampError:
        """The same error with *where* set in front of the place it already names."""
        place = f"{where}, {self.where}" if self.where else where
        received = self.received or None
        return type(self)(self.what, where=place, received=received, remedy=self.remedy)


def _whole(text: str) -> str:
    """Write half a character as a backslash and its number: no page and no terminal takes it."""
    return text.encode("utf-8", "backslashreplace").decode("utf-8")


class InputError(HeelstampError):
    """What was handed in cannot be used: broken syntax, unknown name, impossible value."""


class NotFoundError(InputError):
    """What was named is not there: a dossier, a chronology, a frame, a recording, a job."""


class LimitError(InputError):
    """What was handed in asks for more memory, time or room than one file is given."""


class ConflictError(HeelstampError):
    """The act does not fit the state of things: custody, a second writer, an entry that exists."""


class IntegrityError(HeelstampError):
    """Something kept no longer is what it was: a broken chain, a changed or missing file."""


class StorageError(HeelstampError):
    """The machine refused: disk full, no permission, another process writing."""
