"""Makes the kept house of revision 0006: run it with the program at revision 0006, never later.

    python -m tests.old_houses.make_0006

The same hands and records as those of 0005, and a session on which a booth called a glass not safe:
its draw was stopped and is safe again. A draw that the pourer looked at, and consents, one of them
withdrawn. What is kept is named as in `make_0001`.
"""

from __future__ import annotations

from importlib import import_module

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import PIN, House, begin, nose, people, plan
from tests.old_houses.make_0001 import CASKS, Recipe, make
from tests.old_houses.make_0002 import glasses_exchanged
from tests.old_houses.make_0003 import DRAWING, Proving, a_pass_of_the_hour
from tests.old_houses.make_0004 import a_mark_taken_back, taken_back
from tests.old_houses.make_0005 import WHO, some_of_the_glasses

NAME, DAY = "snowdrop", "2026-02-26"


def not_safe(house: House) -> None:
    """Hold a session in which a draw is stopped by a call, and lifted by the lead."""
    house.do("register", "look", "W01 2026", "--colour", "pale straw", "--clarity", "hazy")
    plan(house, NAME, DAY, CASKS, *people(*WHO))
    begin(house, NAME, DAY)
    reason = import_module("panel.kinds").CallReason.NOT_SAFE
    with house.opened() as store:
        seat = house.booth.sign_in(store, NAME, WHO[0], PIN, now=house.clock())
        with store.read() as db:
            code = house.scoring.poured(house.booth.tray(db, seat))[0].code
        with store.write() as db:
            glass = house.booth.take_glass(db, seat, code, house.clock())
        with store.write() as db:
            call = house.booth.call_lead(db, seat, reason, house.clock(), glass)
    house.do("session", "calls", NAME, "--answer", str(call))
    why = "the glass was chipped, the draw is sound"
    house.do("session", "mark", NAME, WHO[0], code, "safe-again", "--note", why)
    for who in WHO:
        nose(house, NAME, who)
    house.do("session", "close", NAME)
    house.do("register", "session", NAME, "--fate", "poured away")
    house.do("session", "reveal", NAME)


def consents(house: House) -> None:
    """Record consents, and the withdrawal of one."""
    house.do("house", "set", "consent_text", "2026-01")
    house.do("people", "consent", "Alder", "--keep-scores")
    house.do("people", "consent", "Gorse", "--text", "2025-01", "--given-on", "2026-01-02")
    house.do("people", "withdraw", "Gorse")


SIXTH = Recipe(
    *("0006", DRAWING, records_0002),
    more=(
        *(glasses_exchanged, a_pass_of_the_hour, taken_back, a_mark_taken_back),
        *(some_of_the_glasses, not_safe, consents),
    ),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(SIXTH)
