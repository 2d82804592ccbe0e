"""kinds of session, parcels, glasses that were exchanged, notes that ought to be absent.

No cap on ethanol stays above 40 g.
"""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None

# SQLite makes the table anew to drop a column, and does not read its checks back by itself.
SESSION_CHECKS = {
    "name_not_empty": "name <> ''",
    "pause_s_not_negative": "pause_s >= 0",
    "pour_ml_positive": "pour_ml > 0",
    "nosing_abv_in_range": "nosing_abv > 0 AND nosing_abv <= 100",
    "sealed_has_hash": "status = 'draft' OR loaded OR key_hash IS NOT NULL",
    "most_words_from_one": "most_words >= 1",
    "session_status": "status IN ('draft', 'sealed', 'open', 'closed', 'revealed')",
    "manner": "manner IN ('nose', 'taste')",
}

PARENT_CHECKS = {
    "parent_if_re_racked": "kind <> 're-racked' OR parent_filling_id IS NOT NULL",
    "parent_only_if_moved_in": "parent_filling_id IS NULL OR kind IN ('re-racked', 'topped')",
}


def upgrade() -> None:
    _sessions_by_kind()
    _toppings_from_parents()
    _exchanged_glasses()
    _notes_of_faults()
    _lower_caps()


def _exchanged_glasses() -> None:
    with op.batch_alter_table("serving") as batch:
        batch.add_column(sa.Column("read_as", sa.String(), nullable=True))


def _notes_of_faults() -> None:
    op.add_column(
        "descriptor_version",
        sa.Column("ought_to_be_absent", sa.Boolean(), nullable=False, server_default=sa.false()),
    )


def _lower_caps() -> None:
    op.execute(
        "UPDATE house_setting SET value = '40' "
        "WHERE name IN ('dose_session_g', 'dose_day_g') AND CAST(value AS FLOAT) > 40"
    )


def _toppings_from_parents() -> None:
    with op.batch_alter_table("filling_event") as batch:
        batch.drop_constraint(op.f("ck_filling_event_parent_if_re_racked"), type_="check")
        for name, rule in PARENT_CHECKS.items():
            batch.create_check_constraint(op.f(f"ck_filling_event_{name}"), rule)


def _sessions_by_kind() -> None:
    with op.batch_alter_table("filling") as batch:
        batch.add_column(sa.Column("parcel", sa.String(), nullable=True))
    op.add_column("panel_session", sa.Column("kind", sa.String(), nullable=True))
    sessions = sa.table(
        "panel_session", sa.column("kind", sa.String()), sa.column("own_words", sa.Boolean())
    )
    kind = sa.case((sessions.c.own_words, "own words"), else_="profile")
    op.execute(sessions.update().values(kind=kind))
    checks = [
        sa.CheckConstraint(rule, name=op.f(f"ck_panel_session_{name}"))
        for name, rule in SESSION_CHECKS.items()
    ]
    with op.batch_alter_table("panel_session", table_args=tuple(checks)) as batch:
        batch.alter_column("kind", existing_type=sa.String(), nullable=False)
        batch.drop_column("own_words")


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
