"""First tables: keepers, places, colonies, logs, occurrences, deliveries, cautions shown, marks."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0001"
down_revision: str | None = None
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)
WORD = sa.String(40)
KEPT = sa.text("state = 'kept'")
PLANNED = sa.text("state = 'planned'")


def upgrade() -> None:
    """Apply."""
    _keeper()
    _mark()
    _caution_shown()
    _colony()
    _delivery()
    _place()
    _log_entry()
    _occurrence()
    _delivery_line()


def downgrade() -> None:
    """Take back."""
    tables = (
        "delivery_line",
        "occurrence",
        "log_entry",
        "place",
        "delivery",
        "colony",
        "caution_shown",
        "mark",
        "keeper",
    )
    for table in tables:
        op.drop_table(table)


def _keeper() -> None:
    op.create_table(
        "keeper",
        sa.Column("id", ID, autoincrement=False, nullable=False),
        sa.Column("zone_name", sa.Text(), nullable=False),
        sa.Column("latitude", sa.Double()),
        sa.Column("country", sa.Text()),
        sa.Column("units", WORD, nullable=False),
        sa.Column("digest_at", sa.Time(), nullable=False),
        sa.Column("quiet_start", sa.Time(), nullable=False),
        sa.Column("quiet_end", sa.Time(), nullable=False),
        sa.Column("reminders_on", sa.Boolean(), nullable=False),
        sa.Column("away_until", sa.Date()),
        sa.Column("mute_notes", sa.Boolean(), nullable=False),
        sa.Column("channel_id", ID),
        sa.Column("door", WORD, nullable=False),
        sa.Column("refusals", sa.Integer(), nullable=False),
        sa.Column("unanswered", sa.Integer(), nullable=False),
        sa.Column("next_wake", MOMENT),
        sa.Column("lease_until", MOMENT),
        sa.Column("lease_token", sa.Text()),
        sa.Column("planned_on", sa.Date()),
        sa.Column("zone_data", sa.Text()),
        sa.Column("created_at", MOMENT),
        sa.PrimaryKeyConstraint("id", name="pk_keeper"),
    )
    op.create_index("ix_keeper_next_wake_lease_until", "keeper", ["next_wake", "lease_until"])


def _mark() -> None:
    op.create_table(
        "mark",
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_mark"),
    )


def _caution_shown() -> None:
    op.create_table(
        "caution_shown",
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("caution_id", sa.Text(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.ForeignKeyConstraint(
            ["keeper_id"], ["keeper.id"], name="fk_caution_shown_keeper_id_keeper", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("keeper_id", "caution_id", name="pk_caution_shown"),
    )


def _colony() -> None:
    op.create_table(
        "colony",
        sa.Column("id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("state", WORD, nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("created_at", MOMENT),
        sa.Column("closed_at", MOMENT),
        sa.Column("closed_reason", sa.Text()),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("species", sa.Text(), nullable=False),
        sa.Column("workers", sa.Integer(), nullable=False),
        sa.Column("queens", sa.Integer(), nullable=False),
        sa.Column("stage", WORD),
        sa.Column("founding", sa.Text()),
        sa.Column("founded", sa.Date()),
        sa.Column("arrived", sa.Date()),
        sa.Column("registered", sa.Date()),
        sa.Column("place", sa.Text()),
        sa.Column("brood_level", WORD),
        sa.Column("brood_eggs", sa.Boolean()),
        sa.Column("brood_larvae", sa.Boolean()),
        sa.Column("brood_pupae", sa.Boolean()),
        sa.Column("nest_kind", WORD, nullable=False),
        sa.Column("nest_material", sa.Text()),
        sa.Column("nest_water_ml", sa.Double()),
        sa.Column("nest_wetted_cm2", sa.Double()),
        sa.Column("nest_openness", sa.Double()),
        sa.Column("nest_volume_cm3", sa.Double()),
        sa.Column("nest_changed", sa.Date()),
        sa.Column("nest_watered_side", WORD, nullable=False),
        sa.Column("nest_bore_mm", sa.Double()),
        sa.Column("heater_kind", sa.Text()),
        sa.Column("heater_hot_c", sa.Double()),
        sa.Column("heater_share", sa.Double()),
        sa.Column("heater_watts", sa.Double()),
        sa.Column("heater_thermostat", sa.Boolean()),
        sa.Column("outworld_dusty", sa.Boolean()),
        sa.Column("outworld_limestone", sa.Boolean()),
        sa.Column("outworld_barrier", sa.Text()),
        sa.Column("outworld_renewed", sa.Date()),
        sa.Column("rest_skip", sa.Boolean(), nullable=False),
        sa.Column("rest_start", sa.Date()),
        sa.Column("rest_weeks", sa.Double()),
        sa.Column("rest_place", sa.Text()),
        sa.Column("rest_place_low_c", sa.Double()),
        sa.Column("rest_place_high_c", sa.Double()),
        sa.Column("rest_origin_latitude", sa.Double()),
        sa.Column("rest_from_other_hemisphere_since", sa.Date()),
        sa.Column("rest_first_year_queen", sa.Boolean(), nullable=False),
        sa.Column("drying_mean", sa.Double()),
        sa.Column("drying_variance", sa.Double()),
        sa.ForeignKeyConstraint(["keeper_id"], ["keeper.id"], name="fk_colony_keeper_id_keeper", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_colony"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_colony_keeper_id", "colony", ["keeper_id"])
    op.create_index(
        "uq_colony_keeper_id_name_kept",
        "colony",
        ["keeper_id", "name"],
        unique=True,
        sqlite_where=KEPT,
        postgresql_where=KEPT,
    )


def _delivery() -> None:
    op.create_table(
        "delivery",
        sa.Column("id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("nonce", sa.String(25), nullable=False),
        sa.Column("state", WORD, nullable=False),
        sa.Column("attempts", sa.Integer(), nullable=False),
        sa.Column("created_at", MOMENT, nullable=False),
        sa.Column("first_try_at", MOMENT),
        sa.Column("sent_at", MOMENT),
        sa.Column("channel_id", ID),
        sa.Column("message_id", ID),
        sa.Column("problem", sa.Text()),
        sa.ForeignKeyConstraint(["keeper_id"], ["keeper.id"], name="fk_delivery_keeper_id_keeper", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_delivery"),
        sa.UniqueConstraint("nonce", name="uq_delivery_nonce"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_delivery_keeper_id_state_sent_at", "delivery", ["keeper_id", "state", "sent_at"])


def _place() -> None:
    op.create_table(
        "place",
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("temperature_c", sa.Double()),
        sa.Column("humidity_percent", sa.Double()),
        sa.Column("winter_temperature_c", sa.Double()),
        sa.Column("draughty", sa.Boolean(), nullable=False),
        sa.ForeignKeyConstraint(["keeper_id"], ["keeper.id"], name="fk_place_keeper_id_keeper", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("keeper_id", "position", name="pk_place"),
    )


def _log_entry() -> None:
    op.create_table(
        "log_entry",
        sa.Column("id", ID, nullable=False),
        sa.Column("colony_id", ID, nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("duty", WORD, nullable=False),
        sa.Column("outcome", WORD, nullable=False),
        sa.Column("side", WORD),
        sa.Column("food", sa.Text()),
        sa.Column("count", sa.Integer()),
        sa.Column("note", sa.Text()),
        sa.Column("recorded_at", MOMENT),
        sa.ForeignKeyConstraint(["colony_id"], ["colony.id"], name="fk_log_entry_colony_id_colony", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_log_entry"),
    )
    op.create_index("ix_log_entry_colony_id_duty_day", "log_entry", ["colony_id", "duty", "day"])


def _occurrence() -> None:
    op.create_table(
        "occurrence",
        sa.Column("id", ID, nullable=False),
        sa.Column("colony_id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("duty", WORD, nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("due_at", MOMENT, nullable=False),
        sa.Column("earliest", sa.Date(), nullable=False),
        sa.Column("latest", sa.Date(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("why", sa.JSON(), nullable=False),
        sa.Column("urgency", sa.Integer(), nullable=False),
        sa.Column("useful_days", sa.Integer(), nullable=False),
        sa.Column("facts", sa.JSON(), nullable=False),
        sa.Column("cautions", sa.JSON(), nullable=False),
        sa.Column("state", WORD, nullable=False),
        sa.Column("snoozed", sa.Boolean(), nullable=False),
        sa.Column("delivery_id", ID),
        sa.Column("answered_at", MOMENT),
        sa.Column("outcome", WORD),
        sa.ForeignKeyConstraint(
            ["colony_id"], ["colony.id"], name="fk_occurrence_colony_id_colony", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["delivery_id"], ["delivery.id"], name="fk_occurrence_delivery_id_delivery", ondelete="SET NULL"
        ),
        sa.ForeignKeyConstraint(
            ["keeper_id"], ["keeper.id"], name="fk_occurrence_keeper_id_keeper", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_occurrence"),
        sa.UniqueConstraint("colony_id", "duty", "day", name="uq_occurrence_colony_id_duty_day"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_occurrence_delivery_id", "occurrence", ["delivery_id"])
    op.create_index(
        "ix_occurrence_keeper_id_due_at_planned",
        "occurrence",
        ["keeper_id", "due_at"],
        sqlite_where=PLANNED,
        postgresql_where=PLANNED,
    )
    op.create_index("ix_occurrence_keeper_id_state", "occurrence", ["keeper_id", "state"])


def _delivery_line() -> None:
    op.create_table(
        "delivery_line",
        sa.Column("delivery_id", ID, nullable=False),
        sa.Column("position", sa.Integer(), nullable=False),
        sa.Column("occurrence_id", ID, nullable=False),
        sa.ForeignKeyConstraint(
            ["delivery_id"], ["delivery.id"], name="fk_delivery_line_delivery_id_delivery", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["occurrence_id"], ["occurrence.id"], name="fk_delivery_line_occurrence_id_occurrence", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("delivery_id", "position", name="pk_delivery_line"),
    )
    op.create_index("ix_delivery_line_occurrence_id", "delivery_line", ["occurrence_id"])
