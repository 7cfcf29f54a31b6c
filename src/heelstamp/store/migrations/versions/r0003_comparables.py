"""Comparables."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "comparable",
        sa.Column("market", sa.String(100), nullable=False),
        sa.Column("row", sa.String(100), nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("market", "row"),
        sa.CheckConstraint("place >= 1", name="place_from_one"),
    )
    op.create_index("ix_comparable_market", "comparable", ["market", "place"])


def downgrade() -> None:
    op.drop_table("comparable")
