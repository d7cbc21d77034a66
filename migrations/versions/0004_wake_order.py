"""Keepers are claimed in the order of an index, and leases that run out are found by one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0004"
down_revision: str | None = "0003"
branch_labels: None = None
depends_on: None = None

HELD = sa.text("lease_until IS NOT NULL")


def upgrade() -> None:
    """Apply."""
    op.drop_index("ix_keeper_next_wake_lease_until", "keeper")
    op.create_index("ix_keeper_next_wake_id", "keeper", ["next_wake", "id"])
    op.create_index("ix_keeper_lease_until_held", "keeper", ["lease_until"], sqlite_where=HELD, postgresql_where=HELD)


def downgrade() -> None:
    """Take back."""
    op.drop_index("ix_keeper_lease_until_held", "keeper")
    op.drop_index("ix_keeper_next_wake_id", "keeper")
    op.create_index("ix_keeper_next_wake_lease_until", "keeper", ["next_wake", "lease_until"])
