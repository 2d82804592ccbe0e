"""Ballots from paper: keyed twice, by two people, compared line by line, and kept only where alike.

A ballot file has a row a line of a ballot: who, the code on the glass, what, and the value. What is
`pass` or `hold` (its value a fault) where casks are passed, `place` where glasses stand in sets (of
a pair and of four the ticked glass is enough), a second such as `5 s` where they are traced,
else a descriptor or an own word; `fault` marks a fault beside it. What is empty was not answered.
Other columns count for nothing: a template says in one what to write.
"""

from __future__ import annotations

import csv
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from io import StringIO
from typing import TYPE_CHECKING

from panel.errors import OakpanelError, SessionError
from panel.figures import count, plural
from panel.kinds import Fault, SessionStatus, Task
from panel.session.found import session_at
from panel.session.held_seats import FROM_PAPER, refuse_held
from panel.session.keyed_against import away_faults, not_kept_yet, seats_away
from panel.session.keyed_faults import (
    answering,
    as_meant,
    asked_of,
    ballot_faults,
)
from panel.session.keyed_lines import (
    FAULT,
    HEADINGS,
    HOLD,
    PASS,
    PLACE,
    KeyedLine,
    ballot_files,
    fault_of,
    numbered_faults,
    read_ballots,
    refusal,
)
from panel.session.keyed_sets import places_of_sets
from panel.session.progress import session_progress
from panel.session.sets import PLACES_ARE, check_answer, marked_references, set_of
from panel.session.sheets import tray_of
from panel.store import booth_queries as booth
from panel.store.booth_tray import second_of
from panel.store.log import append_entry
from panel.store.stage_lines import sheet_names

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.booth_tray import Seat, Tray
    from panel.store.sessions import PanelSession

__all__ = [
    "FAULT",
    "HOLD",
    "PASS",
    "PLACE",
    "BallotsKept",
    "KeyedLine",
    "Unlike",
    "ballot_files",
    "keep_ballots",
    "read_ballots",
    "template",
    "unlike",
]

TO_WRITE = "write"
"""The column in which a template says what to write; keying reads nothing of it."""


@dataclass(frozen=True)
class Unlike:
    """A glass that the two keyed differently, with what stands in each."""

    assessor: str
    code: str
    first: tuple[str, ...]
    second: tuple[str, ...]

    def words(self) -> str:
        """Return it as a sentence."""
        one, other = (", ".join(each) or "nothing" for each in (self.first, self.second))
        return f"{self.code} of {self.assessor}: {one} in the first, {other} in the second."


@dataclass(frozen=True)
class BallotsKept:
    """Ballots that were alike in both files, and are kept as if scored at a booth."""

    session: str
    assessors: tuple[str, ...]
    glasses: int
    still_empty: int
    """Of the whole session, whoever's they are: glasses that nobody has answered yet."""

    def words(self) -> str:
        """Say what is kept, and how many glasses are left."""
        kept = f"{_glasses_are(self.glasses, ', '.join(self.assessors))} kept."
        if not self.still_empty:
            return f"{kept} No glass of the session is empty any more."
        return f"{kept} {_glasses_are(self.still_empty, 'the session')} still empty."


def _glasses_are(number: int, of: str) -> str:
    return f"{count(number, 'glass', 'glasses')} of {of} {plural('is', number, 'are')}"


def template(db: Session, name: str) -> str:
    """Return a ballot file of a session with every line that can still be keyed, and no value.

    What was answered at a booth is not in it, nor seats that are away at another site.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not open.
    """
    session = session_at(db, name, SessionStatus.OPEN, deed="keying ballots in")
    out = StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow((*HEADINGS, TO_WRITE))
    away, write = seats_away(db, session), _to_write(session)
    for seat in session.assessors:
        if seat.person.code in away:
            continue
        tray = tray_of(db, session, seat)
        marked = marked_references(session.kind.facts, tray)
        asked = [one for one in tray if one.code not in marked and one.finished_at is None]
        for glass in asked:
            for what in _asked(session) or ("",):
                rows.writerow((seat.person.code, glass.code, what, "", write))
    return out.getvalue()


def _to_write(session: PanelSession) -> str:
    """Return what stands beside each row of a template: what is written there."""
    facts = session.kind.facts
    if facts.passes:
        numbered = numbered_faults()
        return f"what: {PASS}, or {HOLD} with the number of the fault as value ({numbered})"
    if facts.task is Task.RANK:
        return f"value: {PLACES_ARE[Task.RANK]}"
    if facts.task is not None:
        return "value: 1 for the glass that is ticked; the rest of its set may stay empty"
    scale = f"{facts.scale.low} to {facts.scale.high}"
    if not _asked(session):
        return f"what: the word; value: {scale}; a row more for each word more of this glass"
    return f"value: {scale}"


def _asked(session: PanelSession) -> tuple[str, ...]:
    facts = session.kind.facts
    if facts.in_sets:
        return (PLACE,)
    if facts.traced:
        return tuple(f"{second} s" for second in facts.prompts_s)
    return sheet_names(session)


def unlike(first: Sequence[KeyedLine], second: Sequence[KeyedLine]) -> tuple[Unlike, ...]:
    """Return every glass that was keyed in differently; a line may stand twice in one file."""
    one, other = set(first), set(second)
    if one == other:
        return ()
    apart = sorted({(line.assessor, line.code) for line in (*(one - other), *(other - one))})
    return tuple(
        Unlike(who, code, _said(one - other, who, code), _said(other - one, who, code))
        for who, code in apart
    )


def _said(lines: Iterable[KeyedLine], who: str, code: str) -> tuple[str, ...]:
    mine = sorted(line for line in lines if (line.assessor, line.code) == (who, code))
    return tuple(f"{line.what} {line.value}".strip() for line in mine)


def keep_ballots(
    db: Session,
    name: str,
    first: Sequence[KeyedLine],
    second: Sequence[KeyedLine],
    *,
    now: datetime,
    by: str,
    take_seats: Collection[str] = (),
) -> BallotsKept:
    """Keep ballots that were keyed twice alike, as a booth would: all of them, or none.

    A booth that holds the seat of one of them ends by it, where *take_seats* names whose.

    Raises
    ------
    UnknownRecord, WrongState
        There is no such session, or it is not open.
    SessionError
        The two files differ, a seat is away in a pack, a booth has kept something else of a
        glass, a line of a glass has two values, or is none of this session's: each is told.
    SeatsHeld
        A booth that may still save holds a seat, and is not named.
    """
    session = session_at(db, name, SessionStatus.OPEN, deed="keying ballots in")
    lines = _sound_and_alike(db, session, first, second)
    people = tuple(sorted({line.assessor for line in lines}))
    ended = refuse_held(db, session, people, take_seats)
    kept, faults = 0, []
    for who in people:
        mine: dict[str, list[KeyedLine]] = {}
        for line in lines:
            if line.assessor == who:
                mine.setdefault(line.code, []).append(line)
        try:
            kept += _keep_tray(db, session, who, mine, now)
        except OakpanelError as error:
            faults += [f"{who}: {said}" for said in str(error).splitlines()]
    if faults:
        raise SessionError(refusal("Nothing was kept", faults))
    details = {"session": name, "assessors": list(people), "glasses": kept, "keyed_twice": True}
    if ended:
        details["booths_ended"] = list(ended)
    append_entry(db, at=now, by=by, action="ballots keyed in", details=details)
    db.flush()
    seats = session_progress(db, name).seats
    return BallotsKept(name, people, kept, sum(seat.n_to_score - seat.n_done for seat in seats))


def _sound_and_alike(
    db: Session, session: PanelSession, first: Sequence[KeyedLine], second: Sequence[KeyedLine]
) -> list[KeyedLine]:
    """Return the lines that both files have; else raise with all that speaks against them."""
    asked = asked_of(db, session)
    one, other = as_meant(asked, first, second)
    faults = ballot_faults(asked, one, other)
    at_fault = {(line.assessor, line.code) for fault in faults for line in fault.lines}
    one, other = (answering(asked.facts, lines) for lines in (one, other))
    people = {line.assessor for line in (*one, *other)}
    told = [*away_faults(db, session, people), *(fault.told() for fault in faults)]
    apart = [each for each in unlike(one, other) if (each.assessor, each.code) not in at_fault]
    refused = [refusal("Nothing was kept", told)] if told else []
    if apart:
        refused.append(refusal("The two keyings differ", (each.words() for each in apart)))
    if refused:
        raise SessionError("\n".join(refused))
    if not one:
        raise SessionError("Nothing is keyed in: every value is empty.")
    return one


def _keep_tray(
    db: Session,
    session: PanelSession,
    who: str,
    mine: Mapping[str, Sequence[KeyedLine]],
    now: datetime,
) -> int:
    seat = booth.take_seat(db, session.name, who, now=now, place=FROM_PAPER)
    facts = session.kind.facts
    if facts.in_sets:
        return _keep_sets(db, seat, booth.tray(db, seat), mine, now)
    for code, lines in mine.items():
        if facts.passes:
            _keep_passed(db, seat, code, lines, now)
        elif facts.traced:
            _keep_trace(db, seat, code, lines, now)
        else:
            _keep_scores(db, seat, code, lines, now)
    return len(mine)


def _keep_passed(
    db: Session, seat: Seat, code: str, lines: Sequence[KeyedLine], now: datetime
) -> None:
    serving = booth.take_glass(db, seat, code, now)
    for line in lines:
        if line.what == HOLD:
            booth.mark_fault(db, seat, serving, _fault(line), now)
    booth.finish_glass(db, seat, serving, now)


def _fault(line: KeyedLine) -> Fault:
    if (fault := fault_of(line.value)) is None:
        raise SessionError(f"{line.code} of {line.assessor}: {line.value!r} is no fault.")
    return fault


def _keep_scores(
    db: Session, seat: Seat, code: str, lines: Sequence[KeyedLine], now: datetime
) -> None:
    named = {line.name: line.version_id for line in booth.tray(db, seat).lines}
    serving = booth.take_glass(db, seat, code, now)
    values: dict[int, float | None] = {}
    for line in lines:
        if line.what == FAULT:
            booth.mark_fault(db, seat, serving, _fault(line), now)
            continue
        if line.what not in named and booth.tray(db, seat).own is not None:
            booth.name_word(db, seat, line.what, now)
            named = {each.name: each.version_id for each in booth.tray(db, seat).lines}
        values[named[line.what]] = int(line.value)
    _save_new(db, seat, serving, values, now)


def _save_new(
    db: Session, seat: Seat, serving: int, values: Mapping[int, float | None], now: datetime
) -> None:
    """Keep what no booth has kept yet (the rest is alike), and put the glass down."""
    glass = next(each for each in booth.tray(db, seat).glasses if each.serving_id == serving)
    booth.save_scores(db, seat, serving, not_kept_yet(glass, values), now)
    booth.finish_glass(db, seat, serving, now)


def _keep_trace(
    db: Session, seat: Seat, code: str, lines: Sequence[KeyedLine], now: datetime
) -> None:
    """Keep a trace from paper: what was written at a second was called at that second."""
    tray = booth.tray(db, seat)
    numbers = {line.name: line.version_id for line in tray.lines}
    values: dict[int, float | None] = {}
    for line in lines:
        values[numbers[line.what]] = float(line.value)
        values[second_of(numbers[line.what])] = float(line.what.removesuffix(" s"))
    serving = booth.take_glass(db, seat, code, now)
    _save_new(db, seat, serving, values, now)


def _keep_sets(
    db: Session, seat: Seat, tray: Tray, mine: Mapping[str, Sequence[KeyedLine]], now: datetime
) -> int:
    sets = places_of_sets(tray, mine)
    for flight, places in sorted(sets.items()):
        booth.take_glass(db, seat, set_of(tray, flight).glasses[0].code, now)
        check_answer(booth.tray(db, seat), flight, places)
        booth.answer_set(db, seat, flight, places, now)
    return sum(map(len, sets.values()))
