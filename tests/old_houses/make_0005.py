"""Makes the kept house of revision 0005: run it with the program at revision 0005, never later.

    python -m tests.old_houses.make_0005

The same hands and records as those of 0004, and sessions in which not everybody gets every glass:
one by shares that was held, one by a table of who noses what that is a draft still. What is kept
is named as in `make_0001`.
"""

from __future__ import annotations

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import House, begin, nose, people, plan
from tests.old_houses.make_0001 import CASKS, Recipe, make
from tests.old_houses.make_0002 import glasses_exchanged
from tests.old_houses.make_0003 import DRAWING, Proving, a_pass_of_the_hour
from tests.old_houses.make_0004 import a_mark_taken_back, taken_back

WHO = ("Alder", "Birch", "Cress")
ASSIGNED = "assessor,sample\nAlder,W01 2026\nAlder,W02 2026\nBirch,W02 2026\nBirch,W01 2026\n"


def some_of_the_glasses(house: House) -> None:
    """Hold a session by shares, smoke anywhere on the tray; draft one by a table."""
    shares = ("--each", "4", "--peat", "balanced", "--duplicate", "none")
    plan(house, "thaw", "2026-02-25", CASKS, *people(*WHO), *shares)
    begin(house, "thaw", "2026-02-25")
    for who in WHO:
        nose(house, "thaw", who)
    house.do("session", "close", "thaw")
    house.do("register", "session", "thaw", "--fate", "poured away")
    house.do("session", "reveal", "thaw")
    table = house.folder / "who-noses-what.csv"
    table.write_text(ASSIGNED, encoding="utf-8")
    notes = ("--lexicon", "all", "--held-on", "2026-02-27", "--duplicate", "none")
    house.do("session", "plan", "late-thaw", "--assigned", str(table), *notes)


FIFTH = Recipe(
    *("0005", DRAWING, records_0002),
    more=(
        *(glasses_exchanged, a_pass_of_the_hour, taken_back, a_mark_taken_back),
        some_of_the_glasses,
    ),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(FIFTH)
