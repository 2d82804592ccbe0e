"""the review ticked, remarks on bottles and bottles kept back."""

import sqlalchemy as sa
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "bottle_remark",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("release_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "remark",
                "smell or taste",
                "bottle or closure",
                "illness",
                "foreign body",
                name="remark_kind",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("made_on", sa.Date(), nullable=False),
        sa.Column("said", sa.String(), nullable=False),
        sa.Column("kept_on", sa.Date(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("told_safety_on", sa.Date(), nullable=True),
        sa.Column("outcome", sa.String(), nullable=True),
        sa.Column("closed_on", sa.Date(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("said <> ''", name=op.f("ck_bottle_remark_said_not_empty")),
        sa.CheckConstraint(
            "closed_on IS NULL OR outcome IS NOT NULL",
            name=op.f("ck_bottle_remark_closed_has_outcome"),
        ),
        sa.ForeignKeyConstraint(
            ["release_id"], ["release.id"], name=op.f("fk_bottle_remark_release_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bottle_remark")),
    )
    with op.batch_alter_table("bottle_remark", schema=None) as batch_op:
        batch_op.create_index(
            batch_op.f("ix_bottle_remark_release_id"), ["release_id"], unique=False
        )

    op.create_table(
        "review_tick",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("filling_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=False),
        sa.Column("stands_on", sa.Date(), nullable=False),
        sa.Column("done_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("reason <> ''", name=op.f("ck_review_tick_reason_not_empty")),
        sa.ForeignKeyConstraint(
            ["filling_id"], ["filling.id"], name=op.f("fk_review_tick_filling_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_review_tick")),
        sa.UniqueConstraint(
            "filling_id",
            "reason",
            "stands_on",
            name=op.f("uq_review_tick_filling_id_reason_stands_on"),
        ),
    )
    with op.batch_alter_table("review_tick", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_review_tick_filling_id"), ["filling_id"], unique=False)

    op.create_table(
        "lot_bottle",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("release_id", sa.Integer(), nullable=False),
        sa.Column(
            "kind",
            sa.Enum(
                "retained",
                "unopened",
                "came back opened",
                name="bottle_kind",
                native_enum=False,
                create_constraint=True,
            ),
            nullable=False,
        ),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("kept_on", sa.Date(), nullable=False),
        sa.Column("remark_id", sa.Integer(), nullable=True),
        sa.Column("draw_id", sa.Integer(), nullable=True),
        sa.Column("gone_on", sa.Date(), nullable=True),
        sa.Column("gone_to", sa.String(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint(
            "kind <> 'came back opened' OR draw_id IS NULL",
            name=op.f("ck_lot_bottle_opened_not_poured"),
        ),
        sa.CheckConstraint("place <> ''", name=op.f("ck_lot_bottle_place_not_empty")),
        sa.CheckConstraint(
            "gone_on IS NULL OR gone_to IS NOT NULL", name=op.f("ck_lot_bottle_gone_says_where")
        ),
        sa.ForeignKeyConstraint(["draw_id"], ["draw.id"], name=op.f("fk_lot_bottle_draw_id")),
        sa.ForeignKeyConstraint(
            ["release_id"], ["release.id"], name=op.f("fk_lot_bottle_release_id")
        ),
        sa.ForeignKeyConstraint(
            ["remark_id"], ["bottle_remark.id"], name=op.f("fk_lot_bottle_remark_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_lot_bottle")),
    )
    with op.batch_alter_table("lot_bottle", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_lot_bottle_draw_id"), ["draw_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lot_bottle_release_id"), ["release_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_lot_bottle_remark_id"), ["remark_id"], unique=False)

    op.create_table(
        "remark_person",
        sa.Column("remark_id", sa.Integer(), nullable=False),
        sa.Column("outside_name", sa.String(), nullable=False),
        sa.Column("reach", sa.String(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["remark_id"], ["bottle_remark.id"], name=op.f("fk_remark_person_remark_id")
        ),
        sa.PrimaryKeyConstraint("remark_id", name=op.f("pk_remark_person")),
    )


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
