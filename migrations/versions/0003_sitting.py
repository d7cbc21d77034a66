"""Sitters, colonies that change hands, notes that wait, and an absence that begins later."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision: str = "0003"
down_revision: str | None = "0002"
branch_labels: None = None
depends_on: None = None

ID = sa.BigInteger().with_variant(sa.Integer(), "sqlite")
MOMENT = sa.DateTime(timezone=True)
WORD = sa.String(40)
SAT = sa.text("recipient_id IS NOT NULL")
RECIPIENT = "fk_occurrence_recipient_id_keeper"


def upgrade() -> None:
    """Apply."""
    op.add_column("keeper", sa.Column("away_from", sa.Date()))
    _recipient()
    _sitting()
    _sitting_colony()
    _colony_offer()
    _note()


def downgrade() -> None:
    """Take back."""
    for table in ("note", "colony_offer", "sitting_colony", "sitting"):
        op.drop_table(table)
    op.drop_index("ix_occurrence_recipient_id_state", "occurrence")
    with op.batch_alter_table("occurrence", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.drop_constraint(RECIPIENT, type_="foreignkey")
        batch.drop_column("recipient_id")
    op.drop_column("keeper", "away_from")


def _recipient() -> None:
    with op.batch_alter_table("occurrence", table_kwargs={"sqlite_autoincrement": True}) as batch:
        batch.add_column(sa.Column("recipient_id", ID))
        batch.create_foreign_key(RECIPIENT, "keeper", ["recipient_id"], ["id"], ondelete="SET NULL")
    op.create_index(
        "ix_occurrence_recipient_id_state",
        "occurrence",
        ["recipient_id", "state"],
        sqlite_where=SAT,
        postgresql_where=SAT,
    )


def _sitting() -> None:
    op.create_table(
        "sitting",
        sa.Column("id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("sitter_id", ID, nullable=False),
        sa.Column("since", sa.Date(), nullable=False),
        sa.Column("until", sa.Date(), nullable=False),
        sa.Column("state", WORD, nullable=False),
        sa.Column("unreachable", sa.Boolean(), nullable=False),
        sa.Column("asked_at", MOMENT, nullable=False),
        sa.Column("ended_at", MOMENT),
        sa.ForeignKeyConstraint(["keeper_id"], ["keeper.id"], name="fk_sitting_keeper_id_keeper", ondelete="CASCADE"),
        sa.PrimaryKeyConstraint("id", name="pk_sitting"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_sitting_keeper_id", "sitting", ["keeper_id"])
    op.create_index("ix_sitting_sitter_id", "sitting", ["sitter_id"])


def _sitting_colony() -> None:
    op.create_table(
        "sitting_colony",
        sa.Column("sitting_id", ID, nullable=False),
        sa.Column("colony_id", ID, nullable=False),
        sa.ForeignKeyConstraint(
            ["sitting_id"], ["sitting.id"], name="fk_sitting_colony_sitting_id_sitting", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["colony_id"], ["colony.id"], name="fk_sitting_colony_colony_id_colony", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("sitting_id", "colony_id", name="pk_sitting_colony"),
    )
    op.create_index("ix_sitting_colony_colony_id", "sitting_colony", ["colony_id"])


def _colony_offer() -> None:
    op.create_table(
        "colony_offer",
        sa.Column("id", ID, nullable=False),
        sa.Column("colony_id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("to_id", ID, nullable=False),
        sa.Column("offered_at", MOMENT, nullable=False),
        sa.ForeignKeyConstraint(
            ["colony_id"], ["colony.id"], name="fk_colony_offer_colony_id_colony", ondelete="CASCADE"
        ),
        sa.ForeignKeyConstraint(
            ["keeper_id"], ["keeper.id"], name="fk_colony_offer_keeper_id_keeper", ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_colony_offer"),
        sa.UniqueConstraint("colony_id", name="uq_colony_offer_colony_id"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_colony_offer_keeper_id", "colony_offer", ["keeper_id"])
    op.create_index("ix_colony_offer_to_id", "colony_offer", ["to_id"])


def _note() -> None:
    op.create_table(
        "note",
        sa.Column("id", ID, nullable=False),
        sa.Column("keeper_id", ID, nullable=False),
        sa.Column("kind", WORD, nullable=False),
        sa.Column("due_at", MOMENT, nullable=False),
        sa.Column("about", sa.JSON(), nullable=False),
        sa.Column("delivery_id", ID),
        sa.ForeignKeyConstraint(["keeper_id"], ["keeper.id"], name="fk_note_keeper_id_keeper", ondelete="CASCADE"),
        sa.ForeignKeyConstraint(
            ["delivery_id"], ["delivery.id"], name="fk_note_delivery_id_delivery", ondelete="SET NULL"
        ),
        sa.PrimaryKeyConstraint("id", name="pk_note"),
    )
    op.create_index("ix_note_keeper_id_due_at", "note", ["keeper_id", "due_at"])
    op.create_index("ix_note_delivery_id", "note", ["delivery_id"])
