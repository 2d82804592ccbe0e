"""The tables of passing sessions, as revision 0009 made them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op


def passing_and_planted() -> None:
    """Make what the noses are told, what is planted, and the holds that passing set."""
    op.create_table(
        "passing",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("told", sa.String(), nullable=False),
        sa.Column("parcel", sa.String(), nullable=True),
        sa.Column("air_s", sa.Integer(), nullable=False),
        sa.Column("again_of_id", sa.Integer(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("told <> ''", name=op.f("ck_passing_told_not_empty")),
        sa.CheckConstraint("air_s >= 0", name=op.f("ck_passing_air_s_not_negative")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_passing_session_id")
        ),
        sa.ForeignKeyConstraint(
            ["again_of_id"], ["panel_session.id"], name=op.f("fk_passing_again_of_id")
        ),
        sa.PrimaryKeyConstraint("session_id", name=op.f("pk_passing")),
    )
    op.create_table(
        "planted",
        sa.Column("draw_id", sa.Integer(), nullable=False),
        sa.Column("fault", sa.String(), nullable=True),
        sa.Column("base_draw_id", sa.Integer(), nullable=True),
        sa.Column("stock", sa.String(), nullable=True),
        sa.Column("safety_sheet", sa.String(), nullable=True),
        sa.Column("made_by", sa.String(), nullable=False),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("made_by <> ''", name=op.f("ck_planted_made_by_not_empty")),
        sa.CheckConstraint(
            "(fault IS NULL) = (base_draw_id IS NULL)", name=op.f("ck_planted_base_if_spiked")
        ),
        sa.CheckConstraint(
            "fault IS NULL OR (stock IS NOT NULL AND stock <> '' "
            "AND safety_sheet IS NOT NULL AND safety_sheet <> '')",
            name=op.f("ck_planted_sheet_if_spiked"),
        ),
        sa.ForeignKeyConstraint(["draw_id"], ["draw.id"], name=op.f("fk_planted_draw_id")),
        sa.ForeignKeyConstraint(
            ["base_draw_id"], ["draw.id"], name=op.f("fk_planted_base_draw_id")
        ),
        sa.PrimaryKeyConstraint("draw_id", name=op.f("pk_planted")),
    )
    op.create_index(op.f("ix_planted_base_draw_id"), "planted", ["base_draw_id"])
    op.create_table(
        "passing_hold",
        sa.Column("hold_change_id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["hold_change_id"], ["hold_change.id"], name=op.f("fk_passing_hold_hold_change_id")
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_passing_hold_session_id")
        ),
        sa.PrimaryKeyConstraint("hold_change_id", name=op.f("pk_passing_hold")),
    )
    op.create_index(op.f("ix_passing_hold_session_id"), "passing_hold", ["session_id"])
