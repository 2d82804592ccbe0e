"""What revision 0010 changed on a PostgreSQL server: how booths' users come to what is theirs.

They read and write by views of their own (`panel.store.booth_front`), and none of the tables, whose
rules of rows a plan gets round. Which try of a PIN is judged when: `booth_sign_in_0010`.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from panel.store.migrations.booth_functions_0010 import FUNCTIONS as OF_ENTRIES
from panel.store.migrations.booth_sign_in_0010 import FUNCTIONS as OF_TRIES
from panel.store.migrations.server_rules import change_rules

FUNCTIONS = (*OF_ENTRIES, *OF_TRIES)
BOOTHS_OF_BEFORE = (
    "SELECT DISTINCT r.rolname FROM pg_attribute a CROSS JOIN aclexplode(a.attacl) g "
    "JOIN pg_roles r ON r.oid = g.grantee WHERE a.attrelid = to_regclass('serving') "
    "AND a.attname = 'taken_at' AND g.privilege_type = 'UPDATE' AND r.rolcanlogin"
)


def booths_behind_views() -> None:
    """Keep what a try was proved by, not whether it passed; take the tables from the booths.

    `db booth-role` gives them their views.
    """
    with op.batch_alter_table("sign_in_try") as tries:
        tries.add_column(sa.Column("proof_hash", sa.String(), nullable=True))
        tries.drop_column("passed")
    bind = op.get_bind()
    if bind.dialect.name != "postgresql":
        return
    change_rules(bind, (), FUNCTIONS)
    schema = str(bind.scalar(sa.text("SELECT quote_ident(current_schema())")))
    for (name,) in bind.execute(sa.text(BOOTHS_OF_BEFORE)).all():
        role = '"' + str(name).replace('"', '""') + '"'
        op.execute(f"REVOKE ALL ON ALL TABLES IN SCHEMA {schema} FROM {role}")
