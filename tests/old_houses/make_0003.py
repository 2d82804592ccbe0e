"""Makes the kept house of revision 0003: run it with the program at revision 0003, never later.

    python -m tests.old_houses.make_0003

The same hands and records as those of 0002; who acts proves it by a PIN from a file. What is kept
is named as in `make_0001`.
"""

from __future__ import annotations

from importlib import import_module
from pathlib import Path

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import PIN, House
from tests.old_houses.make_0001 import Recipe, make
from tests.old_houses.make_0002 import glasses_exchanged

DRAWING = (
    *("panel.session.codes", "panel.session.seal", "panel.store.log", "panel.store.pins"),
    *("panel.records.erase", "panel.store.booth_seat", "panel.store.base", "panel.store.passes"),
    "panel.store.booth_role",
)
"""The modules of 0003 that draw secret numbers."""


class Proving(House):
    """Hands that show a PIN with every act."""

    def __init__(self, named: str, folder: Path) -> None:
        super().__init__(named, folder)
        self.pin = folder / "pin"
        self.pin.write_text(f"{PIN}\n", encoding="utf-8")
        self.pin.chmod(0o600)

    def do(self, *words: str, by: str = "Heron", typed: str = "") -> str:
        if words == ("db", "init"):
            words, by = (*words, "--lead", "Heron"), ""
        return super().do("--pin-file", str(self.pin), *words, by=by, typed=typed)


def a_pass_of_the_hour(house: House) -> None:
    """Leave a pass, as a terminal at which somebody typed their PIN does."""
    proving, acts = import_module("panel.records.proving"), import_module("panel.records.acts")
    with house.opened() as store:
        asked = proving.asked_of(store, acts.Act.OPEN, "Heron", now=house.clock(), about=None)
        proving.prove(store, asked, PIN, now=house.clock(), keep_pass=True)


THIRD = Recipe(
    *("0003", DRAWING, records_0002),
    more=(glasses_exchanged, a_pass_of_the_hour),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(THIRD)
