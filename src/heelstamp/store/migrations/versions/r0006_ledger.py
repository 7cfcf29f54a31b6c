"""The ledger: a line a transaction, and the rows it is about."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "ledger",
        sa.Column("n", sa.Integer, nullable=False, autoincrement=False),
        sa.Column("line", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("n"),
        sa.CheckConstraint("n >= 1", name="n_from_one"),
    )
    op.create_table(
        "ledger_row",
        sa.Column("n", sa.Integer, nullable=False),
        sa.Column("name", sa.String(40), nullable=False),
        sa.Column("key", sa.String(400), nullable=False),
        sa.Column("digest", sa.String(64), nullable=True),
        sa.PrimaryKeyConstraint("n", "name", "key"),
        sa.ForeignKeyConstraint(["n"], ["ledger.n"], ondelete="RESTRICT"),
    )


def downgrade() -> None:
    op.drop_table("ledger_row")
    op.drop_table("ledger")
