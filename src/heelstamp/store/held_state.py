"""State that several servers of one shop change in turn, kept whole in one row (PostgreSQL).

Who has it holds an advisory lock until its transaction ends, so tries at one moment on two servers
count as two. What is kept is MessagePack of a few kilobytes; what another version wrote and cannot
be read is begun anew.
"""

from __future__ import annotations

import zlib
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

import msgspec
from sqlalchemy import Engine, delete, insert, select, text

from heelstamp.casework.sharing.held_state import Held
from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals
from heelstamp.store.tables import held_state

T = TypeVar("T")


def in_database(engine: Engine, name: str, kind: type[T], fresh: Callable[[], T]) -> Held[T]:
    """Hold a state in the database; *kind* is what it is read as, *fresh* gives an empty one."""
    place, own = place_of(engine), held_state.c.name == name

    @contextmanager
    def held() -> Iterator[T]:
        with refusals(place), engine.begin() as connection:
            number = zlib.crc32(f"heelstamp held {name}".encode())
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": number})
            kept = connection.scalar(select(held_state.c.value).where(own))
            try:
                state = fresh() if kept is None else msgspec.msgpack.decode(kept, type=kind)
            except msgspec.MsgspecError:
                state = fresh()
            yield state
            value = msgspec.msgpack.encode(state)
            if value != kept:
                connection.execute(delete(held_state).where(own))
                connection.execute(insert(held_state).values(name=name, value=value))

    return held
