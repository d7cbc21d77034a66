"""What is counted about answers, by server and month."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0005"
down_revision: str | None = "0004"
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Apply."""
    op.create_table(
        "answer_count",
        sa.Column("guild_id", ID, autoincrement=False, nullable=False),
        sa.Column("month", sa.Date(), nullable=False),
        sa.Column("subject", sa.String(60), nullable=False),
        sa.Column("reception", sa.String(40), nullable=False),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("guild_id", "month", "subject", "reception", name="pk_answer_count"),
    )


def downgrade() -> None:
    """Take back."""
    op.drop_table("answer_count")
