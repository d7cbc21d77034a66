"""Reminders in private threads, keepers who left, and who wrote a line of a log."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0007"
down_revision: str | None = "0006"
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)
BY_SITTER = sa.text("sitter_id IS NOT NULL")
SITTER = "fk_log_entry_sitter_id_keeper"


def upgrade() -> None:
    """Apply."""
    op.add_column("season", sa.Column("thread_channel_id", ID))
    op.add_column("season", sa.Column("thread_told_on", sa.Date()))
    op.add_column("season_member", sa.Column("threads", sa.Boolean(), nullable=False, server_default=sa.false()))
    with op.batch_alter_table("log_entry") as batch:
        batch.add_column(sa.Column("sitter_id", ID))
        batch.create_foreign_key(SITTER, "keeper", ["sitter_id"], ["id"], ondelete="SET NULL")
    op.create_index(
        "ix_log_entry_sitter_id_by",
        "log_entry",
        ["sitter_id"],
        sqlite_where=BY_SITTER,
        postgresql_where=BY_SITTER,
    )
    _thread_reminder()
    _absentee()


def downgrade() -> None:
    """Take back."""
    op.drop_table("absentee")
    op.drop_table("thread_reminder")
    op.drop_index("ix_log_entry_sitter_id_by", "log_entry")
    with op.batch_alter_table("log_entry") as batch:
        batch.drop_constraint(SITTER, type_="foreignkey")
        batch.drop_column("sitter_id")
    op.drop_column("season_member", "threads")
    op.drop_column("season", "thread_told_on")
    op.drop_column("season", "thread_channel_id")


def _thread_reminder() -> None:
    op.create_table(
        "thread_reminder",
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("guild_id", ID, nullable=False),
        sa.Column("channel_id", ID, nullable=False),
        sa.Column("thread_id", ID),
        sa.Column("next_at", MOMENT),
        sa.Column("told_on", sa.Date()),
        sa.Column("nonce", sa.String(25)),
        sa.Column("count", sa.Integer(), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("first_try_at", MOMENT),
        sa.Column("message_id", ID),
        sa.Column("sent_at", MOMENT),
        sa.Column("problem", sa.Text()),
        sa.Column("lease_until", MOMENT),
        sa.ForeignKeyConstraint(
            ["keeper_id"], ["keeper.id"], name="fk_thread_reminder_keeper_id_keeper", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("keeper_id", name="pk_thread_reminder"),
    )
    op.create_index("ix_thread_reminder_next_at", "thread_reminder", ["next_at"])


def _absentee() -> None:
    op.create_table(
        "absentee",
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("since", MOMENT),
        sa.Column("checked_at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(["keeper_id"], ["keeper.id"], name="fk_absentee_keeper_id_keeper", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("keeper_id", name="pk_absentee"),
    )
