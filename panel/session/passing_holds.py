"""What marks lead to when a passing session is revealed: a hold is no fault until it is repeated.

One nose holds a cask: another who does not know of it noses it again, and nobody empties it before.
A second nose repeats that: it is held. Planted glasses lead to nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from analysis.passing.verdict import nobody_sentences
from panel.figures import count, plural
from panel.kinds import Fault, ServingStatus
from panel.store.casks import Filling, HoldChange
from panel.store.draws import Draw
from panel.store.key import KeyRow, PlannedDraw, behind_serving
from panel.store.marks_of_fault import DOUBTFUL, MARKS_FOR_HOLD
from panel.store.passed_glasses import PassedGlass, passed_glasses
from panel.store.people import Person
from panel.store.planted import PassingHold, Planted, standing_holds
from panel.store.sessions import PanelSession, Serving

REVEALED_AT = select(PanelSession.id, PanelSession.revealed_at)


@dataclass(frozen=True)
class CaskHeld:
    """A filling that noses held since it was last cleared: by whom, in which sessions, for what."""

    filling_id: int
    noses: frozenset[int]
    sessions: tuple[str, ...]
    faults: tuple[Fault, ...]

    @property
    def repeated(self) -> bool:
        """Whether a second nose repeated it."""
        return len(self.noses) >= MARKS_FOR_HOLD

    def reason(self) -> str:
        """Return what stands as the reason of the hold."""
        named = ", ".join(fault.value for fault in self.faults)
        where = " and ".join(self.sessions)
        if self.repeated:
            return f"{named}, held by {len(self.noses)} noses in {where}"
        return f"to nose again: {named}, held by one nose in {where}"


def held_at_reveal(db: Session, session: PanelSession, now: datetime, by: str) -> list[str]:
    """Put what was held on hold, each with what stands before; return what is to do."""
    db.flush()
    here = [glass for glass in passed_glasses(db, sessions=[session.id]) if not glass.planted]
    held = {glass.filling_id for glass in here if glass.held and glass.filling_id is not None}
    nosed = {glass.filling_id for glass in here if glass.filling_id is not None}
    before = standing_holds(db, nosed)
    fillings = {row.id: row for row in db.scalars(select(Filling).where(Filling.id.in_(nosed)))}
    said = [
        _hold(db, session, fillings[each.filling_id], each, now, by)
        for each in casks_held(db, held).values()
    ]
    for filling_id in sorted(nosed - held):
        if filling_id in before:
            label = fillings[filling_id].label
            said.append(
                f"{label} is on hold and was passed now: somebody else than who held it may lift "
                f"the hold (`oakpanel passing lift {label}`)."
            )
    left = [draw.label for draw in nosed_by_nobody(db, session)]
    return [*sorted(said), *nobody_sentences(left)]


def nosed_by_nobody(db: Session, session: PanelSession) -> list[Draw]:
    """Return the samples of the casks of the plan of which no glass was finished, in its order."""
    glasses = passed_glasses(db, sessions=[session.id], revealed_only=False, rehearsals=True)
    nosed = {glass.filling_id for glass in glasses if not glass.planted}
    return [draw for draw in _planned_casks(db, session) if draw.filling_id not in nosed]


def _planned_casks(db: Session, session: PanelSession) -> list[Draw]:
    """Return the samples that are planned to be passed, in the order of the plan."""
    asked = (
        select(Draw)
        .join(PlannedDraw, PlannedDraw.draw_id == Draw.id)
        .where(PlannedDraw.session_id == session.id, Draw.filling_id.is_not(None))
        .where(Draw.id.not_in(select(Planted.draw_id)))
        .order_by(PlannedDraw.place)
    )
    return list(db.scalars(asked))


def on_no_tray(db: Session, session: PanelSession) -> Iterator[str]:
    """Say, once seats have changed, how many casks no tray holds that somebody noses.

    Which ones they are is told at the reveal.
    """
    out = (*DOUBTFUL, ServingStatus.RE_POURED)
    held = (
        select(KeyRow.draw_id)
        .select_from(Serving)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .where(Serving.session_id == session.id, Serving.status.not_in(out))
    )
    stands = set(db.scalars(held))
    left = sum(draw.id not in stands for draw in _planned_casks(db, session))
    if left:
        casks = f"{count(left, 'cask')} {plural('stands', left, 'stand')}"
        yield (
            f"{casks} on no tray that is left, so nobody noses what is in them: neither passed nor "
            "held. A late nose who takes the tray over (--late) noses them."
        )


def casks_held(
    db: Session, fillings: Iterable[int], *, until: datetime | None = None
) -> Mapping[int, CaskHeld]:
    """Return by filling who held it in passing since its last hold was lifted.

    With `until` as it stood at that moment.
    """
    wanted = set(fillings)
    glasses = [g for g in passed_glasses(db, fillings=wanted) if g.held and not g.planted]
    since = last_cleared(db, wanted, until)
    opened = {at: revealed for at, revealed in db.execute(REVEALED_AT)}
    found: dict[int, list[PassedGlass]] = {}
    for glass in glasses:
        revealed, cleared = opened[glass.session_id], since.get(glass.filling_id or 0)
        if revealed is None or (until is not None and revealed > until):
            continue
        if cleared is None or revealed > cleared:
            found.setdefault(glass.filling_id or 0, []).append(glass)
    return {
        filling: CaskHeld(
            filling,
            frozenset(glass.person_id for glass in mine),
            tuple(dict.fromkeys(glass.session for glass in mine)),
            tuple(fault for fault in Fault if any(fault in glass.faults for glass in mine)),
        )
        for filling, mine in found.items()
    }


def last_cleared(db: Session, fillings: set[int], until: datetime | None) -> Mapping[int, datetime]:
    """Return when the hold of each filling was last lifted."""
    asked = (
        select(HoldChange.filling_id, func.max(HoldChange.changed_at))
        .where(HoldChange.filling_id.in_(fillings), HoldChange.reason.is_(None))
        .group_by(HoldChange.filling_id)
    )
    if until is not None:
        asked = asked.where(HoldChange.changed_at <= until)
    return {filling: at for filling, at in db.execute(asked)}


def _hold(
    db: Session, session: PanelSession, filling: Filling, held: CaskHeld, now: datetime, by: str
) -> str:
    ours = filling.id in standing_holds(db, [filling.id])
    if filling.hold_reason is not None and not ours:
        return f"{filling.label}: {held.reason()}; it was on hold already ({filling.hold_reason})."
    change = HoldChange(
        filling=filling,
        reason=held.reason(),
        until=None,
        reason_before=filling.hold_reason,
        until_before=filling.hold_until,
        changed_at=now,
        by_code=by,
    )
    db.add(change)
    db.flush()
    db.add(PassingHold(hold_change_id=change.id, session_id=session.id))
    filling.hold_reason, filling.hold_until = change.reason, None
    if held.repeated:
        return f"{filling.label} is held: {held.reason()}. Do not empty it."
    return f"{filling.label} is to be nosed again by a second nose: {held.reason()}."
