"""Makes the kept house of revision 0010: run it with the program at revision 0010, never later.

    python -m tests.old_houses.make_0010

The same hands and records as those of 0009, somebody in training, and seats at another site. What
is kept is named as in `make_0001`.
"""

from __future__ import annotations

from tempfile import TemporaryDirectory

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import House, people
from tests.old_houses.make_0001 import Recipe, make
from tests.old_houses.make_0002 import glasses_exchanged
from tests.old_houses.make_0003 import DRAWING, Proving, a_pass_of_the_hour
from tests.old_houses.make_0004 import a_mark_taken_back, taken_back
from tests.old_houses.make_0005 import WHO, some_of_the_glasses
from tests.old_houses.make_0006 import consents, not_safe
from tests.old_houses.make_0007 import a_batch_and_a_plan
from tests.old_houses.make_0008 import seen_to
from tests.old_houses.make_0009 import a_passing_session, pairs
from tests.old_houses.records_0001 import NOTES

AWAY = "meadowsweet"


def in_training(house: House) -> None:
    """Let somebody begin to be trained."""
    house.do("people", "add", "Rush", "--role", "assessor")
    house.do("training", "begin", "Rush")


def seats_away(house: House) -> None:
    """Seal a session and send one seat of it to another site."""
    draws = ("--draw", "W01 2026", "--draw", "W02 2026", "--descriptor", NOTES[0])
    house.do("session", "plan", AWAY, *draws, *people(*WHO))
    house.do("session", "seal", AWAY)
    seat = ("--to", "Quay", "--water", "spring water of the house", "--assessor", WHO[0])
    with TemporaryDirectory() as folder:
        house.do("session", "pack", AWAY, f"{folder}/quay.pack", *seat)


TENTH = Recipe(
    *("0010", DRAWING, records_0002),
    more=(
        *(glasses_exchanged, a_pass_of_the_hour, taken_back, a_mark_taken_back),
        *(some_of_the_glasses, not_safe, consents, a_batch_and_a_plan, seen_to, pairs),
        *(a_passing_session, in_training, seats_away),
    ),
    privileges=True,
    house=Proving,
)

if __name__ == "__main__":
    make(TENTH)
