"""Webhooks, and the dossiers that each is to be told of."""

import sqlalchemy as sa
from alembic import op

revision = "0011"
down_revision = "0010"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "webhook",
        sa.Column("id", sa.String(40), nullable=False),
        sa.Column("name", sa.String(60), nullable=False),
        sa.Column("url", sa.String(500), nullable=False),
        sa.Column("secret", sa.Text, nullable=False),
        sa.Column("private", sa.Boolean, nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
        sa.Column("tries", sa.Integer, nullable=False),
        sa.Column("since", sa.DateTime(timezone=True), nullable=True),
        sa.Column("after", sa.DateTime(timezone=True), nullable=True),
        sa.Column("error", sa.Text, nullable=False),
        sa.Column("stopped", sa.Boolean, nullable=False),
        sa.Column("held_until", sa.DateTime(timezone=True), nullable=True),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_table(
        "webhook_due",
        sa.Column("webhook", sa.String(40), nullable=False),
        sa.Column("tag", sa.String(40), nullable=False),
        sa.Column("length", sa.Integer, nullable=False),
        sa.ForeignKeyConstraint(["webhook"], ["webhook.id"], ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("webhook", "tag"),
    )


def downgrade() -> None:
    op.drop_table("webhook_due")
    op.drop_table("webhook")
