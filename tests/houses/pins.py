"""PINs for a house of tests, so that its people can prove who they are."""

from __future__ import annotations

import os
from functools import cache
from pathlib import Path

from panel.store.engine import Store
from panel.store.people import Person
from panel.store.pins import hash_pin

PIN = "2846"


@cache
def hashed() -> str:
    """Hash the PIN once: that is slow on purpose."""
    return hash_pin(PIN)


def give_pins(store: Store) -> None:
    """Give everybody who has no PIN the one of the tests."""
    with store.read() as db:
        without = db.query(Person.id).filter(Person.pin_hash.is_(None)).count()
    if without:
        with store.write() as db:
            for person in db.query(Person).filter(Person.pin_hash.is_(None)):
                person.pin_hash = hashed()


def by_file(store: Store) -> tuple[str, str]:
    """Give everybody a PIN, and return the option with which a command proves by it.

    The house is let go afterwards: a command may want to be alone with it.
    """
    give_pins(store)
    store.close()
    path = Path(os.environ["OAKPANEL_STATE"]).parent / "pin"
    path.write_text(PIN + "\n", encoding="utf-8")
    path.chmod(0o600)
    return "--pin-file", str(path)
