"""Accounts and sessions."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "account",
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("password", sa.Text, nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("name"),
        sa.CheckConstraint("role IN ('owner', 'examiner', 'reader')", name="role_known"),
    )
    op.create_table(
        "session",
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("account", sa.String(60), nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
        sa.Column("seen", sa.DateTime(timezone=True), nullable=False),
        sa.Column("until", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("digest"),
        sa.ForeignKeyConstraint(["account"], ["account.name"], ondelete="CASCADE"),
    )
    op.create_index("ix_session_account", "session", ["account"])


def downgrade() -> None:
    op.drop_table("session")
    op.drop_table("account")
