"""Communities and their seasons: setup, notices, log, what members agreed to, figures that may be shown."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0002"
down_revision: str | None = "0001"
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)
WORD = sa.String(40)


def upgrade() -> None:
    """Apply."""
    _season()
    _season_counted()
    _season_group()
    _season_log()
    _season_member()
    _season_notice()


def downgrade() -> None:
    """Take back."""
    for table in ("season_notice", "season_member", "season_log", "season_group", "season_counted", "season"):
        op.drop_table(table)


def _season() -> None:
    op.create_table(
        "season",
        sa.Column("guild_id", ID, autoincrement=False, nullable=False),
        sa.Column("channel_id", ID, nullable=False),
        sa.Column("zone_name", sa.Text(), nullable=False),
        sa.Column("role_id", ID),
        sa.Column("helper_channel_id", ID),
        sa.Column("leader_role_id", ID),
        sa.Column("units", WORD, nullable=False),
        sa.Column("halves", sa.JSON(), nullable=False),
        sa.Column("post_at", sa.Time(), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=False),
        sa.Column("prepare_days", sa.Integer(), nullable=False),
        sa.Column("draft_days", sa.Integer(), nullable=False),
        sa.Column("count", sa.Boolean(), nullable=False),
        sa.Column("two_approve", sa.Boolean(), nullable=False),
        sa.Column("counted_on", sa.Date()),
        sa.Column("tended_on", sa.Date()),
        sa.PrimaryKeyConstraint("guild_id", name="pk_season"),
    )


def _season_counted() -> None:
    op.create_table(
        "season_counted",
        sa.Column("guild_id", ID, nullable=False),
        sa.Column("half", WORD, nullable=False),
        sa.Column("dormancy", WORD, nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("digest", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["guild_id"], ["season.guild_id"], name="fk_season_counted_guild_id_season", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["keeper_id"], ["keeper.id"], name="fk_season_counted_keeper_id_keeper", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("guild_id", "half", "dormancy", "year", "keeper_id", name="pk_season_counted"),
    )
    op.create_index("ix_season_counted_keeper_id", "season_counted", ["keeper_id"])


def _season_group() -> None:
    op.create_table(
        "season_group",
        sa.Column("guild_id", ID, nullable=False),
        sa.Column("half", WORD, nullable=False),
        sa.Column("dormancy", WORD, nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("shown", sa.JSON(), nullable=False),
        sa.ForeignKeyConstraint(
            ["guild_id"], ["season.guild_id"], name="fk_season_group_guild_id_season", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("guild_id", "half", "dormancy", "year", name="pk_season_group"),
    )


def _season_log() -> None:
    op.create_table(
        "season_log",
        sa.Column("id", ID, nullable=False),
        sa.Column("guild_id", ID, nullable=False),
        sa.Column("notice_id", ID),
        sa.Column("at", MOMENT, nullable=False),
        sa.Column("actor", ID),
        sa.Column("act", WORD, nullable=False),
        sa.Column("detail", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(
            ["guild_id"], ["season.guild_id"], name="fk_season_log_guild_id_season", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_season_log"),
    )
    op.create_index("ix_season_log_guild_id_at", "season_log", ["guild_id", "at"])


def _season_member() -> None:
    op.create_table(
        "season_member",
        sa.Column("guild_id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("counted", sa.Boolean(), nullable=False),
        sa.Column("helped", sa.Boolean(), nullable=False),
        sa.Column("since", MOMENT),
        sa.ForeignKeyConstraint(
            ["guild_id"], ["season.guild_id"], name="fk_season_member_guild_id_season", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["keeper_id"], ["keeper.id"], name="fk_season_member_keeper_id_keeper", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("guild_id", "keeper_id", name="pk_season_member"),
    )
    op.create_index("ix_season_member_keeper_id", "season_member", ["keeper_id"])


def _season_notice() -> None:
    op.create_table(
        "season_notice",
        sa.Column("id", ID, nullable=False),
        sa.Column("guild_id", ID, nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("stage", WORD, nullable=False),
        sa.Column("half", WORD, nullable=False),
        sa.Column("state", WORD, nullable=False),
        sa.Column("heading", sa.Text(), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("numbers", sa.Text(), nullable=False),
        sa.Column("cautions", sa.JSON(), nullable=False),
        sa.Column("begins", sa.Date(), nullable=False),
        sa.Column("post_day", sa.Date(), nullable=False),
        sa.Column("post_wall", sa.Time(), nullable=False),
        sa.Column("post_at", MOMENT, nullable=False),
        sa.Column("approved_by", sa.JSON(), nullable=False),
        sa.Column("nonce", sa.String(length=25), nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("first_try_at", MOMENT),
        sa.Column("posted_at", MOMENT),
        sa.Column("channel_id", ID),
        sa.Column("message_id", ID),
        sa.Column("problem", sa.Text()),
        sa.Column("lease_until", MOMENT),
        sa.Column("nudged_on", sa.Date()),
        sa.Column("created_at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(
            ["guild_id"], ["season.guild_id"], name="fk_season_notice_guild_id_season", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_season_notice"),
        sa.UniqueConstraint("guild_id", "year", "stage", "half", name="uq_season_notice_guild_id_year_stage_half"),
        sa.UniqueConstraint("nonce", name="uq_season_notice_nonce"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_season_notice_state_post_at", "season_notice", ["state", "post_at"])
