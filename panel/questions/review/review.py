"""What in the warehouse needs somebody today, warehouse by warehouse, the worst first."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING

from sqlalchemy import func, select

from analysis.days import DAYS_A_YEAR
from panel.questions.review.found import lies_of, lying_on, of_the_plans, of_the_records
from panel.questions.review.matters import RANK, TOLD_AS_ONE, Lies, Matter, Reason
from panel.questions.stock_part import OWN, StockPart
from panel.store.casks import Cask, Filling
from panel.store.house import number_setting, today_at_site
from panel.store.review_ticks import ReviewTick

if TYPE_CHECKING:
    from datetime import datetime

    from sqlalchemy.orm import Session

    from analysis.ageing import Window


@dataclass(frozen=True)
class Alike:
    """How many casks lie in one place and belong together."""

    lies: Lies
    n_casks: int


@dataclass(frozen=True)
class Found:
    """Everything that needs somebody, and how many casks there are; what was seen to included."""

    matters: tuple[Matter, ...]
    casks: tuple[Alike, ...]
    not_told: tuple[str, ...] = ()
    """Why some reasons could not be looked at."""


@dataclass(frozen=True)
class ReviewLine:
    """One thing to do: at one cask, or at those of a parcel that need the same.

    `casks` stand in walking order, `matter` is that of the worst; `walk` is the place of the line
    on the way through the warehouse, from 1.
    """

    reason: Reason
    casks: tuple[str, ...]
    parcel: str | None
    place: str
    walk: int
    matter: Matter
    matters: tuple[Matter, ...]

    @property
    def cask(self) -> str:
        """The cask to begin with."""
        return self.casks[0]


@dataclass(frozen=True)
class WarehouseReview:
    """The lines of one warehouse, the worst first; `not_shown` more are there."""

    site: str | None
    warehouse: str | None
    n_casks: int
    n_needing: int
    lines: tuple[ReviewLine, ...]
    not_shown: int

    @property
    def walked(self) -> list[ReviewLine]:
        """The lines in walking order."""
        return sorted(self.lines, key=lambda line: line.walk)


@dataclass(frozen=True)
class TickLine:
    """A matter that was seen to."""

    cask: str
    reason: str
    done_on: date
    by: str
    note: str | None


@dataclass(frozen=True)
class Review:
    """What needs somebody on a day."""

    as_of: date
    part: StockPart
    n_casks: int
    n_needing: int
    warehouses: tuple[WarehouseReview, ...]
    done: tuple[TickLine, ...]
    not_told: tuple[str, ...]


def house_review(db: Session, *, as_of: date, part: StockPart | None = None) -> Review:
    """Return what needs somebody, but for what was seen to since.

    Raises
    ------
    UnknownRecord
        Nothing that lies in a cask belongs to that part of the stock.
    """
    found, wanted = review_found(db, as_of), part or StockPart()
    _refuse_unknown(found, wanted)
    done = _done(db)
    matters = [
        matter
        for matter in found.matters
        if wanted.has_records(_records(matter.lies))
        and not _seen_to(matter, done.get((matter.filling_id, matter.reason.value)))
    ]
    casks: Counter[tuple[str, str]] = Counter()
    for alike in found.casks:
        if wanted.has_records(_records(alike.lies)):
            casks[_house(alike.lies)] += alike.n_casks
    most = int(number_setting(db, "review_lines"))
    by_house: dict[tuple[str, str], list[Matter]] = {}
    for matter in matters:
        by_house.setdefault(_house(matter.lies), []).append(matter)
    warehouses = tuple(
        _warehouse(where, casks[where], by_house[where], most) for where in sorted(by_house)
    )
    return Review(
        as_of=as_of,
        part=wanted,
        n_casks=casks.total(),
        n_needing=_needing(matters),
        warehouses=warehouses,
        done=tuple(_ticks(db)),
        not_told=found.not_told,
    )


def review_found(db: Session, as_of: date) -> Found:
    """Return everything that needs somebody on a day, from what is kept where it can be."""
    from panel.kept.answers import kept_answer
    from panel.kept.stock_records import stock_state

    return kept_answer(
        db,
        "review",
        options=[as_of],
        reads=lambda: [stock_state(db, as_of), _read_besides(db, as_of)],
        reckon=lambda: _reckoned(db, as_of),
    )


def _read_besides(db: Session, as_of: date) -> list[object]:
    """What the review hangs on beside the records of the casks: drafts, targets, what was nosed."""
    from panel.kept.keys import key_by_records
    from panel.questions.targets import target_records
    from panel.store.key import PlannedDraw
    from panel.store.nosed import any_nosed
    from panel.store.sessions import PanelSession

    drafts = (
        select(PlannedDraw.draw_id, PanelSession.name, PanelSession.held_on, PanelSession.status)
        .join(PanelSession, PanelSession.id == PlannedDraw.session_id)
        .order_by(PlannedDraw.session_id, PlannedDraw.draw_id)
    )
    told = [tuple(map(str, row)) for row in db.execute(drafts)]
    fit = key_by_records(db, as_of) if any_nosed(db, as_of) else None
    return [told, repr(target_records(db)), fit]


def _reckoned(db: Session, as_of: date) -> Found:
    lying = lying_on(db, as_of)
    windows, why = _windows(db, as_of)
    ready_months = number_setting(db, "review_ready_months")
    soon = as_of + timedelta(days=round(ready_months * DAYS_A_YEAR / 12.0))
    matters = [*of_the_records(db, lying), *of_the_plans(db, lying, windows, soon)]
    alike = Counter(lies_of(state) for state in lying.states)
    bare: Counter[Lies] = Counter()
    for lies, count in alike.items():
        bare[Lies(lies.site, lies.warehouse, None, None, lies.owner, lies.parcel)] += count
    casks = tuple(Alike(lies, count) for lies, count in bare.items())
    return Found(tuple(matters), casks, why)


def _windows(db: Session, as_of: date) -> tuple[list[Window], tuple[str, ...]]:
    """When casks meet the targets of the house; why nothing is told where nothing can be."""
    from analysis.errors import AnalysisError
    from panel.errors import OakpanelError
    from panel.questions.ageing import house_ageing
    from panel.questions.targets import target_names
    from panel.store.nosed import any_nosed

    if not any_nosed(db, as_of):
        return [], ("No session is revealed: what is ready or wanted is not known yet.",)
    windows: list[Window] = []
    why: list[str] = []
    for name in target_names(db):
        try:
            windows += house_ageing(db, as_of=as_of, target=name).windows
        except (OakpanelError, AnalysisError) as error:
            why.append(f"When casks meet {name} is not known: {error}")
    return windows, tuple(why)


def _records(lies: Lies) -> Mapping[str, str]:
    return {
        "site": lies.site or "",
        "warehouse": lies.warehouse or "",
        "owner": lies.owner or OWN,
        "parcel": lies.parcel or "",
    }


def _house(lies: Lies) -> tuple[str, str]:
    return lies.site or "", lies.warehouse or ""


def _refuse_unknown(found: Found, part: StockPart) -> None:
    from panel.questions.stock_part import refuse_unknown

    refuse_unknown(part, [_records(alike.lies) for alike in found.casks])


def _needing(matters: Iterable[Matter]) -> int:
    """Casks that need somebody by themselves: not those told of as one."""
    return len({matter.cask for matter in matters if matter.reason not in TOLD_AS_ONE})


def _warehouse(
    where: tuple[str, str], n_casks: int, matters: Sequence[Matter], most: int
) -> WarehouseReview:
    folded = sorted(_folded(matters), key=lambda group: _worst(group[0]))
    shown = folded[:most]
    walked = {id(group): i for i, group in enumerate(sorted(shown, key=_way), 1)}
    lines = tuple(_line(group, walked[id(group)]) for group in shown)
    left = len(folded) - len(shown)
    site, warehouse = where
    return WarehouseReview(site or None, warehouse or None, n_casks, _needing(matters), lines, left)


def _worst(matter: Matter) -> tuple[int, float, str]:
    return RANK[matter.reason], -matter.weight, matter.cask


def _way(group: Sequence[Matter]) -> tuple[object, ...]:
    first = min(group, key=lambda matter: (matter.lies.way, matter.cask))
    return first.lies.way, first.cask, RANK[first.reason]


def _folded(matters: Sequence[Matter]) -> Iterator[list[Matter]]:
    """Give matters alone, or together where a parcel needs the same; the worst of each first."""
    together: dict[tuple[object, ...], list[Matter]] = {}
    for matter in matters:
        apart: tuple[object, ...] = (matter.cask,)
        if matter.reason in TOLD_AS_ONE:
            apart = ()
        elif matter.lies.parcel:
            apart = (matter.lies.parcel, matter.lies.owner, matter.about)
        together.setdefault((matter.reason, *apart), []).append(matter)
    for group in together.values():
        yield sorted(group, key=_worst)


def _line(group: Sequence[Matter], walk: int) -> ReviewLine:
    worst = group[0]
    in_order = sorted(group, key=lambda matter: (matter.lies.way, matter.cask))
    places = dict.fromkeys(matter.lies.place for matter in in_order if matter.lies.place)
    one = worst.reason not in TOLD_AS_ONE
    return ReviewLine(
        reason=worst.reason,
        casks=tuple(dict.fromkeys(matter.cask for matter in in_order)),
        parcel=worst.lies.parcel if one else None,
        place=next(iter(places), ""),
        walk=walk,
        matter=worst,
        matters=tuple(in_order),
    )


def _done(db: Session) -> dict[tuple[int, str], date]:
    newest = select(ReviewTick.filling_id, ReviewTick.reason, func.max(ReviewTick.stands_on))
    rows = db.execute(newest.group_by(ReviewTick.filling_id, ReviewTick.reason))
    return {(filling_id, reason): stands for filling_id, reason, stands in rows}


def _seen_to(matter: Matter, ticked: date | None) -> bool:
    return ticked is not None and matter.stands <= ticked


LAST_DONE = 50
"""So many of what was seen to are told of, the newest first."""


def _ticks(db: Session) -> Iterator[TickLine]:
    rows = (
        select(ReviewTick, Cask.number)
        .join(Filling, Filling.id == ReviewTick.filling_id)
        .join(Cask, Cask.id == Filling.cask_id)
        .order_by(ReviewTick.done_at.desc(), ReviewTick.id.desc())
        .limit(LAST_DONE)
    )
    for tick, cask in db.execute(rows):
        on = _day(db, tick.done_at)
        yield TickLine(cask, tick.reason, on, tick.by_code, tick.note)


def _day(db: Session, moment: datetime) -> date:
    return today_at_site(db, moment)


def matters_of(
    db: Session, casks: Sequence[str], *, as_of: date, reason: Reason | None = None
) -> list[Matter]:
    """Return what needs somebody at some casks and was not seen to, of one reason or of all."""
    done, wanted = _done(db), set(casks)
    return [
        matter
        for matter in review_found(db, as_of).matters
        if matter.cask in wanted
        and (reason is None or matter.reason is reason)
        and not _seen_to(matter, done.get((matter.filling_id, matter.reason.value)))
    ]
