"""Bottles of a lot that the house has, and what people outside said of one: each act in the log.

The log never holds who made a remark, nor what was said.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.errors import EntriesAtFault, UnknownRecord, WrongState
from panel.kinds import BottleKind, ReleaseStatus, RemarkKind
from panel.records.deed import deed
from panel.release.name_places import TakenOut, take_out, texts_of, whole_out
from panel.release.trace import find_by_name_or_lot
from panel.store.bottle_remarks import BottleRemark, LotBottle, RemarkPerson, open_safety_remarks

if TYPE_CHECKING:
    from collections.abc import Collection, Sequence
    from datetime import date, datetime

    from sqlalchemy.orm import Session

    from panel.release.name_places import NamePlace
    from panel.store.releases import Release


@dataclass(frozen=True)
class RemarkKept:
    """A remark that was written down, by its number."""

    remark: int
    lot: str | None
    release: str
    kind: RemarkKind
    tell_safety: bool


@dataclass(frozen=True)
class BottlesKept:
    """Bottles of a lot that now stand in the house, by their numbers."""

    lot: str | None
    release: str
    kind: BottleKind
    bottles: tuple[int, ...]
    place: str


@dataclass(frozen=True)
class RemarkClosed:
    """How a remark ended; `forgotten` says whether who made it was deleted.

    `places_left` is in how many places a part of the name was left to stand, `taken_from` what
    the name was taken out of, in whole or in part.
    """

    remark: int
    outcome: str | None
    forgotten: bool
    places_left: int = 0
    taken_from: tuple[str, ...] = ()


@dataclass(frozen=True)
class BottleGone:
    """A bottle that left its place."""

    bottle: int
    gone_to: str


def bottled_lot(db: Session, lot: str) -> Release:
    """Return the release of that lot code or name, which has to be bottled.

    Raises
    ------
    UnknownRecord, WrongState
        There is none, or it is not bottled.
    """
    release = find_by_name_or_lot(db, lot)
    if release.status is not ReleaseStatus.BOTTLED:
        raise WrongState(
            f"Release {release.name} is {release.status.value}: there is no bottle of it yet."
        )
    return release


def keep_remark(
    db: Session,
    lot: str,
    *,
    said: str,
    kind: RemarkKind = RemarkKind.REMARK,
    made_on: date | None = None,
    who: str | None = None,
    reach: str | None = None,
    now: datetime,
    by: str | None,
) -> RemarkKept:
    """Write down what somebody outside said of a bottle; who they are is optional, kept apart.

    Raises
    ------
    UnknownRecord, WrongState, NotAllowed
        There is no such lot, it is not bottled, or whoever acts does not lead.
    EntriesAtFault
        Nothing is said, a way to reach nobody, or a day that has not come or is before the bottle.
    """
    with deed(db, "remark on a bottle", now=now, by=by) as done:
        release = bottled_lot(db, lot)
        day = made_on or done.on
        _refuse_remark(release, said, day, done.on, who=who, reach=reach)
        remark = BottleRemark(
            release=release,
            kind=kind,
            made_on=day,
            said=said.strip(),
            kept_on=done.on,
            by_code=done.by,
        )
        if who and who.strip():
            remark.person = RemarkPerson(
                outside_name=who.strip(), reach=(reach or "").strip() or None
            )
        db.add(remark)
        db.flush()
        done.details.update(remark=remark.id, lot=release.lot_code, kind=kind.value)
        return RemarkKept(remark.id, release.lot_code, release.name, kind, kind.concerns_safety)


def _refuse_remark(
    release: Release,
    said: str,
    day: date,
    today: date,
    *,
    who: str | None,
    reach: str | None,
) -> None:
    wrong: dict[str, str] = {}
    if not said.strip():
        wrong["said"] = "Say what was said of the bottle, in their words as far as you can."
    if reach and not (who and who.strip()):
        wrong["who"] = "A way to reach somebody, and nobody named: give both or neither."
    if day > today:
        wrong["made_on"] = f"{day} has not come yet."
    elif release.bottled_on is not None and day < release.bottled_on:
        wrong["made_on"] = f"{release.name} was bottled on {release.bottled_on}, after that day."
    if wrong:
        raise EntriesAtFault(wrong)


def nosing_forbidden(db: Session, release: Release) -> tuple[str, ...]:
    """Say why nobody noses a lot, as long as a remark about safety on it is open."""
    return tuple(
        f"remark {remark.id} is about {remark.kind.value}: the lot is traced and whoever answers "
        "for safety is told; nobody noses it until that is closed (`oakpanel bottles "
        f"{'close' if remark.told_safety_on else 'safety'} {remark.id}`)"
        for remark in open_safety_remarks(db, release)
    )


def find_remark(db: Session, number: int) -> BottleRemark:
    """Return a remark by its number.

    Raises
    ------
    UnknownRecord
        There is none.
    """
    found = db.get(BottleRemark, number)
    if found is None:
        raise UnknownRecord(f"There is no remark {number}: `oakpanel bottles list` has them all.")
    return found


def close_remark(
    db: Session,
    number: int,
    *,
    outcome: str,
    keep_who: bool = False,
    also: Collection[int] | None = None,
    shown: Sequence[NamePlace] | None = None,
    now: datetime,
    by: str | None,
) -> RemarkClosed:
    """Keep how a remark ended; who made it is deleted with it, unless an answer is still owed.

    *also* and *shown* as in `forget_who`.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such remark; or whoever acts does not lead.
    EntriesAtFault
        No outcome, closed already, or it concerns safety and nobody has been told.
    PlacesOpen
        As in `forget_who`.
    """
    with deed(db, "remark closed", now=now, by=by) as done:
        remark = find_remark(db, number)
        wrong: dict[str, str] = {}
        if not outcome.strip():
            wrong["outcome"] = "Say how it ended: answered, bottle replaced, laboratory found ..."
        if remark.closed_on is not None:
            wrong["remark"] = f"Remark {number} was closed on {remark.closed_on}."
        if remark.kind.concerns_safety and remark.told_safety_on is None:
            wrong["remark"] = (
                f"Remark {number} is about {remark.kind.value}: whoever answers for safety has to "
                "be told first (`oakpanel bottles safety`)."
            )
        if wrong:
            raise EntriesAtFault(wrong)
        remark.outcome, remark.closed_on = outcome.strip(), done.on
        kept = (False, TakenOut((), 0))
        forgotten, out = kept if keep_who else _forget(db, remark, also, shown)
        done.details.update(remark=number, forgotten=forgotten)
        return RemarkClosed(number, remark.outcome, forgotten, out.left, out.texts)


def tell_safety(db: Session, number: int, *, now: datetime, by: str | None) -> BottleRemark:
    """Keep that whoever answers for safety was told of a remark.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such remark; or whoever acts does not lead.
    """
    with deed(db, "safety told", now=now, by=by) as done:
        remark = find_remark(db, number)
        remark.told_safety_on = remark.told_safety_on or done.on
        done.details.update(remark=number)
        return remark


def forget_who(
    db: Session,
    number: int,
    *,
    name: str | None = None,
    also: Collection[int] | None = None,
    shown: Sequence[NamePlace] | None = None,
    now: datetime,
    by: str | None,
) -> RemarkClosed:
    """Delete who made a remark, and their name wherever it stands in its words.

    Where parts of the name stand in what was written in the house, *also* says by their numbers
    which go too (`name_places`), and *shown* what stood there as that was said. *name* is looked
    for where none is kept any more, or beside it. The caller overwrites what was deleted
    (`panel.store.erasing.overwrite`).

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such remark or place; or whoever acts does not lead.
    PlacesOpen
        There are such places, and *also* is None; or they are others than *shown*.
    """
    with deed(db, "who made a remark forgotten", now=now, by=by) as done:
        remark = find_remark(db, number)
        forgotten, out = _forget(db, remark, also, shown, name)
        done.details.update(remark=number)
        return RemarkClosed(number, remark.outcome, forgotten, out.left, out.texts)


def _forget(
    db: Session,
    remark: BottleRemark,
    also: Collection[int] | None,
    shown: Sequence[NamePlace] | None,
    name: str | None = None,
) -> tuple[bool, TakenOut]:
    """Delete who made it; say whether somebody was named, and what their name was taken out of."""
    person = remark.person
    names = [each for each in (person and person.outside_name, (name or "").strip()) if each]
    reach = [person.reach] if person is not None and person.reach else []
    stood = whole_out(remark, [*names, *reach])
    remark.person = None
    db.flush()
    parts = take_out(db, names, also, shown, stood)
    texts = dict.fromkeys((*texts_of(remark, stood), *parts.texts))
    return person is not None, TakenOut(tuple(texts), parts.left)


def keep_bottles(
    db: Session,
    lot: str,
    *,
    place: str,
    count: int = 2,
    kind: BottleKind = BottleKind.RETAINED,
    remark: int | None = None,
    kept_on: date | None = None,
    now: datetime,
    by: str | None,
) -> BottlesKept:
    """Write down bottles of a lot that now stand in the house: two full ones a lot are kept back.

    Raises
    ------
    UnknownRecord, WrongState, NotAllowed
        There is no such lot or remark, it is not bottled, or whoever acts does not lead.
    EntriesAtFault
        No place, no bottle, a remark of another lot, or an opened bottle of no remark.
    """
    with deed(db, "bottles kept", now=now, by=by) as done:
        release = bottled_lot(db, lot)
        about = None if remark is None else find_remark(db, remark)
        _refuse_bottles(release, place, count, kind, about)
        rows = [
            LotBottle(
                release=release,
                kind=kind,
                place=place.strip(),
                kept_on=kept_on or done.on,
                remark=about,
            )
            for _ in range(count)
        ]
        db.add_all(rows)
        db.flush()
        numbers = tuple(row.id for row in rows)
        done.details.update(lot=release.lot_code, bottles=list(numbers), kind=kind.value)
        return BottlesKept(release.lot_code, release.name, kind, numbers, place.strip())


def _refuse_bottles(
    release: Release, place: str, count: int, kind: BottleKind, about: BottleRemark | None
) -> None:
    wrong: dict[str, str] = {}
    if not place.strip():
        wrong["place"] = "Say where they stand."
    if not 1 <= count <= 100:
        wrong["count"] = "From 1 to 100 bottles at once."
    if about is not None and about.release_id != release.id:
        wrong["remark"] = f"Remark {about.id} is about {about.release.name}."
    if kind is BottleKind.OPENED and about is None:
        wrong["remark"] = "An opened bottle came back with a remark: say which."
    if wrong:
        raise EntriesAtFault(wrong)


def bottle_gone(
    db: Session, number: int, *, gone_to: str, now: datetime, by: str | None
) -> BottleGone:
    """Keep that a bottle left its place: to the laboratory, destroyed, given back.

    Raises
    ------
    UnknownRecord, NotAllowed
        There is no such bottle; or whoever acts does not lead.
    EntriesAtFault
        Nothing is said, or it is gone already.
    """
    with deed(db, "bottle gone", now=now, by=by) as done:
        bottle = db.get(LotBottle, number)
        if bottle is None:
            raise UnknownRecord(f"There is no bottle {number}: `oakpanel bottles list` has them.")
        wrong: dict[str, str] = {}
        if not gone_to.strip():
            wrong["gone_to"] = "Say where it went: the laboratory, destroyed, given back."
        if bottle.gone_on is not None:
            wrong["bottle"] = f"Bottle {number} is gone since {bottle.gone_on}: {bottle.gone_to}."
        if wrong:
            raise EntriesAtFault(wrong)
        bottle.gone_on, bottle.gone_to = done.on, gone_to.strip()
        done.details.update(bottle=number)
        return BottleGone(number, bottle.gone_to)
