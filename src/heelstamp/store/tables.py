"""The tables of a shop's database, the same on SQLite and PostgreSQL.

The line of an entry is its canonical JSON as text, so that verification recomputes every digest
from what is stored; the other columns of ``entry`` only repeat what the line says, for reading by
other tools. Nothing here is ever updated but the head of a dossier, the conclusion of a census row,
a password's hash, a session's last use, the name of a person, and how sending to a webhook goes.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    DateTime,
    Dialect,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
)

NAMING = {
    "ix": "ix_%(column_0_label)s",
    "uq": "uq_%(table_name)s_%(column_0_name)s",
    "ck": "ck_%(table_name)s_%(constraint_name)s",
    "fk": "fk_%(table_name)s_%(column_0_name)s_%(referred_table_name)s",
    "pk": "pk_%(table_name)s",
}


class UtcDateTime(TypeDecorator[datetime]):
    """A time in UTC on every database; SQLite would give back one without an offset."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> Any:  # noqa: ARG002
        """Refuse a time of unknown zone; store UTC."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a time without an offset cannot be stored")
        return value.astimezone(UTC)

    def process_result_value(self, value: Any, dialect: Dialect) -> datetime | None:  # noqa: ARG002
        """The time, in UTC."""
        if value is None:
            return None
        known: datetime = value
        return known.replace(tzinfo=UTC) if known.tzinfo is None else known.astimezone(UTC)


metadata = MetaData(naming_convention=NAMING)

dossier = Table(
    "dossier",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("tag", String(40), nullable=False, unique=True),
    Column("head_seq", Integer, nullable=False),
    Column("head_digest", String(64), nullable=False),
    CheckConstraint("head_seq >= 1", name="head_seq_from_one"),
)

entry = Table(
    "entry",
    metadata,
    Column("dossier_id", Integer, ForeignKey("dossier.id", ondelete="RESTRICT"), primary_key=True),
    Column("seq", Integer, primary_key=True, autoincrement=False),
    Column("digest", String(64), nullable=False),
    Column("kind", String(40), nullable=False),
    Column("at", UtcDateTime, nullable=False),
    Column("hand", Text, nullable=False),
    Column("line", Text, nullable=False),
    CheckConstraint("seq >= 1", name="seq_from_one"),
)

finding = Table(
    "finding",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("kind", String(40), nullable=False),
    Column("text", Text, nullable=False),
)

rack_row = Table(
    "rack_row",
    metadata,
    Column("tag", String(40), primary_key=True),
    Column("head", String(64), nullable=False),
    Column("text", Text, nullable=False),
    Column("words", Text, nullable=False),
)
"""A short form of each dossier; derived, taken out when its journal grows, made anew at need."""

listed_number = Table(
    "listed_number",
    metadata,
    Column("tag", String(40), primary_key=True),
    Column("number", Text, primary_key=True),
    Column("unread", Integer, nullable=False),
    Column("first", Text, nullable=False),
    Column("middle", Text, nullable=False),
    Column("last", Text, nullable=False),
    *(Index(None, one) for one in ("unread", "first", "middle", "last")),
)
"""Serial numbers of the dossiers that have a row of the rack, with what they are found by."""

document = Table(
    "document",
    metadata,
    Column("name", String(300), primary_key=True),
    Column("digest", String(64), nullable=False),
    Column("size", BigInteger, nullable=False),
)
"""Documents of the shop's folder as they were noted last, by path."""

file = Table(
    "file",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("size", BigInteger, nullable=False),
    Column("media_type", String(100), nullable=False),
    CheckConstraint("size >= 0", name="size_not_negative"),
)

census = Table(
    "census",
    metadata,
    Column("chronology", String(100), primary_key=True),
    Column("row", String(100), primary_key=True),
    Column("place", Integer, nullable=False),
    Column("how_dated", String(40), nullable=False),
    Column("observations", Text, nullable=False),
    Column("evidence", Text, nullable=False),
    Column("read_as", String(64), nullable=False),
    Column("conclusion", Text, nullable=True),
    CheckConstraint("place >= 1", name="place_from_one"),
    Index(None, "chronology", "place"),
)
"""Instruments to learn from; only ``conclusion`` is ever updated."""

comparable = Table(
    "comparable",
    metadata,
    Column("market", String(100), primary_key=True),
    Column("row", String(100), primary_key=True),
    Column("place", Integer, nullable=False),
    Column("text", Text, nullable=False),
    CheckConstraint("place >= 1", name="place_from_one"),
    Index(None, "market", "place"),
)
"""Sales and asking prices; never updated."""

account = Table(
    "account",
    metadata,
    Column("name", String(60), primary_key=True),
    Column("role", String(20), nullable=False),
    Column("password", Text, nullable=False),
    Column("made", UtcDateTime, nullable=False),
    CheckConstraint("role IN ('owner', 'examiner', 'reader')", name="role_known"),
)
"""Accounts; what is kept of a password is its Argon2id hash."""

session = Table(
    "session",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("account", String(60), ForeignKey("account.name", ondelete="CASCADE"), nullable=False),
    Column("role", String(20), nullable=False),
    Column("device", Text, nullable=False),
    Column("made", UtcDateTime, nullable=False),
    Column("seen", UtcDateTime, nullable=False),
    Column("until", UtcDateTime, nullable=False),
    Index(None, "account"),
)
"""Devices that are signed in, by the SHA-256 of their token."""

token = Table(
    "token",
    metadata,
    Column("digest", String(64), primary_key=True),
    Column("account", String(60), ForeignKey("account.name", ondelete="CASCADE"), nullable=False),
    Column("name", String(60), nullable=False),
    Column("scopes", String(60), nullable=False),
    Column("made", UtcDateTime, nullable=False),
    Column("until", UtcDateTime, nullable=False),
    Index(None, "account"),
)
"""What other programs come in by, by the SHA-256 of each; scopes are parted by spaces."""

kept_answer = Table(
    "kept_answer",
    metadata,
    Column("account", String(60), primary_key=True),
    Column("key", String(255), primary_key=True),
    Column("asked", String(64), nullable=False),
    Column("at", UtcDateTime, nullable=False),
    Column("status", Integer, nullable=True),
    Column("headers", Text, nullable=True),
    Column("body", Text, nullable=True),
    Index(None, "at"),
)
"""Answers by the key they were asked under, for a day; no status while one is worked on."""

webhook = Table(
    "webhook",
    metadata,
    Column("id", String(40), primary_key=True),
    Column("name", String(60), nullable=False),
    Column("url", String(500), nullable=False),
    Column("secret", Text, nullable=False),
    Column("private", Boolean, nullable=False),
    Column("made", UtcDateTime, nullable=False),
    Column("tries", Integer, nullable=False),
    Column("since", UtcDateTime, nullable=True),
    Column("after", UtcDateTime, nullable=True),
    Column("error", Text, nullable=False),
    Column("stopped", Boolean, nullable=False),
    Column("held_until", UtcDateTime, nullable=True),
)
"""Where messages go; from ``tries`` on it tells how sending goes, and who is at it."""

webhook_due = Table(
    "webhook_due",
    metadata,
    Column("webhook", String(40), ForeignKey("webhook.id", ondelete="CASCADE"), primary_key=True),
    Column("tag", String(40), primary_key=True),
    Column("length", Integer, nullable=False),
)
"""Dossiers that a webhook is to be told of, each with its length; put in with its entries."""

held_state = Table(
    "held_state",
    metadata,
    Column("name", String(40), primary_key=True),
    Column("value", LargeBinary, nullable=False),
)
"""What several servers change in turn, each time whole: tries at signing in, offers of pairing."""

second_factor = Table(
    "second_factor",
    metadata,
    Column("account", String(60), ForeignKey("account.name", ondelete="CASCADE"), primary_key=True),
    Column("secret", Text, nullable=False),
    Column("last_step", BigInteger, nullable=False),
    Column("made", UtcDateTime, nullable=False),
)
"""Accounts that ask for a code; only ``last_step`` is ever updated."""

recovery_code = Table(
    "recovery_code",
    metadata,
    Column(
        "account",
        String(60),
        ForeignKey("second_factor.account", ondelete="CASCADE"),
        nullable=False,
    ),
    Column("digest", String(64), primary_key=True),
    Index(None, "account"),
)
"""Codes by which an account without its authenticator signs in, each once, by their SHA-256."""

person = Table(
    "person",
    metadata,
    Column("id", String(64), primary_key=True),
    Column("tag", String(40), nullable=False),
    Column("role", Text, nullable=False),
    Column("name", Text, nullable=False),
    Column("contact", Text, nullable=False),
    Column("purpose", String(20), nullable=False),
    Column("since", String(10), nullable=False),
    Column("kept_until", String(10), nullable=False),
    Column("reason", Text, nullable=False),
    Column("erased", String(10), nullable=False),
)
"""Names behind the roles of the journals; a row is overwritten when a name is erased."""

ledger = Table(
    "ledger",
    metadata,
    Column("n", Integer, primary_key=True, autoincrement=False),
    Column("line", Text, nullable=False),
    CheckConstraint("n >= 1", name="n_from_one"),
)
"""One line a transaction that changed a row that counts; never updated."""

ledger_row = Table(
    "ledger_row",
    metadata,
    Column("n", Integer, ForeignKey("ledger.n", ondelete="RESTRICT"), primary_key=True),
    Column("name", String(40), primary_key=True),
    Column("key", String(400), primary_key=True),
    Column("digest", String(64), nullable=True),
)
"""What each line is about: table, key, and the row's digest, null when it was taken out."""
