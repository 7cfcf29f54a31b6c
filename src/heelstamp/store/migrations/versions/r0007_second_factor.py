"""Second factors of accounts, and the word for the role of a paired device."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "second_factor",
        sa.Column("account", sa.String(60), nullable=False),
        sa.Column("secret", sa.Text, nullable=False),
        sa.Column("last_step", sa.BigInteger, nullable=False),
        sa.Column("made", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("account"),
        sa.ForeignKeyConstraint(["account"], ["account.name"], ondelete="CASCADE"),
    )
    op.create_table(
        "recovery_code",
        sa.Column("account", sa.String(60), nullable=False),
        sa.Column("digest", sa.String(64), nullable=False),
        sa.PrimaryKeyConstraint("digest"),
        sa.ForeignKeyConstraint(["account"], ["second_factor.account"], ondelete="CASCADE"),
    )
    op.create_index("ix_recovery_code_account", "recovery_code", ["account"])
    op.execute("UPDATE session SET role = 'paired device' WHERE role = 'second hand'")


def downgrade() -> None:
    op.execute("UPDATE session SET role = 'second hand' WHERE role = 'paired device'")
    op.drop_table("recovery_code")
    op.drop_table("second_factor")
