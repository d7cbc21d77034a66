"""Feeder cultures: what they are, what was noted of them, and reminders that belong to one."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0006"
down_revision: str | None = "0005"
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)
WORD = sa.String(40)
OF_CULTURE = sa.text("culture_id IS NOT NULL")
CULTURE = "fk_occurrence_culture_id_culture"


def upgrade() -> None:
    """Apply."""
    _culture()
    _culture_entry()
    with op.batch_alter_table("occurrence", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.alter_column("colony_id", existing_type=ID, nullable=True)
        batch.add_column(sa.Column("culture_id", ID))
        batch.create_foreign_key(CULTURE, "culture", ["culture_id"], ["id"], ondelete="CASCADE")
    op.create_index(
        "uq_occurrence_culture_id_day",
        "occurrence",
        ["culture_id", "day"],
        unique=True,
        sqlite_where=OF_CULTURE,
        postgresql_where=OF_CULTURE,
    )
    op.add_column("sitting", sa.Column("feeders", sa.Boolean(), server_default=sa.false(), nullable=False))


def downgrade() -> None:
    """Take back."""
    with op.batch_alter_table("sitting", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.drop_column("feeders")
    op.execute(sa.text("DELETE FROM occurrence WHERE culture_id IS NOT NULL"))
    op.drop_index("uq_occurrence_culture_id_day", "occurrence")
    with op.batch_alter_table("occurrence", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.drop_constraint(CULTURE, type_="foreignkey")
        batch.drop_column("culture_id")
        batch.alter_column("colony_id", existing_type=ID, nullable=False)
    op.drop_table("culture_entry")
    op.drop_table("culture")


def _culture() -> None:
    op.create_table(
        "culture",
        sa.Column("id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("kind", sa.Text(), nullable=False),
        sa.Column("started", sa.Date()),
        sa.Column("animals", sa.Integer()),
        sa.Column("place", sa.Text()),
        sa.Column("temperature_c", sa.Double()),
        sa.Column("registered", sa.Date()),
        sa.Column("created_at", MOMENT),
        sa.ForeignKeyConstraint(["keeper_id"], ["keeper.id"], name="fk_culture_keeper_id_keeper", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_culture"),
        sa.UniqueConstraint("keeper_id", "name", name="uq_culture_keeper_id_name"),
        sqlite_autoincrement=True,
    )


def _culture_entry() -> None:
    op.create_table(
        "culture_entry",
        sa.Column("id", ID, nullable=False),
        sa.Column("culture_id", ID, nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("event", WORD, nullable=False),
        sa.Column("animals", sa.Integer()),
        sa.ForeignKeyConstraint(
            ["culture_id"], ["culture.id"], name="fk_culture_entry_culture_id_culture", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_culture_entry"),
    )
    op.create_index("ix_culture_entry_culture_id_day", "culture_entry", ["culture_id", "day"])
