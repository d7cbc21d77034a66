"""Readings of loggers, kept as history."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0009"
down_revision: str | None = "0008"
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
WORD = sa.String(40)
TABLE = "logger_series"


def upgrade() -> None:
    """Apply."""
    op.create_table(
        TABLE,
        sa.Column("id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("colony_id", ID, nullable=False),
        sa.Column("spot", WORD, nullable=False),
        sa.Column("quantity", WORD, nullable=False),
        sa.Column("kept", sa.Boolean(), nullable=False),
        sa.Column("stored_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("readings", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["keeper_id"], ["keeper.id"], name="fk_logger_series_keeper_id_keeper", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["colony_id"], ["colony.id"], name="fk_logger_series_colony_id_colony", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_logger_series"),
        sa.UniqueConstraint(
            "keeper_id",
            "colony_id",
            "spot",
            "quantity",
            "kept",
            name="uq_logger_series_keeper_id_colony_id_spot_quantity_kept",
        ),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_logger_series_colony_id", TABLE, ["colony_id"])
    op.create_index("ix_logger_series_kept_stored_at", TABLE, ["kept", "stored_at"])


def downgrade() -> None:
    """Take back."""
    op.drop_table(TABLE)
