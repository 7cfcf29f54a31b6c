"""Rows of the rack, with the words a search may ask for."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "rack_row",
        sa.Column("tag", sa.String(40), nullable=False),
        sa.Column("head", sa.String(64), nullable=False),
        sa.Column("text", sa.Text, nullable=False),
        sa.Column("words", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("tag"),
    )


def downgrade() -> None:
    op.drop_table("rack_row")
