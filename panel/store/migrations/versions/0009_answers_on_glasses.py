"""answers on glasses that are no scores on a line, what a session asked first, and passing.

Sessions held before have none of them: they were scored on lines.
"""

import sqlalchemy as sa
from alembic import op

from panel.store.migrations.booth_rules_0009 import ADDED, FUNCTIONS
from panel.store.migrations.passing_0009 import passing_and_planted
from panel.store.migrations.server_rules import change_rules, make_rules

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "answer",
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("question", sa.Integer(), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("given_at", sa.DateTime(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("question >= 1", name=op.f("ck_answer_question_from_one")),
        sa.CheckConstraint("value >= 0 AND value <= 100", name=op.f("ck_answer_value_in_range")),
        sa.ForeignKeyConstraint(["serving_id"], ["serving.id"], name=op.f("fk_answer_serving_id")),
        sa.PrimaryKeyConstraint("serving_id", "question", name=op.f("pk_answer")),
    )
    op.create_table(
        "answer_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("question", sa.Integer(), nullable=False),
        sa.Column("value", sa.Double(), nullable=True),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint(
            "value BETWEEN -1.7e+308 AND 1.7e+308", name=op.f("ck_answer_change_value_finite")
        ),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_answer_change_serving_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_answer_change")),
    )
    op.create_index("ix_answer_change_question", "answer_change", ["serving_id", "question"])
    op.create_table(
        "planned_finding",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("alike_within", sa.Double(), nullable=True),
        sa.Column("stronger_id", sa.Integer(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint(
            "alike_within > 0", name=op.f("ck_planned_finding_alike_within_positive")
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_planned_finding_session_id")
        ),
        sa.ForeignKeyConstraint(
            ["stronger_id"], ["draw.id"], name=op.f("fk_planned_finding_stronger_id")
        ),
        sa.PrimaryKeyConstraint("session_id", name=op.f("pk_planned_finding")),
    )
    passing_and_planted()
    server = op.get_bind()
    if server.dialect.name == "postgresql":
        make_rules(server, ADDED, ())
        change_rules(server, (), FUNCTIONS)


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
