"""what is taken back and edited, the register reversed, scores that are numbers, notes of a length.

A score that is no number was written by another tool, says nothing and is left out everywhere: it
goes, and what the program itself was given stands in the changes of scores. A note that is longer
than the limit stays whole and is marked as older than it. Both are told to the log after the
revision (see `panel.store.upgrading`), in the same transaction: `db check`, which finds what was
edited past the program, is to be run before the upgrade.
"""

import sqlalchemy as sa
from alembic import op

from panel.store.migrations.booth_rules_0004 import CHANGED, FUNCTIONS
from panel.store.migrations.server_rules import change_rules

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

FINITE = "value BETWEEN -1.7e+308 AND 1.7e+308"
LONGEST_NOTE = 500
REVISED = "oakpanel_revised"
"""Where the rows stand, by table, that a revision changed and the log is to vouch for."""


def upgrade() -> None:
    _what_is_taken_back()
    _edits_of_lists()
    _lines_reversed()
    for table in ("score", "score_change", "own_score_change"):
        _numbers_alone(table)
    _notes_of_a_length()
    _an_hour_at_most()
    for table in ("log_head", "sign_in_secret"):
        _one_row(table)
    if op.get_bind().dialect.name == "postgresql":
        change_rules(op.get_bind(), CHANGED, FUNCTIONS)


def _what_is_taken_back() -> None:
    op.create_table(
        "event_reversal",
        sa.Column("event_id", sa.Integer(), nullable=False),
        sa.Column("taken_back_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["event_id"], ["filling_event.id"], name=op.f("fk_event_reversal_event_id")
        ),
        sa.PrimaryKeyConstraint("event_id", name=op.f("pk_event_reversal")),
    )
    op.create_table(
        "hold_change",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("filling_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(), nullable=True),
        sa.Column("until", sa.Date(), nullable=True),
        sa.Column("reason_before", sa.String(), nullable=True),
        sa.Column("until_before", sa.Date(), nullable=True),
        sa.Column("changed_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("reverses_id", sa.Integer(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["filling_id"], ["filling.id"], name=op.f("fk_hold_change_filling_id")
        ),
        sa.ForeignKeyConstraint(
            ["reverses_id"], ["hold_change.id"], name=op.f("fk_hold_change_reverses_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_hold_change")),
        sa.UniqueConstraint("reverses_id", name=op.f("uq_hold_change_reverses_id")),
    )
    op.create_index(op.f("ix_hold_change_filling_id"), "hold_change", ["filling_id"])
    op.create_table(
        "mark_reversal",
        sa.Column("mark_id", sa.Integer(), nullable=False),
        sa.Column("reverses_id", sa.Integer(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["mark_id"], ["serving_mark.id"], name=op.f("fk_mark_reversal_mark_id")
        ),
        sa.ForeignKeyConstraint(
            ["reverses_id"], ["serving_mark.id"], name=op.f("fk_mark_reversal_reverses_id")
        ),
        sa.PrimaryKeyConstraint("mark_id", name=op.f("pk_mark_reversal")),
    )


def _edits_of_lists() -> None:
    op.create_table(
        "list_edit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("edited", sa.String(), nullable=False),
        sa.Column("name", sa.String(), nullable=False),
        sa.Column("part", sa.String(), nullable=False),
        sa.Column("before_json", sa.String(), nullable=True),
        sa.Column("after_json", sa.String(), nullable=True),
        sa.Column("reverses_id", sa.Integer(), nullable=True),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(
            ["reverses_id"], ["list_edit.id"], name=op.f("fk_list_edit_reverses_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_list_edit")),
        sa.UniqueConstraint("reverses_id", name=op.f("uq_list_edit_reverses_id")),
    )


def _lines_reversed() -> None:
    op.create_table(
        "register_reversal",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("draw_id", sa.Integer(), nullable=False),
        sa.Column("millilitres", sa.Double(), nullable=True),
        sa.Column("reason", sa.String(), nullable=True),
        sa.Column("fate", sa.String(), nullable=True),
        sa.Column("reversed_at", sa.DateTime(), nullable=False),
        sa.Column("by_code", sa.String(), nullable=False),
        sa.Column("because", sa.String(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.CheckConstraint("because <> ''", name=op.f("ck_register_reversal_because_not_empty")),
        sa.ForeignKeyConstraint(
            ["draw_id"], ["draw.id"], name=op.f("fk_register_reversal_draw_id")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_register_reversal")),
    )
    op.create_index(op.f("ix_register_reversal_draw_id"), "register_reversal", ["draw_id"])


def _numbers_alone(table: str) -> None:
    bind = op.get_bind()
    columns = "serving_id, descriptor_version_id" if table == "score" else "id"
    none = f"FROM {table} WHERE NOT ({FINITE})"
    gone = [tuple(row) for row in bind.execute(sa.text(f"SELECT {columns} {none}"))]
    if table == "score":
        op.execute(f"DELETE {none}")
    else:  # that something was given stands; what it was is no number
        op.execute(f"UPDATE {table} SET value = NULL WHERE NOT ({FINITE})")
    _revised(table, gone)
    with op.batch_alter_table(table) as batch:
        batch.create_check_constraint(op.f(f"ck_{table}_value_finite"), FINITE)


def _notes_of_a_length() -> None:
    bind = op.get_bind()
    op.add_column("serving_note", sa.Column("long_before", sa.Boolean(), nullable=True))
    too_long = f"FROM serving_note WHERE length(text) > {LONGEST_NOTE}"
    kept = [tuple(row) for row in bind.execute(sa.text(f"SELECT serving_id {too_long}"))]
    said = sa.text("UPDATE serving_note SET long_before = :yes WHERE serving_id = :note")
    for (number,) in kept:
        bind.execute(said.bindparams(sa.bindparam("yes", True, sa.Boolean)), {"note": number})
    _revised("serving_note", kept)
    rule = f"length(text) <= {LONGEST_NOTE} OR long_before IS NOT NULL"
    with op.batch_alter_table("serving_note") as batch:
        batch.create_check_constraint(op.f("ck_serving_note_text_not_long"), rule)


def _an_hour_at_most() -> None:
    op.execute("UPDATE sign_in_guard SET wait_s = 3600 WHERE wait_s > 3600")
    # SQLite makes the table anew, and does not read its checks back by itself.
    rules = {"failures_not_negative": "failures >= 0", "wait_s_not_negative": "wait_s >= 0"}
    kept = tuple(
        sa.CheckConstraint(rule, name=op.f(f"ck_sign_in_guard_{name}"))
        for name, rule in rules.items()
    )
    with op.batch_alter_table("sign_in_guard", table_args=kept) as batch:
        name = op.f("ck_sign_in_guard_wait_s_an_hour_at_most")
        batch.create_check_constraint(name, "wait_s <= 3600")


def _one_row(table: str) -> None:
    op.execute(f"DELETE FROM {table} WHERE id <> (SELECT min(id) FROM {table})")
    op.execute(f"UPDATE {table} SET id = 1 WHERE id <> 1")
    with op.batch_alter_table(table) as batch:
        batch.create_check_constraint(op.f(f"ck_{table}_id_alone"), "id = 1")


def _revised(table: str, keys: list[tuple[object, ...]]) -> None:
    op.get_bind().info.setdefault(REVISED, {}).setdefault(table, []).extend(keys)


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
