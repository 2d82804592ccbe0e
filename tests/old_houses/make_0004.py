"""Makes the kept house of revision 0004: run it with the program at revision 0004, never later.

    python -m tests.old_houses.make_0004

The same hands and records as those of 0003, and what can be taken back since: an event, a hold, a
mark, an edit of a list, a line of the register. What is kept is named as in `make_0001`.
"""

from __future__ import annotations

from importlib import import_module

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import House, begin, nose, people, plan
from tests.old_houses.make_0001 import CASKS, Recipe, make
from tests.old_houses.make_0002 import CODES, glasses_exchanged
from tests.old_houses.make_0003 import DRAWING, Proving, a_pass_of_the_hour

MOVED = "cask,kind,happened_on,warehouse\nW02,moved,2026-02-20,Nave\n"


def taken_back(house: House) -> None:
    """Write an event, a hold and a setting and take all back; reverse a line of the register."""
    house.load("events", MOVED)
    house.do("cask", "W02", "--take-back")
    house.load("events", MOVED.replace("Nave", "Crypt"))
    holding = import_module("panel.records.casks")
    with house.opened() as store:
        holding.hold_filling(store, "W03/1", "musty", "", now=house.clock(), by="Heron")
    house.do("cask", "W03", "--take-back")
    house.do("house", "set", "pause_s", "90")
    house.do("house", "set", "pause_s", "--take-back")
    house.do("register", "reverse", "W01 2023", "--because", "it was kept", "--fate", "kept sealed")


def a_mark_taken_back(house: House) -> None:
    """Hold a session on which a glass was voided in error, and tell of what it left."""
    plan(house, "early-spring", "2026-02-24", CASKS, *people("Alder", "Birch", "Cress"))
    begin(house, "early-spring", "2026-02-24")
    for who in ("Alder", "Birch", "Cress"):
        nose(house, "early-spring", who)
    house.do("session", "close", "early-spring")
    code = house.rows(CODES, session="early-spring", who="Birch")[0][0]
    house.do("session", "mark", "early-spring", "Birch", code, "void")
    house.do("session", "mark", "early-spring", "Birch", code, "--take-back")
    house.do("register", "session", "early-spring", "--fate", "poured away")
    house.do("session", "reveal", "early-spring")


FOURTH = Recipe(
    *("0004", DRAWING, records_0002),
    more=(glasses_exchanged, a_pass_of_the_hour, taken_back, a_mark_taken_back),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(FOURTH)
