"""A notice from a PostgreSQL server that the log has gone on: nobody has to ask again and again.

It is sent in the transaction that writes the entry, so the server passes it on at the commit and
not before. It says nothing but that; what was written is read by whoever may.
"""

from __future__ import annotations

from sqlalchemy import Connection, text

CHANNEL = "oakpanel_log"
TELL, LISTEN = text(f"NOTIFY {CHANNEL}"), f"LISTEN {CHANNEL}"


def tell_listeners(connection: Connection) -> None:
    """Have the server tell of this transaction once it is committed; a file has nobody to tell."""
    if connection.dialect.name == "postgresql":
        connection.execute(TELL)
