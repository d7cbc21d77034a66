"""Until when a stored plan holds, and what it was made with, so that a look plans only what changed."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0010"
down_revision: str | None = "0009"
branch_labels: None = None
depends_on: None = None


def upgrade() -> None:
    """Apply."""
    op.add_column("colony", sa.Column("holds_until", sa.Date()))
    op.add_column("colony", sa.Column("planned_with", sa.Text()))


def downgrade() -> None:
    """Take back."""
    op.drop_column("colony", "planned_with")
    op.drop_column("colony", "holds_until")
