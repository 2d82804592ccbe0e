"""What noses said in passing sessions, glass by glass, with what was in each."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.kinds import KNEW_KEY, Fault, ServingStatus, SessionStatus
from panel.store.casks import Cask, Filling
from panel.store.draws import Draw
from panel.store.key import KeyRow, behind_serving
from panel.store.marks_of_fault import DOUBTFUL
from panel.store.passing import Passing
from panel.store.people import Person
from panel.store.planted import Planted
from panel.store.sessions import FaultMark, PanelSession, Serving, SessionAssessor


@dataclass(frozen=True)
class PassedGlass:
    """A glass that somebody passed or held: held where a fault was marked on it.

    `planted` says that it was there to try the nose; `spike` is the fault that it was spiked with,
    None where it was known to be sound. `filling_id` is None for a spike.
    """

    session_id: int
    session: str
    held_on: date | None
    person_id: int
    assessor: str
    block: int
    sample: str
    filling_id: int | None
    cask: str | None
    replicate: int
    planted: bool
    spike: Fault | None
    faults: tuple[Fault, ...]
    status: str

    @property
    def held(self) -> bool:
        """Whether it was held."""
        return bool(self.faults)


def passed(serving: Serving, *, held: bool) -> bool | None:
    """Return whether somebody passed a glass on which a fault is marked, or none (`held`).

    None before it is finished, and where glasses are not passed at all.
    """
    if not serving.session.kind.facts.passes or serving.finished_at is None:
        return None
    return not held


def passed_glasses(
    db: Session,
    *,
    sessions: Collection[int] | None = None,
    fillings: Collection[int] | None = None,
    by: date | None = None,
    revealed_only: bool = True,
    rehearsals: bool = False,
) -> list[PassedGlass]:
    """Return what was said of finished glasses, in the order of sessions, seats and trays.

    Those of which nobody can say what was in them, and those poured again, are left out.
    """
    out = (*DOUBTFUL, ServingStatus.RE_POURED)
    asked = (
        select(Serving, PanelSession, Person, KeyRow, Draw, Planted, Cask, SessionAssessor.knew_key)
        .join(PanelSession, PanelSession.id == Serving.session_id)
        .join(Passing, Passing.session_id == PanelSession.id)
        .join(Person, Person.id == Serving.person_id)
        .join(KeyRow, behind_serving())
        .join(Draw, Draw.id == KeyRow.draw_id)
        .outerjoin(Planted, Planted.draw_id == Draw.id)
        .outerjoin(Filling, Filling.id == Draw.filling_id)
        .outerjoin(Cask, Cask.id == Filling.cask_id)
        .outerjoin(
            SessionAssessor,
            (SessionAssessor.session_id == Serving.session_id)
            & (SessionAssessor.person_id == Serving.person_id),
        )
        .where(Serving.finished_at.is_not(None), Serving.status.not_in(out))
        .order_by(PanelSession.held_on, PanelSession.id, SessionAssessor.seat)
        .order_by(Serving.flight, Serving.position, Serving.id)
    )
    if not rehearsals:
        asked = asked.where(PanelSession.rehearsal.is_(False))
    if sessions is not None:
        asked = asked.where(PanelSession.id.in_(sessions))
    if fillings is not None:
        asked = asked.where(Draw.filling_id.in_(fillings))
    if by is not None:
        asked = asked.where(PanelSession.held_on <= by)
    if revealed_only:
        asked = asked.where(PanelSession.status == SessionStatus.REVEALED)
    rows = db.execute(asked).all()
    faults = _faults(db, [row[0].id for row in rows])
    return [_glass(*row, faults=faults) for row in rows]


def _faults(db: Session, servings: Iterable[int]) -> dict[int, list[Fault]]:
    found: dict[int, list[Fault]] = defaultdict(list)
    wanted = set(servings)
    asked = (
        select(FaultMark.serving_id, FaultMark.fault)
        .join(Serving, Serving.id == FaultMark.serving_id)
        .join(Passing, Passing.session_id == Serving.session_id)
    )
    for serving_id, fault in db.execute(asked):
        if serving_id in wanted:
            found[serving_id].append(fault)
    return found


def _glass(
    serving: Serving,
    session: PanelSession,
    person: Person,
    key: KeyRow,
    draw: Draw,
    planted: Planted | None,
    cask: Cask | None,
    knew: bool | None,
    *,
    faults: dict[int, list[Fault]],
) -> PassedGlass:
    return PassedGlass(
        session_id=session.id,
        session=session.name,
        held_on=session.held_on,
        person_id=person.id,
        assessor=person.code,
        block=serving.flight,
        sample=draw.label,
        filling_id=draw.filling_id,
        cask=cask.number if cask else None,
        replicate=key.replicate,
        planted=planted is not None,
        spike=planted.fault if planted else None,
        faults=tuple(sorted(faults.get(serving.id, ()))),
        status=KNEW_KEY if knew else serving.status.value,
    )
