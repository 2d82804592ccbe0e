"""What a booth asks of a PostgreSQL server as its own user, who reaches no more than one seat.

Whoever owns the tables needs none of this; a file knows no users.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import Connection, bindparam, text
from sqlalchemy.orm import Session

from panel.store.base import UtcMoment
from panel.store.notices import tell_listeners

KNOWN = "oakpanel_is_booth"
MAY_NOT = text("SELECT NOT has_table_privilege(to_regclass('log_entry'), 'INSERT')")
SHOW = text("SELECT set_config('oakpanel.seat', :token, true)")
SALT = text("SELECT oakpanel_salt(:code)")
SIGN_IN = text("SELECT * FROM oakpanel_sign_in(:session, :code, :proof, :seat, :place)")
APPEND = text("SELECT oakpanel_append(:at, :body, :told)").bindparams(
    bindparam("at", type_=UtcMoment())
)


@dataclass(frozen=True)
class Answer:
    """What a server says to a sign-in: a seat, or why not."""

    outcome: str
    tries: int
    still_s: int
    session_id: int
    person_id: int
    code: str


def is_booth(connection: Connection) -> bool:
    """Tell whether this is a user who writes to the log by the server's function only."""
    if connection.dialect.name != "postgresql":
        return False
    if KNOWN not in connection.info:
        connection.info[KNOWN] = bool(connection.scalar(MAY_NOT))
    return bool(connection.info[KNOWN])


def token_hash(token: str) -> str:
    """Return what the tables keep of a seat's token."""
    return hashlib.sha256(token.encode()).hexdigest()


def show_token(db: Session, token: str) -> None:
    """Open the seat's own rows to this transaction, where rows are closed."""
    if db.connection().dialect.name == "postgresql":
        db.execute(SHOW, {"token": token})


def append_as_booth(connection: Connection, at: datetime, body_json: str, told_json: str) -> None:
    """Have the server write an entry: it looks at what the seat may tell, and links it itself."""
    connection.execute(APPEND, {"at": at, "body": body_json, "told": told_json})


def salt_of(db: Session, code: str) -> str:
    """Return scheme, cost and salt of a code's PIN; a made-up salt where there is none."""
    return str(db.scalar(SALT, {"code": code}))


def ask_to_sign_in(
    db: Session, session: str, code: str, proof: bytes, token: str, place: str | None
) -> Answer:
    """Send the proof of a PIN: it is counted, and the answer is told once that is kept."""
    given = {"session": session, "code": code, "proof": proof.hex()}
    asked = db.execute(SIGN_IN, {**given, "seat": token_hash(token), "place": place})
    answer = Answer(*asked.one())
    tell_listeners(db.connection())
    return answer
