"""The indexes of what is in a delivery hold nothing else, so that none is read to find what is in no delivery.

SQLite did so to answer “what of these keepers is due and in no delivery”: it read nearly everything stored.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0011"
down_revision: str | None = "0010"
branch_labels: None = None
depends_on: None = None


def upgrade() -> None:
    """Apply."""
    for table in ("occurrence", "note"):
        op.drop_index(f"ix_{table}_delivery_id", table)
        held = sa.text("delivery_id IS NOT NULL")
        op.create_index(
            f"ix_{table}_delivery_id_held", table, ["delivery_id"], sqlite_where=held, postgresql_where=held
        )


def downgrade() -> None:
    """Take back."""
    for table in ("occurrence", "note"):
        op.drop_index(f"ix_{table}_delivery_id_held", table)
        op.create_index(f"ix_{table}_delivery_id", table, ["delivery_id"])
