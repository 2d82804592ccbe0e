"""a log that vouches for every row, waits after a wrong PIN in seconds, and passes for an hour.

What the log says of the rows as they stand is written after the revision (see
`panel.store.vouching`), in the same transaction.
"""

import json

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None

VOUCHED_FOR = (
    *("cask", "descriptor", "descriptor_version", "draw", "draw_part", "fault_mark"),
    *("filling", "filling_event", "house_setting", "key_row", "key_secret", "lead_call"),
    *("make", "mixing_note", "own_score", "own_score_change", "own_word", "own_word_match"),
    *("panel_session", "person", "person_name", "person_role", "planned_draw", "regauge"),
    *("release", "release_bench", "release_part", "rule_line", "rule_set", "score"),
    *("score_change", "serving", "serving_mark", "serving_note", "session_assessor"),
    *("session_descriptor", "target", "target_line"),
)
BOOTH_COLUMNS = ("serving", "session_assessor", "own_word")
"""Tables of which a booth's own user may change some columns only."""
NONCES = {
    "sqlite": "lower(hex(randomblob(16)))",
    "postgresql": "replace(CAST(gen_random_uuid() AS VARCHAR), '-', '')",
}


def upgrade() -> None:
    nonce = NONCES[op.get_bind().dialect.name]
    for table in VOUCHED_FOR:
        op.add_column(table, sa.Column("row_nonce", sa.String(), nullable=True))
        op.execute(f"UPDATE {table} SET row_nonce = {nonce}")
    op.add_column("log_entry", sa.Column("kept_json", sa.String(), nullable=True))
    _head_of_the_log()
    _waits_in_seconds()
    _who_acts()
    if op.get_bind().dialect.name == "postgresql":
        _rights_of_booths()


def _head_of_the_log() -> None:
    op.create_table(
        "log_head",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("entries", sa.Integer(), nullable=False),
        sa.Column("chain_hex", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_log_head")),
    )
    op.execute(
        "INSERT INTO log_head (id, entries, chain_hex) SELECT 1, count(*), coalesce((SELECT "
        f"chain_hex FROM log_entry ORDER BY id DESC LIMIT 1), '{'0' * 64}') FROM log_entry"
    )


def _waits_in_seconds() -> None:
    # Whoever waits now has no wait afterwards, but keeps the count: the next wrong PIN waits on.
    # SQLite makes the table anew, and does not read its checks back by itself.
    kept = sa.CheckConstraint("failures >= 0", name=op.f("ck_sign_in_guard_failures_not_negative"))
    with op.batch_alter_table("sign_in_guard", table_args=(kept,)) as batch:
        batch.add_column(sa.Column("failed_at", sa.DateTime(), nullable=True))
        batch.add_column(sa.Column("wait_s", sa.Integer(), nullable=False, server_default="0"))
        batch.drop_column("wait_until")
        batch.create_check_constraint(op.f("ck_sign_in_guard_wait_s_not_negative"), "wait_s >= 0")


def _who_acts() -> None:
    op.add_column("release", sa.Column("disgorged_by", sa.String(), nullable=True))
    _who_gave_the_litres()
    op.create_table(
        "hour_pass",
        sa.Column("digest_hex", sa.String(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("ends_at", sa.DateTime(), nullable=False),
        sa.Column("row_nonce", sa.String(), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_hour_pass_person_id")),
        sa.PrimaryKeyConstraint("digest_hex", name=op.f("pk_hour_pass")),
    )
    op.create_index(op.f("ix_hour_pass_person_id"), "hour_pass", ["person_id"], unique=False)


def _who_gave_the_litres() -> None:
    bind = op.get_bind()
    asked = sa.text("SELECT body_json FROM log_entry WHERE body_json LIKE :said ORDER BY id")
    told = sa.text(
        "UPDATE release SET disgorged_by = :by WHERE name = :release AND disgorged_on IS NOT NULL"
    )
    for (body,) in bind.execute(asked, {"said": '%"action":"release disgorged"%'}).all():
        said = json.loads(body)
        bind.execute(told, {"by": said["by"], "release": said["release"]})


def _rights_of_booths() -> None:
    """Give the booths' own users what the new columns need: they were granted column by column."""
    bind = op.get_bind()
    asked = sa.text(
        "SELECT DISTINCT grantee FROM information_schema.column_privileges WHERE table_name = "
        "'serving' AND column_name = 'taken_at' AND privilege_type = 'UPDATE' AND grantee <> "
        "current_user AND table_schema = current_schema()"
    )
    for (name,) in bind.execute(asked).all():
        role = '"' + str(name).replace('"', '""') + '"'
        for table in BOOTH_COLUMNS:
            bind.execute(sa.text(f"GRANT UPDATE (row_nonce) ON {table} TO {role}"))
        bind.execute(sa.text(f"GRANT SELECT, UPDATE ON log_head TO {role}"))


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
