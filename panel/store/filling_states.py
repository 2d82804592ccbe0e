"""What each filling is as of a date, reckoned from its records for the whole stock at once."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import dataclass, fields
from datetime import date
from operator import itemgetter
from typing import Any

from sqlalchemy import Row
from sqlalchemy.orm import Session

from panel.made_at_once import made_at_once
from panel.store.ages import Entered, Inherited, Origin, ParentShare, calendar_years, inheritance
from panel.store.casks import Filling
from panel.store.contents import Added, Content, Gauge, content_on, mixed_strength_on
from panel.store.engine import only_reads
from panel.store.log import head_hash
from panel.store.marks_of_fault import FaultsMarked, marks_by_filling
from panel.store.nosed import Nosed, nosed_by_filling
from panel.store.stories import (
    Place,
    Story,
    fillings_by,
    origins_of,
    stories_of,
    tell_neighbours,
    tell_releases,
)

_READ = "oakpanel_stock"
UNKNOWN_ORIGIN = Inherited((Entered(date.min, None, None),))


@dataclass(frozen=True)
class FillingState:
    """One filling as of a date. Litres are those of the last gauge less what was taken since.

    `years_before` is the age its youngest spirit had when the cask was filled; it and `age_years`
    are None where the records do not hold them. `abv_certain` is false where spirit of unknown
    strength went in since the last gauge. `others` are fillings that lie in the same cask by the
    records; `marks` are those that led to a hold; `nosed` is what a panel has had of it;
    `received` are litres by re-racking with the filling they came from, `given` those that went
    into other casks.
    """

    filling_id: int
    label: str
    cask: str
    wood: str
    size_l: float
    make: str | None
    phenol_ppm: float | None
    previous: str | None
    fill_number: int
    fill_abv: float
    filled_on: date
    years_before: float | None
    age_years: float | None
    gauge: Gauge
    abv: float
    bulk_l: float
    place: Place
    owner: str | None
    hold_reason: str | None
    emptied_on: date | None
    leaking_since: date | None
    reserved_l: float | None
    reserved_whole: bool
    as_of: date
    gauges: tuple[Gauge, ...] = ()
    taken: tuple[tuple[date, float], ...] = ()
    added: tuple[Added, ...] = ()
    repaired: tuple[date, ...] = ()
    promised: tuple[tuple[str, float], ...] = ()
    others: tuple[str, ...] = ()
    marks: tuple[FaultsMarked, ...] = ()
    racked_from: tuple[ParentShare, ...] = ()
    received: tuple[tuple[int, float], ...] = ()
    given: tuple[tuple[date, float], ...] = ()
    inherited: Inherited = UNKNOWN_ORIGIN
    abv_certain: bool = True
    nosed: Nosed | None = None
    parcel: str | None = None

    @property
    def makes(self) -> frozenset[str] | None:
        """The new-make spirits in it; None where the records do not go back so far."""
        return self.inherited.makes

    @property
    def topped_on(self) -> date | None:
        """The day on which spirit was last added."""
        return self.added[-1].on if self.added else None

    @property
    def nosed_before_topping(self) -> bool:
        """Whether all that a panel has nosed of it was drawn before other spirit went in."""
        if self.topped_on is None or self.nosed is None:
            return False
        return self.nosed.drawn_on is None or self.nosed.drawn_on <= self.topped_on

    def content_on(self, day: date) -> Content:
        """Return litres and strength on a day, by the gauges and what was taken and added."""
        return content_on(self.gauges, self.taken, self.added, day)

    def strength_on(self, day: date) -> float:
        """Return the strength on a day, between gauges by straight line."""
        return mixed_strength_on(self.gauges, self.taken, self.added, day)

    @property
    def lpa(self) -> float:
        """Litres of pure alcohol by the last gauge."""
        return self.bulk_l * self.abv / 100

    @property
    def never_gauged(self) -> bool:
        """Whether its figures are still those of the filling."""
        return len(self.gauges) == 1 and self.gauge.on == self.filled_on

    @property
    def gauge_age_years(self) -> float:
        """How old the figures for litres and strength are."""
        return calendar_years(self.gauge.on, self.as_of)


RECKONED = {"hold_reason"}
"""What the state has under the name of a column, but reckons from it."""
AS_RECORDED = tuple(
    each.name
    for each in fields(FillingState)
    if each.name in Filling.__table__.columns and each.name not in RECKONED
)
"""What the state takes from a filling's record as it stands there."""
_RECORDED = itemgetter(
    *(list(Filling.__table__.columns.keys()).index(name) for name in AS_RECORDED)
)
"""Its places in a row of `fillings_by`, which begins with a filling's own columns."""


def filling_states(
    db: Session,
    as_of: date,
    *,
    only_casks: Sequence[str] | None = None,
    besides_release: str | None = None,
) -> list[FillingState]:
    """Return the state on *as_of* of every filling begun by then, by cask and date.

    Reads the whole stock in a handful of statements, so that 24,000 casks take about a second;
    in one session for reading that is done once a day asked for. `only_casks` shortens the
    answer, not the reckoning: ages come from parents in other casks. `besides_release` names a
    release whose own reservations do not count.
    """
    wanted = None if only_casks is None else set(only_casks)
    if not only_reads(db):
        return _reckoned(db, as_of, besides_release, wanted)
    read: dict[tuple[object, ...], list[FillingState]] = db.info.setdefault(_READ, {})
    asked = (head_hash(db), as_of, besides_release)
    if asked not in read:
        if wanted is not None:
            return _reckoned(db, as_of, besides_release, wanted)
        read[asked] = _reckoned(db, as_of, besides_release, None)
    return [state for state in read[asked] if wanted is None or state.cask in wanted]


def _reckoned(
    db: Session, as_of: date, besides_release: str | None, wanted: Container[str] | None
) -> list[FillingState]:
    rows = db.execute(fillings_by(as_of)).all()
    stories = stories_of(db, rows, as_of)
    tell_releases(db, stories, as_of, besides_release)
    tell_neighbours(rows, stories)
    for filling_id, marks in marks_by_filling(db, as_of).items():
        stories[filling_id].marks = marks
    if any(story.added for story in stories.values()):
        for filling_id, nosed in nosed_by_filling(db, as_of).items():
            stories[filling_id].nosed = nosed
    origins = origins_of(rows, stories)
    inherited = inheritance(origins)
    return [
        _state(row, stories[row.id], origins[row.id], inherited[row.id], as_of)
        for row in rows
        if wanted is None or row.number in wanted
    ]


def _state(
    row: Row[Any], story: Story, origin: Origin, inherited: Inherited, as_of: date
) -> FillingState:
    end = min(as_of, story.emptied_on) if story.emptied_on else as_of
    gauge, content = story.gauges[-1], story.content_on(as_of)
    promised = sum(litres for _, litres in story.promised)
    if story.promised_whole:  # for a later day its litres are fewer than what lies there now
        promised = max(promised, content.bulk_l)
    held = row.hold_reason is not None and (row.hold_until is None or row.hold_until >= as_of)
    return made_at_once(
        FillingState,
        filling_id=row.id,
        cask=row.number,
        wood=row.wood,
        size_l=row.size_l,
        make=row.make,
        phenol_ppm=inherited.phenol_ppm,
        years_before=inherited.years_before,
        age_years=inherited.age_on(end),
        gauge=gauge,
        abv=content.abv,
        bulk_l=0.0 if story.emptied_on else content.bulk_l,
        place=story.place,
        hold_reason=row.hold_reason if held else None,
        emptied_on=story.emptied_on,
        leaking_since=story.leaking_since,
        reserved_l=(story.reserved_l or 0.0) + promised if promised else story.reserved_l,
        reserved_whole=story.reserved_whole,
        as_of=as_of,
        gauges=tuple(story.gauges),
        taken=tuple(story.taken),
        added=tuple(story.added),
        repaired=tuple(story.repaired),
        promised=tuple(story.promised),
        others=story.others,
        marks=story.marks,
        racked_from=tuple(origin.parents),
        received=tuple((parent, litres) for parent, _, litres, _ in story.parents),
        given=tuple(story.given),
        inherited=inherited,
        abv_certain=content.certain,
        nosed=story.nosed,
        **dict(zip(AS_RECORDED, _RECORDED(row), strict=True)),
    )
