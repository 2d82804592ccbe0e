"""The table of who is in training, as revision 0010 made it."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op


def people_in_training() -> None:
    """Make the table of trainings."""
    op.create_table(
        "training",
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("begun_on", sa.Date(), nullable=False),
        sa.Column("taken_in_on", sa.Date(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint(
            "taken_in_on >= begun_on", name=op.f("ck_training_taken_in_after_begun")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_training_person_id")),
        sa.PrimaryKeyConstraint("person_id", "begun_on", name=op.f("pk_training")),
    )
