"""Makes the kept house of revision 0009: run it with the program at revision 0009, never later.

    python -m tests.old_houses.make_0009

The same hands and records as those of 0008, a session of pairs, and a draft in which casks are to
be passed. What is kept is named as in `make_0001`.
"""

from __future__ import annotations

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import PIN, House, begin, people
from tests.old_houses.make_0001 import Recipe, make
from tests.old_houses.make_0002 import glasses_exchanged
from tests.old_houses.make_0003 import DRAWING, Proving, a_pass_of_the_hour
from tests.old_houses.make_0004 import a_mark_taken_back, taken_back
from tests.old_houses.make_0005 import WHO, some_of_the_glasses
from tests.old_houses.make_0006 import consents, not_safe
from tests.old_houses.make_0007 import a_batch_and_a_plan
from tests.old_houses.make_0008 import seen_to
from tests.old_houses.records_0001 import NOTES

PAIRS, PASSED = "catkin", "coltsfoot"


def pairs(house: House) -> None:
    """Hold a session of pairs, the first draw said to have more in three of four."""
    draws = ("--draw", "W01 2026", "--draw", "W02 2026", "--descriptor", NOTES[0])
    plan = ("--pairs", *draws, "--alike-within", "1", "--replicates", "2", *people(*WHO))
    house.do("session", "plan", PAIRS, "--held-on", "2026-03-03", *plan)
    begin(house, PAIRS, "2026-03-03")
    for at, who in enumerate(WHO):
        with house.opened() as store:
            seat = house.booth.sign_in(store, PAIRS, who, PIN, now=house.clock())
            with store.read() as db:
                tray = house.scoring.poured(house.booth.tray(db, seat))
            for flight in sorted({glass.flight for glass in tray}):
                glasses = [glass.serving_id for glass in tray if glass.flight == flight]
                places = {glass: 1 + (at + n) % 2 for n, glass in enumerate(glasses)}
                with store.write() as db:
                    house.booth.answer_set(db, seat, flight, places, house.clock())
    house.do("session", "close", PAIRS)
    house.do("register", "session", PAIRS, "--fate", "poured away")
    house.do("session", "reveal", PAIRS)


def a_passing_session(house: House) -> None:
    """Keep what may be planted, and plan a passing session, nothing of it nosed yet."""
    made = ("--base", "W10 2026", "--stock", "a drop of A2", "--sheet", "file 4", "--abv", "20")
    house.do("passing", "sound", "W10 2026")
    house.do("passing", "spike", "W10 soapy", "--fault", "soapy", *made)
    draws = [word for cask in ("W01", "W02", "W03", "W09") for word in ("--draw", f"{cask} 2026")]
    told = ("--told", "four casks of one make")
    house.do("session", "plan", PASSED, "--passing", *draws, *told, *people(WHO[0]))


NINTH = Recipe(
    *("0009", DRAWING, records_0002),
    more=(
        *(glasses_exchanged, a_pass_of_the_hour, taken_back, a_mark_taken_back),
        *(some_of_the_glasses, not_safe, consents, a_batch_and_a_plan, seen_to, pairs),
        a_passing_session,
    ),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(NINTH)
