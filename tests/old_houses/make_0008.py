"""Makes the kept house of revision 0008: run it with the program at revision 0008, never later.

    python -m tests.old_houses.make_0008

The same hands and records as those of 0007, a line of the review seen to, bottles kept back and a
remark on one. What is kept is named as in `make_0001`.
"""

from __future__ import annotations

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import House
from tests.old_houses.make_0001 import Recipe, make
from tests.old_houses.make_0002 import glasses_exchanged
from tests.old_houses.make_0003 import DRAWING, Proving, a_pass_of_the_hour
from tests.old_houses.make_0004 import a_mark_taken_back, taken_back
from tests.old_houses.make_0005 import some_of_the_glasses
from tests.old_houses.make_0006 import consents, not_safe
from tests.old_houses.make_0007 import a_batch_and_a_plan


def seen_to(house: House) -> None:
    """Tick a cask of the review, keep bottles back, and write down what somebody said of one."""
    house.do("stock", "tick", "W04", "--note", "the bung was wet")
    house.do("release", "bottle", "First Light")
    house.do("bottles", "keep", "First Light", "--place", "shelf 2")
    said = ("--said", "Smells of cork.", "--about", "smell or taste", "--who", "Ostrow Invented")
    house.do("bottles", "remark", "First Light", *said)


EIGHTH = Recipe(
    *("0008", DRAWING, records_0002),
    more=(
        *(glasses_exchanged, a_pass_of_the_hour, taken_back, a_mark_taken_back),
        *(some_of_the_glasses, not_safe, consents, a_batch_and_a_plan, seen_to),
    ),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(EIGHTH)
