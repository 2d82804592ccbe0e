"""What is asked of passing: one session, many mornings, and what nobody may empty."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING, Any

from analysis.as_json import keys_of
from panel.kinds import Fault
from panel.session.draw_list import NO_PLACE, walked
from panel.session.passing_holds import casks_held, nosed_by_nobody
from panel.session.passing_stands import on_hold, stands_now
from panel.store.filling_states import filling_states
from panel.store.finding import find_session
from panel.store.marks_of_fault import MARKS_FOR_HOLD
from panel.store.passed_glasses import passed_glasses

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.passing import MorningsFound, PassingFound, StandsNow
    from panel.store.sessions import PanelSession


@dataclass(frozen=True)
class PassingAnswer:
    """A passing session as it was judged; nothing in it is private."""

    result: PassingFound

    json_keys = (("result", "**"),)
    json_sometimes = ()

    def to_dict(self, *, private: bool = False) -> dict[str, Any]:
        """Return plain values, ready for JSON."""
        return keys_of(self)


def passing_answer(db: Session, name: str) -> PassingAnswer:
    """Return what a revealed passing session came to: casks, noses, blocks.

    Holds of earlier sessions count as those of other noses, as long as nobody lifted them.

    Raises
    ------
    UnknownRecord, WrongState
        No such session; no passing session, or not revealed yet.
    """
    from analysis.passing import passing_found
    from panel.frames import passing_frame

    session = find_session(db, name)
    frame = passing_frame(db, name)
    return PassingAnswer(
        passing_found(
            frame,
            held_before=_held_before(db, session.id, session.revealed_at),
            nosed_by_nobody={
                draw.filling.cask.number: draw.label
                for draw in nosed_by_nobody(db, session)
                if draw.filling is not None
            },
            stands_now=_stand_now(db, session),
            noses_for_held=MARKS_FOR_HOLD,
        )
    )


def _stand_now(db: Session, session: PanelSession) -> dict[str, StandsNow]:
    """Return by cask how it stands now; nothing of a rehearsal, which holds no cask."""
    here = [glass for glass in passed_glasses(db, sessions=[session.id]) if not glass.planted]
    casks = {glass.filling_id: str(glass.cask) for glass in here if glass.filling_id is not None}
    held = {glass.filling_id for glass in here if glass.held and glass.filling_id is not None}
    found = stands_now(db, held, casks, session.revealed_at)
    return {casks[filling]: now for filling, now in found.items()}


def _held_before(db: Session, session_id: int, until: datetime | None) -> dict[str, int]:
    """Return by cask how many noses, other than those of a session who held it, held it before."""
    here = [glass for glass in passed_glasses(db, sessions=[session_id]) if not glass.planted]
    casks = {glass.filling_id: str(glass.cask) for glass in here if glass.filling_id is not None}
    now: dict[int, set[int]] = {}
    for glass in here:
        if glass.held and glass.filling_id is not None:
            now.setdefault(glass.filling_id, set()).add(glass.person_id)
    held = casks_held(db, casks, until=until)
    return {
        cask: len(held[filling].noses - now.get(filling, set()))
        for filling, cask in casks.items()
        if filling in held
    }


def mornings_answer(db: Session, *, until: date) -> MorningsFound:
    """Return what many mornings of passing tell of the noses, the families and the holds."""
    from analysis.passing import mornings_found
    from panel.frames import mornings_frame

    families = [fault.value for fault in Fault]
    return mornings_found(mornings_frame(db, until=until), families, until=until)


@dataclass(frozen=True)
class Slip:
    """One cask that nobody may empty, where it lies, and why."""

    warehouse: str
    row: str | None
    tier: str | None
    cask: str
    filling: str
    reason: str
    held: bool
    """Whether a second nose repeated it; else it is to be nosed again."""


def do_not_empty(db: Session, on: date) -> tuple[Slip, ...]:
    """Return what passing holds, where it lies on a day, in the order in which somebody walks."""
    held = on_hold(db)
    fillings = [each.filling for each in held.values()]
    numbers = sorted({filling.cask.number for filling in fillings})
    states = filling_states(db, on, only_casks=numbers) if numbers else []
    places = {state.filling_id: state.place for state in states}
    slips = [
        Slip(
            warehouse=places[filling.id].warehouse or NO_PLACE,
            row=places[filling.id].row,
            tier=places[filling.id].tier,
            cask=filling.cask.number,
            filling=filling.label,
            reason=filling.hold_reason or "",
            held=held[filling.id].repeated,
        )
        for filling in fillings
        if filling.id in places
    ]
    return tuple(sorted(slips, key=_walked))


def _walked(slip: Slip) -> tuple[list[tuple[int, int, str]], ...]:
    return tuple(map(walked, (slip.warehouse, slip.row, slip.tier, slip.cask)))
