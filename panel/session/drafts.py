"""A draft read back as the plan it was made from, so that it can be planned again; or dropped."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

from sqlalchemy import delete, func, select
from sqlalchemy.orm import Session

from panel.errors import UnknownRecord
from panel.kinds import GlassKind, PeatOrder, SessionStatus
from panel.session.assigned import Assigned, all_to_all
from panel.session.blueprint import SPECIAL
from panel.session.found import session_at
from panel.session.passing_asked import PassingAsked
from panel.session.passing_parcel import parcel_draws
from panel.session.plan_parts import AS_DRAFTED, AUTO, SessionPlan, doubled
from panel.store.draws import Draw
from panel.store.finding import find_session
from panel.store.house import number_setting
from panel.store.key import (
    KeySecret,
    PlannedDraw,
    PlannedFinding,
    PlannedServing,
    PlannedWay,
)
from panel.store.log import append_entry
from panel.store.passing import Passing
from panel.store.planted import planted_among
from panel.store.sessions import PanelSession, SessionAssessor, SessionDescriptor
from panel.store.stage_lines import in_order, staged_rows


def planned_again(db: Session, name: str) -> SessionPlan:
    """Return the plan of a draft. Its duplicates stand in it as such, unnamed.

    Raises
    ------
    UnknownRecord
        There is no session of that name.
    """
    session = find_session(db, name)
    rows = select(PlannedDraw).where(PlannedDraw.session_id == session.id)
    planned = db.scalars(rows.order_by(PlannedDraw.place)).all()
    passing = passing_again(db, session.id)
    planted = planted_among(db, [row.draw_id for row in planned]) if passing else {}
    nosed = [r for r in planned if r.kind not in SPECIAL and r.draw_id not in planted]
    named = [r.draw.label for r in nosed if not _by_parcel(r, passing)]
    trays = _glasses_on_trays(db, session)
    replicates = min(trays.values() or [row.glasses for row in nosed], default=1)
    finding = db.get(PlannedFinding, session.id)
    expected = None if finding is None else finding.stronger_id
    way = db.get(PlannedWay, session.id) or PlannedWay(
        peat=PeatOrder.RISING, after_peat=False, glasses_each=None, search=1
    )
    left_out = {row.draw.label for row in planted.values()}
    pairs = (pair for pair in drafted_pairs(db, session) if pair.sample not in left_out)
    assigned = () if way.glasses_each else tuple(pairs)
    duplicates = _duplicates(trays, replicates) or (AS_DRAFTED,) * len(doubled(db, session.id))
    special = {kind: [r.draw.label for r in planned if r.kind is kind] for kind in SPECIAL}
    lines = in_order(session.descriptors)
    return SessionPlan(
        name=session.name,
        held_on=session.held_on,
        assessors=tuple(seat.person.code for seat in session.assessors),
        draws=tuple(named),
        descriptors=tuple(line.descriptor_version.descriptor.name for line in lines),
        replicates=max(1, replicates // session.kind.facts.of_each),
        alike_within=None if finding is None else finding.alike_within,
        stronger=next((row.draw.label for row in nosed if row.draw_id == expected), None),
        reference=_the_only(special[GlassKind.REFERENCE]),
        duplicates=() if passing else duplicates,
        warm_up=_the_only(special[GlassKind.WARM_UP]),
        manner=session.manner,
        may_go_back=session.may_go_back,
        codes_per_assessor=session.codes_per_assessor,
        pause_s=session.pause_s,
        pour_ml=session.pour_ml,
        nosing_abv=session.nosing_abv,
        site=session.site,
        kind=session.kind,
        most_words=session.most_words,
        seed=_rehearsal_seed(db, session),
        assigned=() if all_to_all(assigned) else assigned,
        glasses_each=way.glasses_each,
        peat=None if way.peat is PeatOrder.RISING else way.peat,
        after_peat=way.after_peat,
        search=way.search,
        passing=passing,
        stages=tuple(line.descriptor_version.descriptor.name for line in staged_rows(lines)),
        insist=len(lines) > number_setting(db, "session_descriptors"),
    )


def _by_parcel(row: PlannedDraw, passing: PassingAsked | None) -> bool:
    """Say whether a draw comes into a plan by the parcel of which it takes some casks."""
    filling = row.draw.filling
    if passing is None or passing.casks is None or filling is None:
        return False
    return filling.parcel == passing.parcel


def _the_only(labels: Sequence[str]) -> str | None:
    """Return what the lead named; where each draw is the reference in turn, nobody named one."""
    return labels[0] if len(labels) == 1 else None


def passing_again(db: Session, session_id: int) -> PassingAsked | None:
    """Return what was said of a passing session, None of another; what is told is told anew."""
    row = db.get(Passing, session_id)
    if row is None:
        return None
    first = db.get(PanelSession, row.again_of_id) if row.again_of_id is not None else None
    asked = PassingAsked(parcel=row.parcel, again_of=first.name if first else None)
    return replace(asked, casks=_some_casks(db, row))


def _some_casks(db: Session, row: Passing) -> int | None:
    """Return how many of its parcel a session takes; None where it takes all of it."""
    session = db.get_one(PanelSession, row.session_id)
    if row.parcel is None or session.held_on is None:
        return None
    try:
        whole = set(parcel_draws(db, row.parcel, session.held_on))
    except UnknownRecord:  # its samples were destroyed since
        return None
    planned = select(Draw.label).join(PlannedDraw, PlannedDraw.draw_id == Draw.id)
    mine = whole & set(db.scalars(planned.where(PlannedDraw.session_id == session.id)))
    return len(mine) if mine and mine != whole else None


def drafted_pairs(db: Session, session: PanelSession) -> Iterator[Assigned]:
    """Give who was to get which sample, where not everybody was to get all; no duplicates."""
    people = {seat.seat: seat.person.code for seat in session.assessors}
    rows = (
        select(PlannedServing.seat, Draw.label)
        .join(Draw, Draw.id == PlannedServing.draw_id)
        .join(
            PlannedDraw,
            (PlannedDraw.session_id == PlannedServing.session_id)
            & (PlannedDraw.draw_id == PlannedServing.draw_id),
        )
        .where(PlannedServing.session_id == session.id, PlannedServing.replicate == 1)
        .order_by(PlannedServing.seat, PlannedDraw.place)
    )
    for seat, label in db.execute(rows):
        if seat in people:
            yield Assigned(people[seat], label)


def _glasses_on_trays(db: Session, session: PanelSession) -> dict[tuple[int, int], int]:
    """Return by seat and draw how many glasses of it stand there, where trays differ."""
    rows = select(PlannedServing.seat, PlannedServing.draw_id, func.count())
    rows = rows.where(PlannedServing.session_id == session.id)
    counted = rows.group_by(PlannedServing.seat, PlannedServing.draw_id)
    return {(seat, draw_id): count for seat, draw_id, count in db.execute(counted)}


def _duplicates(trays: Mapping[tuple[int, int], int], replicates: int) -> tuple[str, ...]:
    """Return as many as a tray has; where each has its own, planning chooses them anew."""
    twice = Counter(seat for (seat, _), glasses in trays.items() if glasses > replicates)
    return (AUTO,) * max(twice.values(), default=0)


def _rehearsal_seed(db: Session, session: PanelSession) -> int | None:
    """Return the number that a rehearsal was planned with; of other sessions nobody is told."""
    secret = db.get(KeySecret, session.id) if session.rehearsal else None
    return None if secret is None else int(secret.seed_hex, 16)


KEPT_FOR_GOOD = "What was sealed stays, with its key and whatever was scored."


def drop_draft(db: Session, name: str, *, now: datetime, by: str) -> None:
    """Drop a draft: its name is free again. That there was one stands in the log.

    Raises
    ------
    UnknownRecord, WrongState
        There is no session of that name, or it is no draft any more.
    """
    draft = session_at(db, name, SessionStatus.DRAFT, deed="dropping it", too_late=KEPT_FOR_GOOD)
    remove_draft(db, draft)
    append_entry(db, at=now, by=by, action="draft dropped", details={"session": name})


def remove_draft(db: Session, draft: PanelSession) -> None:
    """Delete the rows of a draft; whoever calls writes the log entry that tells of it."""
    plans = (PlannedServing, PlannedWay, PlannedFinding, PlannedDraw, KeySecret, Passing)
    for table in (*plans, SessionAssessor, SessionDescriptor):
        db.execute(delete(table).where(table.session_id == draft.id))
    db.execute(delete(PanelSession).where(PanelSession.id == draft.id))
    db.expire_all()
