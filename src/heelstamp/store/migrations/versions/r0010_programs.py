"""Tokens of accounts, for other programs; and answers kept by the key they were asked under."""

import sqlalchemy as sa
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "token",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("account", sa.String(60), nullable=False),
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("scopes", sa.String(60), nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.ForeignKeyConstraint(["account"], ["account.name"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("digest"),
    )
    op.create_index("ix_token_account", "token", ["account"])
    op.create_table(
        "kept_answer",
        sa.Column("account", sa.String(60), nullable=False),
        sa.Column("key", sa.String(255), nullable=False),
        sa.Column("asked", sa.String(64), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("status", sa.Integer, nullable=True),
        sa.Column("headers", sa.Text, nullable=True),
        sa.Column("body", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("account", "key"),
    )
    op.create_index("ix_kept_answer_at", "kept_answer", ["at"])


def downgrade() -> None:
    op.drop_table("kept_answer")
    op.drop_table("token")
