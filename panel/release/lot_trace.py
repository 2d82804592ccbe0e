"""From a bottle back to vat, casks, draws, sessions and gauges, and on to other lots."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.kinds import BottleKind, ReleaseStatus, RemarkKind
from panel.release.lot_bottles import bottled_lot, find_remark
from panel.release.trace import Traced, trace
from panel.store.bottle_remarks import BottleRemark, LotBottle
from panel.store.casks import Filling, FillingEvent, standing
from panel.store.releases import Release, ReleasePart

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

KEPT_BACK = 2
"""Full bottles of a lot that are kept: enough for one session, and for its repeat."""


@dataclass(frozen=True)
class GaugeTold:
    """What a cask held on a day."""

    on: date
    litres: float
    abv_percent: float
    method: str


@dataclass(frozen=True)
class LotPart:
    """What one cask gave to the vat, and what its records say of it."""

    cask: str
    filling: str
    wood: str
    previous: str | None
    make: str | None
    parcel: str | None
    litres: float
    share_of_vat_percent: float
    abv_percent: float | None
    filled_on: date
    came_from: tuple[str, ...]
    gauges: tuple[GaugeTold, ...]


@dataclass(frozen=True)
class OtherLot:
    """Another release with spirit out of a cask of this one, or out of one that it came from."""

    release: str
    lot: str | None
    status: ReleaseStatus
    bottled_on: date | None
    casks: tuple[str, ...]


@dataclass(frozen=True)
class BottleTold:
    """A bottle of the lot in the house; gone where `gone_on` is told. `sample` was poured of it."""

    bottle: int
    lot: str | None
    release: str
    kind: BottleKind
    place: str
    kept_on: date
    remark: int | None
    sample: str | None
    gone_on: date | None
    gone_to: str | None

    @property
    def is_here(self) -> bool:
        """Whether it stands there full."""
        return self.gone_on is None and self.sample is None


@dataclass(frozen=True)
class RemarkTold:
    """What somebody outside said; who it was is told only where somebody asked for it."""

    remark: int
    lot: str | None
    release: str
    kind: RemarkKind
    made_on: date
    said: str
    by: str
    concerns_safety: bool
    told_safety_on: date | None
    closed_on: date | None
    outcome: str | None
    who_is_kept: bool
    who: str | None = None
    reach: str | None = None


@dataclass(frozen=True)
class LotTrace:
    """Everything that is on record behind a bottle of a lot."""

    release: str
    lot: str | None
    bottled_on: date | None
    bottles: int | None
    bottle_ml: float
    abv_percent: float | None
    vat_litres: float | None
    vat_abv_percent: float | None
    proposed_by: str
    signed_by: str | None
    parts: tuple[LotPart, ...]
    draws: tuple[Traced, ...]
    other_lots: tuple[OtherLot, ...]
    kept: tuple[BottleTold, ...]
    remarks: tuple[RemarkTold, ...]

    @property
    def sessions(self) -> tuple[str, ...]:
        """The revealed sessions that nosed a cask of it or its bench blend."""
        return tuple(dict.fromkeys(each.session for each in self.draws if each.session))

    @property
    def retained_here(self) -> int:
        """Full bottles that were kept back and still stand there."""
        return sum(each.kind is BottleKind.RETAINED and each.is_here for each in self.kept)

    @property
    def open_remarks(self) -> tuple[RemarkTold, ...]:
        """Remarks that nobody has closed."""
        return tuple(each for each in self.remarks if each.closed_on is None)


def trace_lot(db: Session, lot: str, *, with_who: bool = False) -> LotTrace:
    """Return what is on record behind the lot of that code, or the release of that name.

    Raises
    ------
    UnknownRecord, WrongState
        There is none, or it is not bottled.
    """
    return _traced(db, bottled_lot(db, lot), with_who=with_who)


def trace_remark(db: Session, number: int, *, with_who: bool = False) -> LotTrace:
    """Return the same of the lot that a remark is about.

    Raises
    ------
    UnknownRecord
        There is no such remark.
    """
    return _traced(db, find_remark(db, number).release, with_who=with_who)


def _traced(db: Session, release: Release, *, with_who: bool) -> LotTrace:
    remarks = select(BottleRemark).where(BottleRemark.release_id == release.id)
    bottles = select(LotBottle).where(LotBottle.release_id == release.id)
    return LotTrace(
        release=release.name,
        lot=release.lot_code,
        bottled_on=release.bottled_on,
        bottles=release.bottles,
        bottle_ml=release.bottle_ml,
        abv_percent=release.abv,
        vat_litres=release.vat_litres,
        vat_abv_percent=release.vat_abv,
        proposed_by=release.proposed_by,
        signed_by=release.signed_by,
        parts=tuple(_parts(db, release)),
        draws=tuple(trace(db, release)),
        other_lots=tuple(_others(db, release)),
        kept=tuple(bottle_told(each) for each in db.scalars(bottles.order_by(LotBottle.id))),
        remarks=tuple(
            remark_told(each, with_who=with_who)
            for each in db.scalars(remarks.order_by(BottleRemark.made_on, BottleRemark.id))
        ),
    )


def all_remarks(db: Session, *, open_only: bool = False) -> list[RemarkTold]:
    """Return what was said of bottles, open ones first, the newest first; never who."""
    found = [remark_told(each) for each in db.scalars(select(BottleRemark))]
    wanted = [each for each in found if each.closed_on is None or not open_only]
    wanted.sort(key=lambda each: (each.made_on, each.remark), reverse=True)
    return sorted(wanted, key=lambda each: (each.closed_on is not None, not each.concerns_safety))


def all_bottles(db: Session) -> list[BottleTold]:
    """Return the bottles of every lot that the house has or had, by their numbers."""
    return [bottle_told(each) for each in db.scalars(select(LotBottle).order_by(LotBottle.id))]


def remark_told(remark: BottleRemark, *, with_who: bool = False) -> RemarkTold:
    """Return a remark as it is told."""
    person = remark.person if with_who else None
    return RemarkTold(
        remark=remark.id,
        lot=remark.release.lot_code,
        release=remark.release.name,
        kind=remark.kind,
        made_on=remark.made_on,
        said=remark.said,
        by=remark.by_code,
        concerns_safety=remark.kind.concerns_safety,
        told_safety_on=remark.told_safety_on,
        closed_on=remark.closed_on,
        outcome=remark.outcome,
        who_is_kept=remark.person is not None,
        who=None if person is None else person.outside_name,
        reach=None if person is None else person.reach,
    )


def bottle_told(bottle: LotBottle) -> BottleTold:
    """Return a bottle as it is told."""
    return BottleTold(
        bottle=bottle.id,
        lot=bottle.release.lot_code,
        release=bottle.release.name,
        kind=bottle.kind,
        place=bottle.place,
        kept_on=bottle.kept_on,
        remark=bottle.remark_id,
        sample=None if bottle.draw is None else bottle.draw.label,
        gone_on=bottle.gone_on,
        gone_to=bottle.gone_to,
    )


def _parts(db: Session, release: Release) -> Iterator[LotPart]:
    given = {part.filling_id: _litres(part) for part in release.parts}
    whole = sum(given.values()) or 1.0
    came = _came_from(db, given)
    labels = dict(db.execute(select(Filling.id, Filling.label)).all()) if any(came.values()) else {}
    for part in sorted(release.parts, key=lambda part: (-_litres(part), part.filling.label)):
        filling = part.filling
        litres = _litres(part)
        if not litres:
            continue
        yield LotPart(
            cask=filling.cask.number,
            filling=filling.label,
            wood=filling.cask.wood,
            previous=filling.previous,
            make=None if filling.make is None else filling.make.name,
            parcel=filling.parcel,
            litres=litres,
            share_of_vat_percent=100.0 * litres / whole,
            abv_percent=part.given_abv or part.abv,
            filled_on=filling.filled_on,
            came_from=tuple(sorted(labels[each] for each in came[filling.id])),
            gauges=tuple(_gauges(filling)),
        )


def _litres(part: ReleasePart) -> float:
    return part.litres if part.given_l is None else part.given_l


def _gauges(filling: Filling) -> Iterator[GaugeTold]:
    yield GaugeTold(filling.filled_on, filling.fill_bulk_l, filling.fill_abv, "as filled")
    for gauge in filling.regauges:
        yield GaugeTold(gauge.gauged_on, gauge.bulk_l, gauge.abv, gauge.method.value)


def _came_from(db: Session, fillings: Iterable[int]) -> dict[int, set[int]]:
    """Return for each filling all that spirit in it came from, cask by cask back to the make."""
    moved = select(FillingEvent.filling_id, FillingEvent.parent_filling_id).where(
        FillingEvent.parent_filling_id.is_not(None), standing()
    )
    parents: defaultdict[int, set[int]] = defaultdict(set)
    for child, parent in db.execute(moved):
        if parent is not None:
            parents[child].add(parent)
    found: dict[int, set[int]] = {}
    for filling in fillings:
        seen: set[int] = set()
        ahead = list(parents[filling])
        while ahead:
            parent = ahead.pop()
            if parent not in seen:
                seen.add(parent)
                ahead += parents[parent]
        found[filling] = seen
    return found


def _others(db: Session, release: Release) -> Iterator[OtherLot]:
    """Give the releases that share a filling, or one that both came from."""
    rows = db.execute(
        select(ReleasePart.release_id, ReleasePart.filling_id)
        .join(Release, Release.id == ReleasePart.release_id)
        .where(Release.status != ReleaseStatus.CANCELLED)
    ).all()
    by_release: defaultdict[int, set[int]] = defaultdict(set)
    for release_id, filling_id in rows:
        by_release[release_id].add(filling_id)
    came = _came_from(db, {filling_id for _, filling_id in rows})
    mine = _with_origins(by_release.get(release.id, set()), came)
    shared = {
        release_id: mine & _with_origins(fillings, came)
        for release_id, fillings in by_release.items()
        if release_id != release.id
    }
    wanted = {release_id: both for release_id, both in shared.items() if both}
    if not wanted:
        return
    asked = select(Filling).where(Filling.id.in_(set().union(*wanted.values())))
    casks = {each.id: each.cask.number for each in db.scalars(asked)}
    others = select(Release).where(Release.id.in_(wanted)).order_by(Release.planned_on, Release.id)
    for other in db.scalars(others):
        yield OtherLot(
            release=other.name,
            lot=other.lot_code,
            status=other.status,
            bottled_on=other.bottled_on,
            casks=tuple(sorted({casks[each] for each in wanted[other.id]})),
        )


def _with_origins(fillings: set[int], came: dict[int, set[int]]) -> set[int]:
    return fillings.union(*(came[each] for each in fillings))
