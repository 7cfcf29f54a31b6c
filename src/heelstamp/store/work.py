"""Work that any machine may take, in a schema of its own beside the shop's tables (PostgreSQL).

Nothing here counts: all of it can be begun again, so it is no part of a move or a backup, and a
schema that another version made is made anew. One row is one piece of work: what is to be done, how
far it is, what came of it. Who takes it is procrastinate's to say, whose tables lie beside.
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

from sqlalchemy import Connection, Engine, text

from heelstamp.store.engine import place_of
from heelstamp.store.refusals import refusals

SCHEMA = "heelstamp_work"
FORM = 1
"""Form of the tables here; with procrastinate's version it names who made the schema."""
_LOCK = 0x776F726B  # any fixed number: PostgreSQL's advisory lock while the schema is made
_TABLES = f"""
CREATE SCHEMA {SCHEMA};
CREATE TABLE {SCHEMA}.made_by (version text NOT NULL);
CREATE TABLE {SCHEMA}.work (
    key text PRIMARY KEY, lane text NOT NULL, what text NOT NULL, about text NOT NULL,
    frames text NOT NULL, base text NOT NULL, standing text NOT NULL,
    done double precision NOT NULL, total double precision NOT NULL,
    stage text NOT NULL, preview bytea, act bytea NOT NULL, outcome bytea,
    tries integer NOT NULL DEFAULT 0,
    began timestamptz NOT NULL DEFAULT clock_timestamp(),
    at timestamptz NOT NULL DEFAULT clock_timestamp()
);
CREATE INDEX ON {SCHEMA}.work (at);
"""
_ROW = f"""SELECT key, lane, what, about, frames, base, standing, done, total, stage, preview,
    outcome, tries, at, extract(epoch from clock_timestamp() - began)::double precision AS age
    FROM {SCHEMA}.work """


class WorkTable:
    """The rows of work of one shop.

    Parameters
    ----------
    engine
        On the shop's PostgreSQL database.
    queue_schema, version
        The SQL that makes procrastinate's tables, and its version.
    """

    def __init__(self, engine: Engine, queue_schema: str, version: str) -> None:
        self._engine = engine
        self._place = place_of(engine)
        self._make(queue_schema, f"{FORM} {version}")

    def _make(self, queue_schema: str, version: str) -> None:
        with self._writing() as connection:
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": _LOCK})
            known = connection.scalar(text("SELECT to_regclass(:n)"), {"n": f"{SCHEMA}.made_by"})
            if known is not None:
                made = connection.scalar(text(f"SELECT version FROM {SCHEMA}.made_by"))
                if made == version:
                    return
            connection.exec_driver_sql(f"DROP SCHEMA IF EXISTS {SCHEMA} CASCADE")
            connection.exec_driver_sql(_TABLES)
            connection.exec_driver_sql(f"SET LOCAL search_path TO {SCHEMA}")
            cursor = connection.connection.cursor()
            cursor.execute(queue_schema)  # as it is: no parameter, though it has percent signs
            cursor.close()
            connection.execute(
                text(f"INSERT INTO {SCHEMA}.made_by VALUES (:version)"), {"version": version}
            )

    @contextmanager
    def lane(self, name: str) -> Iterator[Lane]:
        """Look at a lane and put work into it, while no other machine does."""
        with self._writing() as connection:
            number = zlib.crc32(f"heelstamp lane {name}".encode())
            connection.execute(text("SELECT pg_advisory_xact_lock(:n)"), {"n": number})
            yield Lane(connection, name)

    def find(self, key: str) -> Any | None:
        """The row of a key; None when there is none."""
        return next(iter(self._rows("WHERE key = :key", key=key)), None)

    def at(self, what: str, about: str, frames: Sequence[str]) -> Any | None:
        """The row at a place that went on last."""
        where = "WHERE what = :what AND about = :about AND frames = :frames"
        told = {"what": what, "about": about, "frames": json.dumps(list(frames))}
        return next(iter(self._rows(f"{where} ORDER BY at DESC LIMIT 1", **told)), None)

    def since(self, at: Any) -> Sequence[Any]:
        """Rows that went on since a time of the database, the earliest first."""
        return self._rows("WHERE at > :at ORDER BY at", at=at)

    def now(self) -> Any:
        """The time of the database."""
        with refusals(self._place), self._engine.connect() as read:
            return read.scalar(text("SELECT clock_timestamp()"))

    def take(self, key: str) -> tuple[bytes, int] | None:
        """What is to be done, and how often it was begun with this; None when it was let go."""
        change = f"""UPDATE {SCHEMA}.work SET tries = tries + 1, standing = 'working',
            stage = CASE WHEN tries > 0 THEN stage ELSE 'reading' END, at = clock_timestamp()
            WHERE key = :key AND standing IN ('waiting', 'working') RETURNING act, tries"""
        with self._writing() as connection:
            row = connection.execute(text(change), {"key": key}).one_or_none()
        return None if row is None else (bytes(row.act), int(row.tries))

    def went_on(self, key: str, tries: int, values: Mapping[str, Any]) -> bool:
        """Say how far it is; False when it is no longer this machine's."""
        sets = ", ".join(f"{name} = :{name}" for name in values)
        change = f"""UPDATE {SCHEMA}.work SET {sets}, at = clock_timestamp()
            WHERE key = :key AND tries = :tries AND standing = 'working'"""
        with self._writing() as connection:
            told = {**values, "key": key, "tries": tries}
            return connection.execute(text(change), told).rowcount == 1

    def waits_again(self, key: str, stage: str) -> None:
        """Let work wait that a worker left."""
        change = f"""UPDATE {SCHEMA}.work SET standing = 'waiting', stage = :stage,
            at = clock_timestamp() WHERE key = :key AND standing = 'working'"""
        with self._writing() as connection:
            connection.execute(text(change), {"key": key, "stage": stage})

    def orphans(self) -> Sequence[Any]:
        """Rows that wait and that nobody was asked to do: their server stopped in between."""
        return self._rows(
            f"""AS w WHERE standing = 'waiting' AND at < clock_timestamp() - interval '5 seconds'
            AND NOT EXISTS (SELECT 1 FROM {SCHEMA}.procrastinate_jobs AS j WHERE
            j.args->>'key' = w.key AND j.status IN ('todo', 'doing'))"""
        )

    def workers(self, within_s: float) -> int:
        """How many workers said within some seconds that they are there."""
        wanted = f"""SELECT count(*) FROM {SCHEMA}.procrastinate_workers WHERE
            last_heartbeat > clock_timestamp() - make_interval(secs => :within)"""
        with refusals(self._place), self._engine.connect() as read:
            return int(read.scalar(text(wanted), {"within": within_s}) or 0)

    def counts(self) -> dict[tuple[str, str], int]:
        """How many pieces of work there are, by lane and standing."""
        wanted = f"SELECT lane, standing, count(*) FROM {SCHEMA}.work GROUP BY 1, 2"
        with refusals(self._place), self._engine.connect() as read:
            return {(row[0], row[1]): int(row[2]) for row in read.execute(text(wanted))}

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def _rows(self, where: str, **told: Any) -> Sequence[Any]:
        with refusals(self._place), self._engine.connect() as read:
            return read.execute(text(_ROW + where), told).all()

    @contextmanager
    def _writing(self) -> Iterator[Connection]:
        with refusals(self._place), self._engine.begin() as connection:
            yield connection


class Lane:
    """A lane, while no other machine puts work into it."""

    def __init__(self, connection: Connection, name: str) -> None:
        self._connection, self._name = connection, name

    def rows(self) -> Sequence[Any]:
        """Its work, the earliest first."""
        wanted = text(f"{_ROW} WHERE lane = :lane ORDER BY at")
        return self._connection.execute(wanted, {"lane": self._name}).all()

    def put(self, values: Mapping[str, Any]) -> None:
        """Put work in, in the place of what failed under its key."""
        self.forget([str(values["key"])])
        told = {**values, "lane": self._name}
        names, places = ", ".join(told), ", ".join(f":{name}" for name in told)
        change = f"INSERT INTO {SCHEMA}.work ({names}) VALUES ({places})"
        self._connection.execute(text(change), told)

    def forget(self, keys: Sequence[str]) -> None:
        """Let work go."""
        gone = text(f"DELETE FROM {SCHEMA}.work WHERE key = ANY(:keys)")
        self._connection.execute(gone, {"keys": list(keys)})
