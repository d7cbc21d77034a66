"""The language of season notices, and new words of a posted notice that wait for a second moderator."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0008"
down_revision: str | None = "0007"
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")


def upgrade() -> None:
    """Apply."""
    op.add_column("season", sa.Column("language", sa.Text(), nullable=False, server_default="en"))
    op.add_column("season_notice", sa.Column("language", sa.Text(), nullable=False, server_default="en"))
    op.add_column("season_notice", sa.Column("amendment", sa.Text()))
    op.add_column("season_notice", sa.Column("amended_by", ID))


def downgrade() -> None:
    """Take back."""
    for column in ("amended_by", "amendment", "language"):
        op.drop_column("season_notice", column)
    op.drop_column("season", "language")
