"""The tables of sessions nosed at other sites, as revision 0010 made them."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op


def site_packs() -> None:
    """Make packs, the seats that they carry, and the spirit that went with them."""
    op.create_table(
        "site_pack",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("came", sa.Boolean(), nullable=False),
        sa.Column("pack_hex", sa.String(), nullable=False),
        sa.Column("house_hex", sa.String(), nullable=False),
        sa.Column("file_hash", sa.String(), nullable=False),
        sa.Column("secret_hex", sa.String(), nullable=False),
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("water", sa.String(), nullable=False),
        sa.Column("made_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("nose_by", sa.Date(), nullable=False),
        sa.Column("held_on", sa.Date(), nullable=True),
        sa.Column("settled_at", sa.DateTime(), nullable=True),
        sa.Column("return_hash", sa.String(), nullable=True),
        sa.Column("site_head_hex", sa.String(), nullable=True),
        sa.Column("recalled_at", sa.DateTime(), nullable=True),
        sa.Column("recalled_because", sa.String(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("site <> ''", name=op.f("ck_site_pack_site_not_empty")),
        sa.CheckConstraint("water <> ''", name=op.f("ck_site_pack_water_not_empty")),
        sa.CheckConstraint(
            "(recalled_at IS NULL) = (recalled_because IS NULL)",
            name=op.f("ck_site_pack_recalled_with_a_reason"),
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_site_pack_session_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_site_pack")),
        sa.UniqueConstraint("pack_hex", name=op.f("uq_site_pack_pack_hex")),
    )
    op.create_index("ix_site_pack_session_id", "site_pack", ["session_id"])

    op.create_table(
        "pack_amount",
        sa.Column("pack_id", sa.Integer(), nullable=False),
        sa.Column("moved", sa.String(), nullable=False),
        sa.Column("millilitres", sa.Double(), nullable=False),
        sa.Column("abv", sa.Double(), nullable=False),
        sa.Column("moved_on", sa.Date(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("abv > 0 AND abv <= 100", name=op.f("ck_pack_amount_abv_in_range")),
        sa.CheckConstraint(
            "millilitres >= 0", name=op.f("ck_pack_amount_millilitres_not_negative")
        ),
        sa.ForeignKeyConstraint(["pack_id"], ["site_pack.id"], name=op.f("fk_pack_amount_pack_id")),
        sa.PrimaryKeyConstraint("pack_id", "moved", name=op.f("pk_pack_amount")),
    )
    op.create_table(
        "pack_seat",
        sa.Column("pack_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("seat", sa.Integer(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["pack_id"], ["site_pack.id"], name=op.f("fk_pack_seat_pack_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_pack_seat_person_id")),
        sa.PrimaryKeyConstraint("pack_id", "person_id", name=op.f("pk_pack_seat")),
    )
