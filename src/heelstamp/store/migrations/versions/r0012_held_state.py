"""What several servers of one shop change in turn."""

import sqlalchemy as sa
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "held_state",
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("value", sa.LargeBinary, nullable=False),
        sa.PrimaryKeyConstraint("name"),
    )


def downgrade() -> None:
    op.drop_table("held_state")
