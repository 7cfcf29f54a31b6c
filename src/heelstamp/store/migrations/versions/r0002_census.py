"""The census."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "census",
        sa.Column("chronology", sa.String(100), nullable=False),
        sa.Column("row", sa.String(100), nullable=False),
        sa.Column("place", sa.Integer, nullable=False),
        sa.Column("how_dated", sa.String(40), nullable=False),
        sa.Column("observations", sa.Text, nullable=False),
        sa.Column("evidence", sa.Text, nullable=False),
        sa.Column("read_as", sa.String(64), nullable=False),
        sa.Column("conclusion", sa.Text, nullable=True),
        sa.PrimaryKeyConstraint("chronology", "row"),
        sa.CheckConstraint("place >= 1", name="place_from_one"),
    )
    op.create_index("ix_census_chronology", "census", ["chronology", "place"])


def downgrade() -> None:
    op.drop_table("census")
