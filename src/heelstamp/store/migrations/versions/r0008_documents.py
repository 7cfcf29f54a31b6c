"""Documents of the shop's folder as they were noted, and serial numbers of dossiers to look among.

Rows of the rack are derived; they are emptied here, because from now on a row that is there belongs
to the end of its journal.
"""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "document",
        sa.Column("name", sa.String(300), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.Column("size", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("name"),
    )
    op.create_table(
        "listed_number",
        sa.Column("tag", sa.String(40), nullable=False),
        sa.Column("number", sa.Text, nullable=False),
        sa.Column("unread", sa.Integer, nullable=False),
        sa.Column("first", sa.Text, nullable=False),
        sa.Column("middle", sa.Text, nullable=False),
        sa.Column("last", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("tag", "number"),
    )
    for column in ("unread", "first", "middle", "last"):
        op.create_index(f"ix_listed_number_{column}", "listed_number", [column])
    op.execute("DELETE FROM rack_row")


def downgrade() -> None:
    op.drop_table("listed_number")
    op.drop_table("document")
