"""which batch a release follows, and plans of the stock over the years."""

import sqlalchemy as sa
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "stock_plan",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("limits", sa.String(), nullable=True),
        sa.Column("found_json", sa.String(), nullable=True),
        sa.Column("kept_on", sa.Date(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_stock_plan_name_not_empty")),
        sa.CheckConstraint(
            "(found_json IS NULL) = (kept_on IS NULL)", name=op.f("ck_stock_plan_found_has_day")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_plan")),
        sa.UniqueConstraint("name", name=op.f("uq_stock_plan_name")),
    )
    op.create_table(
        "planned_release",
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("year", sa.Integer(), nullable=False),
        sa.Column("target_id", sa.Integer(), nullable=False),
        sa.Column("bottles", sa.Integer(), nullable=False),
        sa.Column("abv", sa.Double(), nullable=False),
        sa.Column("age_years", sa.Integer(), nullable=True),
        sa.Column("rule_set", sa.String(), nullable=True),
        sa.Column("limits", sa.String(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("name <> ''", name=op.f("ck_planned_release_name_not_empty")),
        sa.CheckConstraint("abv > 0 AND abv <= 100", name=op.f("ck_planned_release_abv_in_range")),
        sa.CheckConstraint(
            "age_years IS NULL OR age_years >= 0", name=op.f("ck_planned_release_age_not_negative")
        ),
        sa.CheckConstraint("bottles > 0", name=op.f("ck_planned_release_bottles_positive")),
        sa.CheckConstraint("place >= 1", name=op.f("ck_planned_release_place_from_one")),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["stock_plan.id"], name=op.f("fk_planned_release_plan_id")
        ),
        sa.ForeignKeyConstraint(
            ["target_id"], ["target.id"], name=op.f("fk_planned_release_target_id")
        ),
        sa.PrimaryKeyConstraint("plan_id", "place", name=op.f("pk_planned_release")),
        sa.UniqueConstraint("plan_id", "name", name=op.f("uq_planned_release_plan_id_name")),
    )
    op.create_index(op.f("ix_planned_release_target_id"), "planned_release", ["target_id"])

    op.create_table(
        "planned_part",
        sa.Column("plan_id", sa.Integer(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("filling_id", sa.Integer(), nullable=False),
        sa.Column("litres", sa.Double(), nullable=False),
        sa.Column("held_l", sa.Double(), nullable=False),
        sa.Column("abv", sa.Double(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("abv > 0 AND abv <= 100", name=op.f("ck_planned_part_abv_in_range")),
        sa.CheckConstraint("held_l > 0", name=op.f("ck_planned_part_held_l_positive")),
        sa.CheckConstraint("litres > 0", name=op.f("ck_planned_part_litres_positive")),
        sa.ForeignKeyConstraint(
            ["filling_id"], ["filling.id"], name=op.f("fk_planned_part_filling_id")
        ),
        sa.ForeignKeyConstraint(
            ["plan_id"], ["stock_plan.id"], name=op.f("fk_planned_part_plan_id")
        ),
        sa.PrimaryKeyConstraint("plan_id", "place", "filling_id", name=op.f("pk_planned_part")),
    )
    op.create_index(op.f("ix_planned_part_filling_id"), "planned_part", ["filling_id"])

    op.create_table(
        "release_batch",
        sa.Column("release_id", sa.Integer(), nullable=False),
        sa.Column("before_id", sa.Integer(), nullable=False),
        sa.Column("within_points", sa.Double(), nullable=False),
        sa.Column("sample_id", sa.Integer(), nullable=True),
        sa.Column("before_sample_id", sa.Integer(), nullable=True),
        sa.Column("found_json", sa.String(), nullable=True),
        sa.Column("found_on", sa.Date(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(found_json IS NULL) = (found_on IS NULL)", name=op.f("ck_release_batch_found_has_day")
        ),
        sa.CheckConstraint(
            "(sample_id IS NULL) = (before_sample_id IS NULL)",
            name=op.f("ck_release_batch_two_samples"),
        ),
        sa.CheckConstraint(
            "release_id <> before_id", name=op.f("ck_release_batch_another_release")
        ),
        sa.CheckConstraint("within_points > 0", name=op.f("ck_release_batch_within_positive")),
        sa.ForeignKeyConstraint(
            ["before_id"], ["release.id"], name=op.f("fk_release_batch_before_id")
        ),
        sa.ForeignKeyConstraint(
            ["before_sample_id"], ["draw.id"], name=op.f("fk_release_batch_before_sample_id")
        ),
        sa.ForeignKeyConstraint(
            ["release_id"], ["release.id"], name=op.f("fk_release_batch_release_id")
        ),
        sa.ForeignKeyConstraint(
            ["sample_id"], ["draw.id"], name=op.f("fk_release_batch_sample_id")
        ),
        sa.PrimaryKeyConstraint("release_id", name=op.f("pk_release_batch")),
    )
    op.create_index(op.f("ix_release_batch_before_id"), "release_batch", ["before_id"])


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
