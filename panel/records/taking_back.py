"""What was done to a cask last, taken back: a reversing entry beside the first, which stays.

By who did it, until ten minutes have passed, a session that pours the cask is sealed, or a later
record rests on it. Who did it and when is what the log tells; a hold that a reveal set stays.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.clock import TAKE_BACK
from panel.errors import NotAllowed, UnknownRecord
from panel.records.deed import deed
from panel.records.resting import rests_on
from panel.store.casks import (
    Cask,
    EventReversal,
    Filling,
    FillingEvent,
    HoldChange,
    Regauge,
    standing,
)
from panel.store.finding import nearest_words
from panel.store.house import today_at_site
from panel.store.planted import PassingHold
from panel.store.told import told_before, told_since
from panel.store.who import UNNAMED, lead_or_first

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import datetime

    from sqlalchemy.orm import Session

    from panel.store.told import Told

BY_NOBODY = frozenset({"nobody yet", UNNAMED})
"""What stands in the log for who wrote something before the house had a lead."""
WRITTEN = "load"
"""What the log calls events and holds that a person wrote, by a form, a command or a file."""
TOO_LATE = "write down what is so now."


class What(Enum):
    """What can be taken back of a cask."""

    EVENT = "event"
    HOLD = "hold"


@dataclass(frozen=True)
class LastAct:
    """What was done to a cask last: by whom, in which entry of the log, and why it stands.

    `stands` is empty where it can be taken back by who did it.
    """

    cask: str
    what: What
    words: str
    by: str
    at: datetime
    rows: tuple[int, ...]
    stands: str

    def why_not(self, by: str) -> str:
        """Return why *by* cannot take it back, in words; nothing where they can."""
        return whose(self.words, self.by, by) or self.stands


@dataclass(frozen=True)
class TakenBack:
    """What was taken back, and of which cask."""

    cask: str
    what: What
    words: str
    by: str

    json_keys = ("cask", ("kind", "what"), "words", "by")

    @property
    def kind(self) -> str:
        """What it is in one word."""
        return self.what.value

    def sentence(self) -> str:
        """Return what was done, as a person reads it."""
        return f"{self.words} is taken back."


def whose(words: str, wrote: str, by: str) -> str:
    """Return that somebody else than *by* wrote it, in words; nothing where they did."""
    if wrote == by or {wrote, by} <= BY_NOBODY:
        return ""
    who = wrote or "somebody who was erased"
    return f"{words} was written by {who}: who did it takes it back."


def last_act(db: Session, cask: str, *, now: datetime) -> LastAct | None:
    """Return the event or hold of a cask that was written last within the time for taking back.

    Raises
    ------
    UnknownRecord
        There is no cask of that number.
    """
    found = db.scalar(select(Cask).where(Cask.number == cask))
    if found is None:
        near = nearest_words(cask, db.scalars(select(Cask.number)))
        raise UnknownRecord(f"There is no cask {cask!r}.{near}")
    fillings = [filling.id for filling in found.fillings]
    entries = told_since(db, now - TAKE_BACK)
    for place, entry in enumerate(entries):
        if entry.at > now:  # by a clock that was ahead: it rests on others, how old it is who knows
            continue
        later = entries[:place]
        if events := _events_of(db, fillings, entry):
            return _event_act(db, cask, events, entry, later)
        if hold := _hold_of(db, fillings, entry):
            return _hold_act(db, cask, hold, entry, later)
    return None


def take_back_last(
    db: Session, cask: str, *, now: datetime, by: str | None, seen: LastAct | None = None
) -> TakenBack:
    """Write what reverses that which was done to a cask last; nothing is altered or lost.

    *seen* is what whoever acts saw as the last: something else written since is not taken back.

    Raises
    ------
    UnknownRecord
        There is no such cask, or nobody of that code.
    NotAllowed
        Nothing was done within ten minutes, somebody else did it, a session that pours the cask is
        sealed since, a later record rests on it, or whoever acts does not lead.
    """
    who = lead_or_first(db, by, on=today_at_site(db, now))
    act = last_act(db, cask, now=now)
    if act is None:
        raise NotAllowed(
            f"Nothing was written of cask {cask} within ten minutes that can be taken back: "
            f"{_gauge_read_in(db, cask, now=now) or TOO_LATE}"
        )
    if seen is not None and (seen.what, seen.rows) != (act.what, act.rows):
        raise NotAllowed(f"Something was changed by somebody since: {act.words} came last. Look.")
    if why := act.why_not(who):
        raise NotAllowed(why)
    with deed(db, f"{act.what.value} taken back", now=now, by=by) as done:
        if act.what is What.EVENT:
            _reverse_events(db, act.rows, now=now, by=done.by)
        else:
            _reverse_hold(db, act.rows[0], now=now, by=done.by)
        done.details.update(cask=cask, rows=list(act.rows))
    return TakenBack(cask, act.what, act.words, done.by)


def _gauge_read_in(db: Session, cask: str, *, now: datetime) -> str:
    """Say of the gauge of a cask that was read in last how it is put right; nothing without one."""
    asked = select(Regauge).join(Filling).join(Cask).where(Cask.number == cask)
    gauges = {gauge.id: gauge for gauge in db.scalars(asked)}
    for entry in told_since(db, now - TAKE_BACK):
        mine = entry.numbers(Regauge.__tablename__) & gauges.keys()
        if entry.action == WRITTEN and mine:
            gauge = gauges[max(mine)]
            return (
                f"its gauge of {gauge.gauged_on} came in by a file, or a form like one, and stays. "
                "Read in the right figures for the same cask and day, and they stand in its place: "
                "`oakpanel load regauges FILE`."
            )
    return ""


def _events_of(db: Session, fillings: Sequence[int], entry: Told) -> list[FillingEvent]:
    numbers = entry.numbers(FillingEvent.__tablename__)
    own = FillingEvent.filling_id.in_(fillings), standing()
    asked = select(FillingEvent).where(*own).order_by(FillingEvent.id)
    return [event for event in db.scalars(asked) if event.id in numbers] if numbers else []


def _hold_of(db: Session, fillings: Sequence[int], entry: Told) -> HoldChange | None:
    numbers = entry.numbers(HoldChange.__tablename__)
    if not numbers:
        return None
    gone = select(HoldChange.reverses_id).where(HoldChange.reverses_id.is_not(None))
    asked = (
        select(HoldChange)
        .where(HoldChange.filling_id.in_(fillings), HoldChange.reverses_id.is_(None))
        .where(HoldChange.id.not_in(gone))
        .order_by(HoldChange.id.desc())
    )
    return next((each for each in db.scalars(asked) if each.id in numbers), None)


def _event_act(
    db: Session, cask: str, events: Sequence[FillingEvent], entry: Told, later: Sequence[Told]
) -> LastAct:
    words = " and ".join(dict.fromkeys(event_name(event) for event in events))
    stands = ""
    if entry.action != WRITTEN:
        stands = f"{words} was written by another step ({entry.action}): {TOO_LATE}"
    elif any(told_before(db, entry, FillingEvent.__tablename__, each.id) for each in events):
        stands = f"{words} was written before and brought up to date now: {TOO_LATE}"
    elif origin := _only_origin(events):
        stands = f"{words} is all that tells where the spirit of {origin} came from: it stays."
    elif rests := rests_on(db, events, later):
        stands = f"{words} stays, since a later record rests on it: {rests}."
    rows = tuple(event.id for event in events)
    return LastAct(cask, What.EVENT, words, entry.by, entry.at, rows, stands)


def event_name(event: FillingEvent) -> str:
    """Return how a sentence names an event."""
    parent = f" from {event.parent.label}" if event.parent else ""
    return f"{event.filling.label}, {event.kind.value}{parent} on {event.happened_on},"


def _only_origin(events: Sequence[FillingEvent]) -> str:
    """Return the filling that would have neither a make nor parents without these."""
    from panel.kinds import EventKind

    for filling in {event.filling for event in events}:
        racked = [each for each in filling.events if each.kind is EventKind.RE_RACKED]
        if filling.make_id is None and racked and set(racked) <= set(events):
            return str(filling.label)
    return ""


def _hold_act(
    db: Session, cask: str, hold: HoldChange, entry: Told, later: Sequence[Told]
) -> LastAct:
    filling = hold.filling
    words = (
        f"The hold of {filling.label}" if hold.reason else f"Lifting the hold of {filling.label}"
    )
    stands = ""
    if db.get(PassingHold, hold.id) is not None:
        stands = (
            f"{words} was set by noses in passing: another person lifts it after a second nosing "
            f"(`oakpanel passing lift {cask}`)."
        )
    elif (filling.hold_reason, filling.hold_until) != (hold.reason, hold.until):
        stands = f"The hold of {filling.label} was changed by somebody since: {TOO_LATE}"
    elif not hold.reason and (rests := rests_on(db, [hold], later)):
        stands = f"{words} stays, since a later record rests on it: {rests}."
    return LastAct(cask, What.HOLD, words, entry.by, entry.at, (hold.id,), stands)


def _reverse_events(db: Session, rows: Sequence[int], *, now: datetime, by: str) -> None:
    db.add_all(EventReversal(event_id=row, taken_back_at=now, by_code=by) for row in rows)


def _reverse_hold(db: Session, row: int, *, now: datetime, by: str) -> None:
    hold = db.get_one(HoldChange, row)
    filling: Filling = hold.filling
    db.add(
        HoldChange(
            filling=filling,
            reason=hold.reason_before,
            until=hold.until_before,
            reason_before=hold.reason,
            until_before=hold.until,
            changed_at=now,
            by_code=by,
            reverses_id=hold.id,
        )
    )
    filling.hold_reason, filling.hold_until = hold.reason_before, hold.until_before
