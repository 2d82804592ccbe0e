"""The bottles that go to another site: one a code, reduced at home, so that none tells its draw."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import ServingStatus
from panel.store.house import number_setting
from panel.store.sessions import Serving

if TYPE_CHECKING:
    from collections.abc import Collection

    from sqlalchemy.orm import Session

    from panel.store.sessions import PanelSession

CARRIED_ABV = 20.0
"""% vol: spirit goes to another site only once it is reduced to this or below."""
NOSED_WITHIN_DAYS = 7
STANDS = (ServingStatus.KEPT, ServingStatus.SWAP_SUSPECTED)


@dataclass(frozen=True)
class Bottle:
    """The bottle of one code: how many glasses it is poured into, and what it holds.

    `tray` is the code of the person whose tray alone has this code; empty where all share codes.
    Litres of pure alcohol are those of the whole volume at the session's strength: a draw that is
    weaker holds less, which no sheet may tell.
    """

    code: str
    tray: str
    glasses: int
    millilitres: float
    abv: float

    @property
    def lpa(self) -> float:
        """Litres of pure alcohol in it."""
        return lpa(self.millilitres, self.abv)


def lpa(millilitres: float, abv: float) -> float:
    """Return litres of pure alcohol in a volume, mL at % vol."""
    return millilitres * abv / 100 / 1000


def standing_glasses(db: Session, session_id: int, people: Collection[int]) -> list[Serving]:
    """Return the glasses of some trays that are to be nosed, seat by seat in their order."""
    asked = select(Serving).where(
        Serving.session_id == session_id,
        Serving.person_id.in_(people),
        Serving.status.in_(STANDS),
    )
    order = (Serving.person_id, Serving.flight, Serving.position, Serving.code, Serving.pouring)
    return list(db.scalars(asked.order_by(*order)))


def bottles_of(db: Session, session: PanelSession, people: Collection[int]) -> tuple[Bottle, ...]:
    """Return the bottles for some seats by code, loss in pipette and measure counted."""
    glasses = standing_glasses(db, session.id, people)
    kept = 1 - number_setting(db, "draw_loss_fraction")
    whose = {seat.person_id: seat.person.code for seat in session.assessors}
    apart = session.codes_per_assessor
    counted = Counter((whose[g.person_id] if apart else "", g.code) for g in glasses)
    return tuple(
        Bottle(code, tray, count, count * session.pour_ml / kept, session.nosing_abv)
        for (tray, code), count in sorted(counted.items())
    )
