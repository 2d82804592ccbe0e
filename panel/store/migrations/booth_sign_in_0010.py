"""How the booths' own user signs somebody in on PostgreSQL, as revision 0010 wrote it.

A try is kept before it is looked at: while it can still be undone nothing that the server does
depends on the PIN, so that no count, plan or clock tells whether it was the right one. It is judged
in a later transaction, once the count of it stands.
"""

from __future__ import annotations

from panel.store.migrations.booth_functions_0003 import FUNCTIONS as FIRST
from panel.store.migrations.booth_sign_in_0003 import SIGN_IN
from panel.store.migrations.server_rules import Function

SHAPE = "^scrypt-sha256([$][0-9]{1,9}){3}[$]([0-9a-f]{2}){1,64}[$][0-9a-f]{64}$"
_JUDGED = """
        SELECT p.pin_hash INTO kept FROM person p WHERE p.id = tried.person_id;
        right_one := coalesce(kept ~
            '<shape>'
            AND right(kept, 64) = tried.proof_hash, false);
        RETURN QUERY SELECT * FROM oakpanel_settle(
            session_name, tried.person_id, tried.stranger_hash, right_one,
"""
_CHANGES = (
    (
        "    tried record;\n",
        "    tried record;\n    kept text;\n    right_one boolean;\n",
    ),
    (
        """
        RETURN QUERY SELECT * FROM oakpanel_settle(
            session_name, tried.person_id, tried.stranger_hash, tried.passed,
""",
        _JUDGED.replace("<shape>", SHAPE),
    ),
    (
        "(seat_hash, person_id, stranger_hash, passed, transaction_id, tried_at)\n",
        "(seat_hash, person_id, stranger_hash, proof_hash, transaction_id, tried_at)\n",
    ),
    (
        """
            EXISTS (SELECT 1 FROM person p WHERE p.id = who AND p.pin_hash = oakpanel_salt(typed)
                || '$' || encode(sha256(decode(proof, 'hex')), 'hex')),
""",
        """
            CASE WHEN who IS NOT NULL THEN encode(sha256(decode(proof, 'hex')), 'hex') END,
""",
    ),
)


def _changed(body: str) -> str:
    for before, now in _CHANGES:
        if before not in body:
            raise ValueError(before)
        body = body.replace(before, now)
    return body


FUNCTIONS = tuple(
    Function(
        *(each.name, each.takes, each.gives, each.language),
        *(_changed(SIGN_IN), each.for_booths),
    )
    for each in FIRST
    if each.name == "oakpanel_sign_in"
)
