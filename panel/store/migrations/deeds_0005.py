"""The deeds of booths in browsers by their numbers, as revision 0005 made them.

One that is sent again is done once.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from panel.store.migrations.booth_rules_0005 import ADDED
from panel.store.migrations.server_rules import make_rules


def deeds_by_number() -> None:
    """Make their table, and on a server the rule by which a seat reaches its own."""
    op.create_table(
        "booth_deed",
        sa.Column("session_id", sa.Integer(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("number_hex", sa.String(), nullable=False),
        sa.Column("job_hash", sa.String(), nullable=False),
        sa.Column("done_at", sa.DateTime(), nullable=False),
        sa.CheckConstraint(
            "length(number_hex) = 32", name=op.f("ck_booth_deed_number_of_a_length")
        ),
        sa.ForeignKeyConstraint(
            ["session_id"], ["panel_session.id"], name=op.f("fk_booth_deed_session_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_booth_deed_person_id")),
        sa.PrimaryKeyConstraint(
            "session_id", "person_id", "number_hex", name=op.f("pk_booth_deed")
        ),
    )
    if op.get_bind().dialect.name == "postgresql":
        make_rules(op.get_bind(), ADDED, ())
