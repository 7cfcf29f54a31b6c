"""Dossiers, entries, findings, files."""

import sqlalchemy as sa
from alembic import op

from heelstamp.store.tables import UtcDateTime

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "dossier",
        sa.Column("id", sa.Integer, primary_key=True),
        sa.Column("tag", sa.String(40), nullable=False),
        sa.Column("head_seq", sa.Integer, nullable=False),
        sa.Column("head_digest", sa.String(64), nullable=False),
        sa.UniqueConstraint("tag"),
        sa.CheckConstraint("head_seq >= 1", name="head_seq_from_one"),
    )
    op.create_table(
        "entry",
        sa.Column("dossier_id", sa.Integer, nullable=False),
        sa.Column("seq", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("at", UtcDateTime, nullable=False),
        sa.Column("hand", sa.Text, nullable=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("dossier_id", "seq"),
        sa.ForeignKeyConstraint(["dossier_id"], ["dossier.id"], ondelete="RESTRICT"),
        sa.CheckConstraint("seq >= 1", name="seq_from_one"),
    )
    op.create_table(
        "finding",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("text", sa.Text, nullable=False),
    )
    op.create_table(
        "file",
        sa.Column("digest", sa.String(64), primary_key=True),
        sa.Column("size", sa.BigInteger, nullable=False),
        sa.Column("media_type", sa.String(100), nullable=False),
        sa.CheckConstraint("size >= 0", name="size_not_negative"),
    )


def downgrade() -> None:
    for table in ("file", "finding", "entry", "dossier"):
        op.drop_table(table)
