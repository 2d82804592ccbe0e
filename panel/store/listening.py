"""A connection on which a PostgreSQL server tells whoever listens that the log has gone on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from panel.errors import NoDatabase
from panel.store.engine import Store, explained
from panel.store.notices import LISTEN

if TYPE_CHECKING:
    from collections.abc import Iterator

GONE = "The database's server no longer answers; it is asked again in a moment."


@dataclass(frozen=True)
class Listening:
    """A connection that only listens; it can be waited for beside others."""

    driver: Any
    """The driver's connection: it belongs to no pool, and nothing else is asked on it."""
    number: int
    """Of the open line: something to read on it is a notice, or the line's end."""

    def heard(self) -> bool:
        """Take up what was told, without waiting, and say whether anything was.

        Raises
        ------
        NoDatabase
            The line is gone.
        """
        from psycopg import OperationalError

        try:
            self.driver.pgconn.consume_input()
        except OperationalError:
            raise NoDatabase(GONE) from None
        return len(list(self._notices())) > 0

    def _notices(self) -> Iterator[Any]:
        while (notice := self.driver.pgconn.notifies()) is not None:
            yield notice

    def close(self) -> None:
        """End the line."""
        self.driver.close()


def listen(store: Store) -> Listening | None:
    """Listen from now on; None on a file, which has nobody to tell.

    Raises
    ------
    StoreError
        The server cannot be reached.
    """
    if store.url.get_backend_name() != "postgresql":
        return None
    with explained(store.url):
        connection = store.engine.connect().execution_options(isolation_level="AUTOCOMMIT")
        connection.detach()
        connection.exec_driver_sql(LISTEN)
        driver: Any = connection.connection.dbapi_connection
        return Listening(driver, driver.fileno())
