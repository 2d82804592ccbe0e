"""A blind session of what was kept back of a lot beside a bottle that nobody has opened."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.errors import PlanRefused
from panel.kinds import USUAL_KIND, BottleKind, DrawKind
from panel.release.lot_bottles import bottled_lot, nosing_forbidden
from panel.session.last_time import like_last_time
from panel.session.plan import PlanSummary, SessionPlan, lexicon_names, plan_session
from panel.store.bottle_remarks import LotBottle
from panel.store.draws import Draw
from panel.store.house import today_at_site
from panel.store.training import panel_on
from panel.store.who import lead_or_first

if TYPE_CHECKING:
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from panel.store.releases import Release

TWICE = 2
"""Each bottle is poured twice, so that the panel can be told from its own unsteadiness."""


@dataclass(frozen=True)
class BottlesNosed:
    """The draft of a session, and the bottles that are opened for it."""

    session: str
    lot: str | None
    retained: int
    unopened: int
    samples: tuple[str, str]
    plan: PlanSummary


def plan_bottle_nosing(
    db: Session,
    lot: str,
    name: str,
    *,
    held_on: date | None = None,
    now: datetime,
    by: str | None,
) -> BottlesNosed:
    """Write the draft of a session in which a retained bottle is nosed beside an unopened one.

    People, lines, pour and pause are those of the last session. An opened bottle that came back is
    never taken: nobody knows what is in it. That is for a laboratory.

    Raises
    ------
    PlanRefused
        A bottle is lacking, a remark on the lot concerns safety, or the plan cannot be served.
    UnknownRecord, WrongState, NotAllowed
        There is no such lot, it is not bottled, or whoever acts does not lead.
    """
    today = today_at_site(db, now)
    code = lead_or_first(db, by, on=today)
    release = bottled_lot(db, lot)
    _refuse(db, release)
    bottles = [_first(db, release, kind) for kind in (BottleKind.RETAINED, BottleKind.UNOPENED)]
    retained, unopened = (each for each in bottles if each is not None)
    samples = tuple(_sample(db, each, held_on or today) for each in (retained, unopened))
    plan = replace(_usual(db, held_on or today), name=name, draws=samples)
    summary = plan_session(db, plan, now=now, by=code)
    return BottlesNosed(
        *(name, release.lot_code, retained.id, unopened.id), (samples[0], samples[1]), summary
    )


def _refuse(db: Session, release: Release) -> None:
    said = list(nosing_forbidden(db, release))
    if _first(db, release, BottleKind.RETAINED) is None:
        said.append("no full bottle that was kept back is left")
    if _first(db, release, BottleKind.UNOPENED) is None:
        said.append(
            "no unopened bottle from outside is here: have one sent, and write it down with "
            f"`oakpanel bottles keep {release.lot_code} --kind unopened`; an opened one is never "
            "poured for anybody"
        )
    if said:
        raise PlanRefused(f"No session of {release.lot_code} was planned: {'; '.join(said)}.")


def _first(db: Session, release: Release, kind: BottleKind) -> LotBottle | None:
    full = select(LotBottle).where(
        LotBottle.release_id == release.id,
        LotBottle.kind == kind,
        LotBottle.gone_on.is_(None),
        LotBottle.draw_id.is_(None),
    )
    return db.scalars(full.order_by(LotBottle.kept_on, LotBottle.id)).first()


def _sample(db: Session, bottle: LotBottle, on: date) -> str:
    release = bottle.release
    label = f"{release.lot_code}-B{bottle.id}"
    draw = Draw(
        label=label,
        kind=DrawKind.MARKET,
        batch=release.lot_code,
        drawn_on=on,
        abv=release.abv,
        volume_ml=release.bottle_ml,
        reason=f"bottle {bottle.id} of {release.name}, {bottle.kind.value}",
    )
    bottle.draw = draw
    db.add(draw)
    db.flush()
    return label


def _usual(db: Session, on: date) -> SessionPlan:
    last = like_last_time(db, USUAL_KIND, on=on)
    if last is not None:
        plan = replace(last.plan, reference=None, warm_up=None, duplicates=(), glasses_each=None)
    else:
        there = tuple(person.code for person in panel_on(db, on))
        plan = SessionPlan("", there, (), ())
        plan = replace(plan, descriptors=lexicon_names(db, plan.manner, on), duplicates=())
    return replace(plan, held_on=on, replicates=TWICE, peat=None, after_peat=False)
