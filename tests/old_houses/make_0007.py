"""Makes the kept house of revision 0007: run it with the program at revision 0007, never later.

    python -m tests.old_houses.make_0007

The same hands and records as those of 0006, a release that follows another with its blind check
named, and a plan of the stock with the casks that were kept with it.
What is kept is named as in `make_0001`.
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

PLANS = (
    "plan,release,year,target,bottles,abv,age,limits\n"
    "Years,,,,,,,draw 900\n"
    "Years,Millrace 2027,2027,Millrace,60,46,,parts; over 30\n"
    "Years,Millrace 2028,2028,Millrace,60,46,,parts; over 30\n"
)


def a_batch_and_a_plan(house: House) -> None:
    """Propose a batch after another, name its check, and keep the casks of a plan."""
    like = ("--target", "Millrace", "--as-batch", "First Light", "--free-recipe")
    house.do("release", "propose", "Fourth Light", *like, "--litres", "60", "--part")
    house.do("release", "bench", "Fourth Light")
    house.do("release", "check", "Fourth Light", "--session", "side-by-side")
    house.load("plans", PLANS)
    house.do("stock", "plan", "Years", "--keep")


SEVENTH = Recipe(
    *("0007", DRAWING, records_0002),
    more=(
        *(glasses_exchanged, a_pass_of_the_hour, taken_back, a_mark_taken_back),
        *(some_of_the_glasses, not_safe, consents, a_batch_and_a_plan),
    ),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(SEVENTH)
