"""The revisions of the tables that this program knows, and a look at the one a database is at.

Booths import this: nothing here reaches another table.
"""

from __future__ import annotations

from sqlalchemy import text
from sqlalchemy.orm import Session

from panel.errors import TablesChanged

REVISION_TABLE = "oakpanel_revision"
REVISIONS = ("0001", "0002", "0003", "0004", "0005", "0006", "0007", "0008", "0009", "0010")
"""All revisions of the tables, oldest first. A test compares them with the migrations."""
HEAD = REVISIONS[-1]
STANDING = text(f"SELECT version_num FROM {REVISION_TABLE}")


def check_tables(db: Session) -> None:
    """Look, first of all in a transaction, whether the tables are still those of this program.

    An upgrade waits until a transaction that looked is over, and one that looks later waits for the
    upgrade (see `panel.store.upgrading`).

    Raises
    ------
    TablesChanged
        They were changed since the database was opened.
    """
    found = db.scalar(STANDING)
    if found == HEAD:
        return
    form = "an older" if found in REVISIONS else "a newer"
    raise TablesChanged(
        f"The database was brought to {form} form while this booth was open (tables {found}, this "
        f"booth knows {HEAD}). What was kept is kept. Close this booth and start it anew."
    )
