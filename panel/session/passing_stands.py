"""How a cask stands now that noses held it in passing: one rule for slips, answers and lifting."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import select

from analysis.passing.result import NowWord, StandsNow
from panel.clock import site_date
from panel.kinds import KNEW_KEY
from panel.session.passing_holds import REVEALED_AT, CaskHeld, casks_held, last_cleared
from panel.store.casks import Filling
from panel.store.house import read_setting
from panel.store.passed_glasses import PassedGlass, passed_glasses
from panel.store.planted import PassingHold, standing_holds
from panel.store.sessions import PanelSession

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session


@dataclass(frozen=True)
class OnHold:
    """A filling that passing holds and nobody may empty; `held` is who held it since when."""

    filling: Filling
    hold: PassingHold
    held: CaskHeld | None

    @property
    def repeated(self) -> bool:
        """Whether a second nose repeated it; else it is to be nosed again."""
        return self.held is not None and self.held.repeated


def on_hold(db: Session, fillings: Iterable[int] | None = None) -> Mapping[int, OnHold]:
    """Return by filling what passing holds, of some fillings or of all."""
    holds = standing_holds(db, fillings)
    held = casks_held(db, holds)
    asked = select(Filling).where(Filling.id.in_(holds), Filling.hold_reason.is_not(None))
    return {row.id: OnHold(row, holds[row.id], held.get(row.id)) for row in db.scalars(asked)}


def passed_since(db: Session, on: OnHold) -> list[PassedGlass]:
    """Return the glasses by which others passed a cask after it was first held, newest first."""
    noses = on.held.noses if on.held is not None else frozenset()
    glasses = [g for g in passed_glasses(db, fillings=[on.filling.id]) if not g.planted]
    revealed = {at: moment for at, moment in db.execute(REVEALED_AT)}
    set_at = db.get_one(PanelSession, on.hold.session_id).revealed_at
    stopped = {(g.session_id, g.person_id) for g in glasses if g.held}
    found = [
        glass
        for glass in glasses
        if not glass.held
        and glass.person_id not in noses
        and (glass.session_id, glass.person_id) not in stopped
        and glass.status != KNEW_KEY
        and glass.session_id != on.hold.session_id
        and _not_before(revealed.get(glass.session_id), set_at)
    ]
    return found[::-1]


def _not_before(moment: datetime | None, before: datetime | None) -> bool:
    return moment is not None and before is not None and moment >= before


def stands_now(
    db: Session, held_then: Iterable[int], nosed: Iterable[int], then: datetime | None
) -> Mapping[int, StandsNow]:
    """Return by filling how those stand that were held `then`, or are on hold though passed."""
    wanted = set(held_then)
    holds = on_hold(db, {*wanted, *nosed})
    found = {filling: _held_now(db, on) for filling, on in holds.items()}
    cleared = last_cleared(db, wanted, None)
    zone = str(read_setting(db, "time_zone"))
    rows = db.scalars(select(Filling).where(Filling.id.in_(wanted - set(found))))
    for row in rows:
        at = cleared.get(row.id)
        if row.hold_reason is not None:
            found[row.id] = StandsNow(NowWord.OTHERWISE, row.hold_reason)
        elif at is not None and then is not None and at >= then:
            found[row.id] = StandsNow(NowWord.LIFTED, lifted_on=site_date(at, zone))
    return found


def _held_now(db: Session, on: OnHold) -> StandsNow:
    passed = passed_since(db, on)
    return StandsNow(
        NowWord.HELD if on.repeated else NowWord.AGAIN,
        reason=on.filling.hold_reason,
        noses=len(on.held.noses) if on.held else 0,
        sessions=on.held.sessions if on.held else (),
        passed_in=tuple(sorted({glass.session for glass in passed})),
    )
