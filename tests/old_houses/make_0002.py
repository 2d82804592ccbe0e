"""Makes the kept house of revision 0002: run it with the program at revision 0002, never later.

    python -m tests.old_houses.make_0002

The same hands that made the house of 0001, and what came since: parcels, a topping that names its
parent, a note that ought to be absent, glasses that were exchanged, a mark after the reveal. What
is kept is named as there.
"""

from __future__ import annotations

from tests.old_houses import records_0002
from tests.old_houses.hands_0001 import House, begin, nose, people, plan
from tests.old_houses.make_0001 import CASKS, Recipe, make

DRAWING = (
    *("panel.session.codes", "panel.session.seal", "panel.store.log", "panel.store.pins"),
    *("panel.records.erase", "panel.store.booth_seat"),
)
"""The modules of 0002 that draw secret numbers."""
CODES = """
SELECT k.code FROM key_row k JOIN panel_session s ON s.id = k.session_id
WHERE s.name = :session AND k.tray IN ('', :who) ORDER BY k.code
"""


def glasses_exchanged(house: House) -> None:
    """Clear one swap as exchanged and one as recorded; void a glass after the reveal."""
    plan(house, "late-winter", "2026-02-20", CASKS, *people("Alder", "Birch", "Cress", "Elder"))
    begin(house, "late-winter", "2026-02-20")
    for who in ("Alder", "Birch", "Cress", "Elder"):
        nose(house, "late-winter", who)
    house.do("session", "close", "late-winter")
    one, other, third = (
        code for (code,) in house.rows(CODES, session="late-winter", who="Birch")[:3]
    )
    for code in (one, third):
        house.do("session", "mark", "late-winter", "Birch", code, "swap-suspected")
    told = ("--with", other, "--note", "the tray was turned")
    house.do("session", "clear", "late-winter", "Birch", one, "exchanged", *told)
    house.do("session", "clear", "late-winter", "Birch", third, "stood", "--note", "it was not")
    house.do("session", "reveal", "late-winter")
    late = ("void", "--after-reveal", "--note", "a cracked glass was found")
    house.do("session", "mark", "late-winter", "Elder", third, *late)


SECOND = Recipe("0002", DRAWING, records_0002, more=(glasses_exchanged,))

if __name__ == "__main__":
    make(SECOND)
