"""a log that vouches for rows, waits in seconds, passes for an hour, a booth of its seat alone.

What the log says of the rows as they stand is written after the revision (see
`panel.store.vouching`), in the same transaction.
"""

import json
import re
from hashlib import sha256
from secrets import token_hex

import sqlalchemy as sa
from alembic import op

from panel.store.migrations.booth_functions_0003 import FUNCTIONS
from panel.store.migrations.booth_rules_0003 import POLICIES
from panel.store.migrations.server_rules import make_rules

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
BOOTHS_OF_BEFORE = (
    "SELECT DISTINCT grantee FROM information_schema.column_privileges WHERE table_name = "
    "'serving' AND column_name = 'taken_at' AND privilege_type = 'UPDATE' AND table_schema = "
    "current_schema() AND grantee <> 'PUBLIC' AND grantee NOT IN (SELECT tableowner FROM pg_tables "
    "WHERE tablename = 'serving' AND schemaname = current_schema())"
)
HEX = re.compile("(?:[0-9a-f]{2})+")
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
    _seats_by_hash()
    _pins_by_hash()
    _tries_at_a_server()
    if op.get_bind().dialect.name == "postgresql":
        _rules_of_a_server()


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


def _seats_by_hash() -> None:
    with op.batch_alter_table("booth_seat") as batch:
        batch.alter_column("token", new_column_name="token_hash", existing_type=sa.String())
        batch.add_column(sa.Column("fenced_hash", sa.String(), nullable=True))
    bind = op.get_bind()
    for (token,) in bind.execute(sa.text("SELECT token_hash FROM booth_seat")).all():
        hashed = sha256(str(token).encode()).hexdigest()
        changed = sa.text("UPDATE booth_seat SET token_hash = :hashed WHERE token_hash = :token")
        bind.execute(changed, {"hashed": hashed, "token": token})
    with op.batch_alter_table("booth_seat") as batch:
        batch.create_unique_constraint(op.f("uq_booth_seat_token_hash"), ["token_hash"])


def _pins_by_hash() -> None:
    """Keep SHA-256 of what scrypt gave, so that what is stored signs nobody in at a server."""
    bind = op.get_bind()
    asked = sa.text("SELECT id, pin_hash FROM person WHERE pin_hash LIKE 'scrypt$%'")
    for number, stored in bind.execute(asked).all():
        salted, _, found = str(stored).removeprefix("scrypt$").rpartition("$")
        if HEX.fullmatch(found) is None:
            continue  # damaged: it fits no PIN now, and none afterwards
        kept = f"scrypt-sha256${salted}${sha256(bytes.fromhex(found)).hexdigest()}"
        changed = sa.text("UPDATE person SET pin_hash = :kept WHERE id = :number")
        bind.execute(changed, {"kept": kept, "number": number})


def _tries_at_a_server() -> None:
    op.create_table(
        "sign_in_try",
        sa.Column("seat_hash", sa.String(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=True),
        sa.Column("stranger_hash", sa.String(), nullable=True),
        sa.Column("passed", sa.Boolean(), nullable=False),
        sa.Column("transaction_id", sa.String(), nullable=False),
        sa.Column("tried_at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_sign_in_try_person_id")
        ),
        sa.PrimaryKeyConstraint("seat_hash", name=op.f("pk_sign_in_try")),
    )
    op.create_index(op.f("ix_sign_in_try_stranger_hash"), "sign_in_try", ["stranger_hash"])
    op.create_table(
        "sign_in_secret",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("secret_hex", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_sign_in_secret")),
    )
    first = sa.text("INSERT INTO sign_in_secret VALUES (1, :secret)")
    op.get_bind().execute(first, {"secret": token_hex(32)})


def _rules_of_a_server() -> None:
    """Take every right from the booths' users of before, who get new ones by `db booth-role`."""
    bind = op.get_bind()
    for (name,) in bind.execute(sa.text(BOOTHS_OF_BEFORE)).all():
        role = '"' + str(name).replace('"', '""') + '"'
        op.execute(f"REVOKE ALL ON ALL TABLES IN SCHEMA {_schema()} FROM {role}")
        op.execute(f"REVOKE ALL ON ALL SEQUENCES IN SCHEMA {_schema()} FROM {role}")
    make_rules(bind, POLICIES, FUNCTIONS)


def _schema() -> str:
    return str(op.get_bind().scalar(sa.text("SELECT quote_ident(current_schema())")))


def downgrade() -> None:
    raise NotImplementedError("a database goes back by its backup, not by a revision")
