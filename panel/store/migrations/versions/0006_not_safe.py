"""a call that a glass is not safe, stops of draws, how draws look, and consents.

Calls until now had other reasons, no draw was stopped as such (its glasses were void one by one),
nobody looked at a draw, and nobody's consent was on record. The view that tells booths which
glasses are stopped is made after the revisions (`panel.store.stopped_view`).
"""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

REASONS = ("spilled", "doubtful glass", "water", "not safe", "other")


def upgrade() -> None:
    listed = ", ".join(f"'{word}'" for word in REASONS)
    with op.batch_alter_table("lead_call") as calls:
        calls.drop_constraint(op.f("ck_lead_call_call_reason"), type_="check")
        calls.create_check_constraint(op.f("ck_lead_call_call_reason"), f"reason IN ({listed})")
    with op.batch_alter_table("draw") as draws:
        draws.add_column(sa.Column("colour", sa.String(), nullable=True))
        draws.add_column(sa.Column("clarity", sa.String(), nullable=True))
    stops()
    op.create_table(
        "consent",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("given_on", sa.Date(), nullable=False),
        sa.Column("text_version", sa.String(), nullable=False),
        sa.Column("keeps_scores", sa.Boolean(), nullable=False),
        sa.Column("withdrawn_on", sa.Date(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("text_version <> ''", name=op.f("ck_consent_text_version_not_empty")),
        sa.CheckConstraint(
            "withdrawn_on >= given_on", name=op.f("ck_consent_withdrawn_after_given")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_consent_person_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_consent")),
    )
    op.create_index(op.f("ix_consent_person_id"), "consent", ["person_id"])


def stops() -> None:
    op.create_table(
        "draw_stop",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("serving_id", sa.Integer(), nullable=False),
        sa.Column("call_id", sa.Integer(), nullable=True),
        sa.Column("stopped_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("note", sa.String(), nullable=True),
        sa.Column("lifted_at", sa.DateTime(), nullable=True),
        sa.Column("lifted_by", sa.String(), nullable=True),
        sa.Column("lifted_because", sa.String(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint(
            "(lifted_at IS NULL) = (lifted_because IS NULL)",
            name=op.f("ck_draw_stop_lifted_with_a_reason"),
        ),
        sa.CheckConstraint("lifted_because <> ''", name=op.f("ck_draw_stop_reason_not_empty")),
        sa.ForeignKeyConstraint(
            ["serving_id"], ["serving.id"], name=op.f("fk_draw_stop_serving_id")
        ),
        sa.ForeignKeyConstraint(["call_id"], ["lead_call.id"], name=op.f("fk_draw_stop_call_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_draw_stop")),
        sa.UniqueConstraint("call_id", name=op.f("uq_draw_stop_call_id")),
    )
    op.create_index(op.f("ix_draw_stop_serving_id"), "draw_stop", ["serving_id"])
    op.create_table(
        "stopped_mark",
        sa.Column("mark_id", sa.Integer(), nullable=False),
        sa.Column("stop_id", sa.Integer(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["mark_id"], ["serving_mark.id"], name=op.f("fk_stopped_mark_mark_id")
        ),
        sa.ForeignKeyConstraint(
            ["stop_id"], ["draw_stop.id"], name=op.f("fk_stopped_mark_stop_id")
        ),
        sa.PrimaryKeyConstraint("mark_id", name=op.f("pk_stopped_mark")),
    )
    op.create_index(op.f("ix_stopped_mark_stop_id"), "stopped_mark", ["stop_id"])


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
