"""who gets which glass, where not everybody gets every glass, and how a draft is laid out.

Sessions planned before have no such rows: everybody gets everything, smoke rising. And the
numbers of deeds that come from browsers.
"""

import sqlalchemy as sa
from alembic import op

from panel.store.migrations.deeds_0005 import deeds_by_number

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "planned_way",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("peat", sa.String(), nullable=False),
        sa.Column("after_peat", sa.Boolean(), nullable=False),
        sa.Column("glasses_each", sa.Integer(), nullable=True),
        sa.Column("search", sa.Integer(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("glasses_each >= 1", name=op.f("ck_planned_way_glasses_each_from_one")),
        sa.CheckConstraint("search >= 1", name=op.f("ck_planned_way_search_from_one")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_planned_way_session_id")
        ),
        sa.PrimaryKeyConstraint("session_id", name=op.f("pk_planned_way")),
    )
    op.create_table(
        "planned_serving",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("seat", sa.Integer(), nullable=False),
        sa.Column("draw_id", sa.Integer(), nullable=False),
        sa.Column("replicate", sa.Integer(), nullable=False),
        sa.Column("flight", sa.Integer(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("replicate >= 1", name=op.f("ck_planned_serving_replicate_from_one")),
        sa.CheckConstraint("flight >= 1", name=op.f("ck_planned_serving_flight_from_one")),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_planned_serving_session_id")
        ),
        sa.ForeignKeyConstraint(["draw_id"], ["draw.id"], name=op.f("fk_planned_serving_draw_id")),
        sa.PrimaryKeyConstraint(
            "session_id", "seat", "draw_id", "replicate", name=op.f("pk_planned_serving")
        ),
    )
    deeds_by_number()


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
