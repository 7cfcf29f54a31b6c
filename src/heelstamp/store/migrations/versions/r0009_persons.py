"""Names of persons, apart from the journals, so that they can be erased."""

import sqlalchemy as sa
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.String(64), nullable=False),
        sa.Column("tag", sa.String(40), nullable=False),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("name", sa.Text, nullable=False),
        sa.Column("contact", sa.Text, nullable=False),
        sa.Column("purpose", sa.String(20), nullable=False),
        sa.Column("since", sa.String(10), nullable=False),
        sa.Column("kept_until", sa.String(10), nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("erased", sa.String(10), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def downgrade() -> None:
    op.drop_table("person")
