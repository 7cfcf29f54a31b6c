"""What a database says when it refuses, in the house's words.

SQLite names its result codes (sqlite.org, Result and Extended Result Codes); PostgreSQL gives
SQLSTATE classes (PostgreSQL 15 documentation, appendix A). A code not listed is passed on with
the database's own sentence.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy.exc import DBAPIError, SQLAlchemyError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from heelstamp.errors import RESTORE, HeelstampError, IntegrityError, StorageError

_FULL = ("the disk is full", "Free some space, then repeat; nothing was written.")
_BUSY = ("another process is writing", "Wait until it has finished, then repeat.")
_READ_ONLY = ("no permission to write", "Give this user write permission, then repeat.")
_NO_FILE = ("the database cannot be opened", "Check that its folder exists and may be written.")
_DAMAGED = ("the database is damaged", RESTORE)
_IO = ("the disk refused to read or write", "Check the disk and its cable, then repeat.")
_NO_SERVER = (
    "no connection to the database server",
    "Check that it runs, its address, and that database and user exist.",
)

# SQLITE_IOERR_SHMSIZE "may indicate that the underlying filesystem volume is out of space"
_SQLITE = {
    "SQLITE_IOERR_SHMSIZE": _FULL,
    "SQLITE_FULL": _FULL,
    "SQLITE_BUSY": _BUSY,
    "SQLITE_LOCKED": _BUSY,
    "SQLITE_READONLY": _READ_ONLY,
    "SQLITE_PERM": _READ_ONLY,
    "SQLITE_AUTH": _READ_ONLY,
    "SQLITE_CANTOPEN": _NO_FILE,
    "SQLITE_CORRUPT": _DAMAGED,
    "SQLITE_NOTADB": _DAMAGED,
    "SQLITE_IOERR": _IO,
}
_POSTGRES = {
    "53100": _FULL,
    "55P03": _BUSY,
    "40001": _BUSY,
    "40P01": _BUSY,
    "42501": _READ_ONLY,
    "25006": _READ_ONLY,
    "58": _IO,
    "XX001": _DAMAGED,
    "XX002": _DAMAGED,
    "08": _NO_SERVER,
    "57P": _NO_SERVER,
}


@contextmanager
def refusals(where: str) -> Iterator[None]:
    """Turn what the database raises inside into one clear error naming *where*.

    Raises
    ------
    StorageError
        The machine refused.
    IntegrityError
        The database is damaged.
    """
    try:
        yield
    except PoolTimeoutError:
        raise StorageError(_BUSY[0], where=where, remedy=_BUSY[1]) from None
    except DBAPIError as error:
        raise translated(error, where) from error
    except sqlite3.Error as error:
        raise translated(DBAPIError(None, None, error), where) from error
    except (UnicodeDecodeError, AttributeError, TypeError) as error:
        # the driver could not even name what it read
        raise IntegrityError(
            _DAMAGED[0], where=where, received=type(error).__name__, remedy=_DAMAGED[1]
        ) from error
    except SQLAlchemyError as error:
        raise StorageError("the database refused", where=where, received=error) from error


def translated(error: DBAPIError, where: str) -> HeelstampError:
    """Give the house's error for one of the database's."""
    origin = error.orig
    said = str(origin).strip().splitlines()[0] if str(origin).strip() else type(origin).__name__
    name = getattr(origin, "sqlite_errorname", None)
    found: tuple[str, str] | None
    if name is not None:
        found = _longest(_SQLITE, name)
    else:
        state = getattr(origin, "sqlstate", None)
        if state is None and type(origin).__name__ == "OperationalError":
            found = _NO_SERVER
        else:
            found = _longest(_POSTGRES, str(state or ""))
    if found is None:
        return StorageError(
            "the database refused", where=where, received=said, remedy="Repeat; then run doctor."
        )
    kind = IntegrityError if found is _DAMAGED else StorageError
    return kind(found[0], where=where, received=said, remedy=found[1])


def _longest(codes: dict[str, tuple[str, str]], name: str) -> tuple[str, str] | None:
    """Give the words of the longest code that *name* begins with: the most particular one."""
    known = [code for code in codes if name.startswith(code)]
    return codes[max(known, key=len)] if known else None
