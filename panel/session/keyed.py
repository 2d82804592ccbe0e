"""Ballots from paper: keyed twice, by two people, compared line by line, and kept only where alike.

A ballot file has a row a line of a ballot: who, the code on the glass, what, and the value. What is
`pass` or `hold` (its value a fault) where casks are passed, `place` where glasses stand in sets (of
a pair and of four the ticked glass is enough), a second such as `5 s` where they are traced,
else a descriptor or an own word; `fault` marks a fault beside it. What is empty was not answered.
Other columns count for nothing: a template says in one what to write.
"""

from __future__ import annotations

import csv
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING

from panel.errors import OakpanelError, SessionError
from panel.kinds import Fault, SessionStatus, Task
from panel.session.found import session_at
from panel.session.held_seats import FROM_PAPER, refuse_held
from panel.session.keyed_against import (
    away_faults,
    kept_otherwise,
    marked_otherwise,
    not_kept_yet,
    seats_away,
    twice_otherwise,
)
from panel.session.scoring import poured
from panel.session.sets import (
    PLACES_ARE,
    check_answer,
    marked_references,
    set_of,
    sound_places,
    task_of,
)
from panel.session.sheets import tray_of
from panel.store import booth_queries as booth
from panel.store.booth_tray import second_of
from panel.store.log import append_entry
from panel.store.stage_lines import sheet_names

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.store.booth_tray import Glass, Seat, Tray
    from panel.store.sessions import PanelSession

HEADINGS = ("assessor", "code", "what", "value")
TO_WRITE = "write"
"""The column in which a template says what to write; keying reads nothing of it."""
PASS, HOLD, PLACE, FAULT = "pass", "hold", "place", "fault"
TICKS = ("x", "X")
MOST_TOLD = 24


@dataclass(frozen=True, order=True)
class KeyedLine:
    """One line of a ballot as it was keyed."""

    assessor: str
    code: str
    what: str
    value: str


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
        numbered = ", ".join(f"{n} {fault.value}" for n, fault in enumerate(Fault, start=1))
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


def read_ballots(text: str, file: str) -> list[KeyedLine]:
    """Read a ballot file. A scanner's line ends and blanks around a cell count for nothing.

    Raises
    ------
    SessionError
        A heading is missing, or a row has no assessor or code.
    """
    rows = csv.DictReader(StringIO(text.removeprefix("\ufeff")), skipinitialspace=True)
    found = {(name or "").strip().lower(): name for name in rows.fieldnames or ()}
    missing = [name for name in HEADINGS if name not in found]
    if missing:
        raise SessionError(f"{file}: the headings are {', '.join(HEADINGS)}; missing: {missing[0]}")
    lines: list[KeyedLine] = []
    faults: list[str] = []
    for number, row in enumerate(rows, start=2):
        cells = [(row.get(found[name]) or "").strip() for name in HEADINGS]
        if not any(cells[2:]):
            continue
        if not cells[0] or not cells[1]:
            faults.append(f"{file}, row {number}: name the assessor and the code on the glass.")
        if cells[2] == PLACE and cells[3] in TICKS:
            cells[3] = "1"
        lines.append(KeyedLine(*cells))
    if faults:
        raise SessionError("\n".join(faults[:MOST_TOLD]))
    return [line for line in lines if line.value or line.what in (PASS, HOLD)]


def ballot_files(first: Path, second: Path) -> tuple[list[KeyedLine], list[KeyedLine]]:
    """Read the two files.

    Raises
    ------
    SessionError
        One cannot be read, or both are the same file.
    """
    if first.resolve() == second.resolve():
        raise SessionError("That is one file: a ballot is keyed twice, by two people.")
    read: list[list[KeyedLine]] = []
    for path in (first, second):
        try:
            text = path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            why = getattr(error, "strerror", None) or "it is no UTF-8 text"
            raise SessionError(f"{path} cannot be read: {why}.") from error
        read.append(read_ballots(text, path.name))
    return read[0], read[1]


def unlike(first: Sequence[KeyedLine], second: Sequence[KeyedLine]) -> tuple[Unlike, ...]:
    """Return every glass that was keyed in differently."""
    one, other = Counter(first), Counter(second)
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
    if apart := unlike(first, second):
        raise SessionError(_refusal("The two keyings differ", (each.words() for each in apart)))
    if not first:
        raise SessionError("Nothing is keyed in: every value is empty.")
    people = tuple(sorted({line.assessor for line in first}))
    if away := list(away_faults(db, session, people)):
        raise SessionError(_refusal("Nothing was kept", away))
    ended = refuse_held(db, session, people, take_seats)
    kept, faults = 0, []
    for who in people:
        mine: dict[str, list[KeyedLine]] = {}
        for line in first:
            if line.assessor == who:
                mine.setdefault(line.code, []).append(line)
        try:
            kept += _keep_tray(db, session, who, mine, now)
        except OakpanelError as error:
            faults += str(error).splitlines()
    if faults:
        raise SessionError(_refusal("Nothing was kept", faults))
    details = {"session": name, "assessors": list(people), "glasses": kept, "keyed_twice": True}
    if ended:
        details["booths_ended"] = list(ended)
    append_entry(db, at=now, by=by, action="ballots keyed in", details=details)
    return BallotsKept(name, people, kept)


def _refusal(words: str, told: Iterable[str]) -> str:
    lines = list(told)
    more = [f"  and {len(lines) - MOST_TOLD} more"] if len(lines) > MOST_TOLD else []
    return "\n".join([f"{words}:", *(f"  {line}" for line in lines[:MOST_TOLD]), *more])


def _keep_tray(
    db: Session,
    session: PanelSession,
    who: str,
    mine: Mapping[str, Sequence[KeyedLine]],
    now: datetime,
) -> int:
    seat = booth.take_seat(db, session.name, who, now=now, place=FROM_PAPER)
    tray = booth.tray(db, seat)
    glasses = {glass.code: glass for glass in tray.glasses if not glass.withdrawn}
    faults = [
        *_glass_faults(who, mine, glasses),
        *twice_otherwise(who, mine, several=(PASS, HOLD, FAULT)),
        *_kept_faults(tray, who, mine, glasses),
    ]
    if faults:
        raise SessionError("\n".join(faults))
    facts = session.kind.facts
    if facts.in_sets:
        return _keep_sets(db, seat, tray, mine, now)
    for code, lines in mine.items():
        if facts.passes:
            _keep_passed(db, seat, code, lines, now)
        elif facts.traced:
            _keep_trace(db, seat, code, lines, now)
        else:
            _keep_scores(db, seat, code, lines, now)
    return len(mine)


def _glass_faults(
    who: str, mine: Mapping[str, Sequence[KeyedLine]], glasses: Mapping[str, Glass]
) -> Iterator[str]:
    for code in mine:
        if code not in glasses:
            yield f"{code} is not on the tray of {who}."
        elif glasses[code].finished_at is not None:
            yield f"{code} of {who} was answered already."


def _kept_faults(
    tray: Tray, who: str, mine: Mapping[str, Sequence[KeyedLine]], glasses: Mapping[str, Glass]
) -> Iterator[str]:
    if not tray.held_as.facts.passes:
        yield from kept_otherwise(tray, who, mine, glasses)
        return
    for code, lines in mine.items():
        if code in glasses:
            faults = [_fault(line).value for line in lines if line.what == HOLD]
            yield from marked_otherwise(who, glasses[code], faults)


def _keep_passed(
    db: Session, seat: Seat, code: str, lines: Sequence[KeyedLine], now: datetime
) -> None:
    said = {line.what for line in lines}
    if said not in ({PASS}, {HOLD}):
        raise SessionError(f"{code} of {seat.code}: either {PASS}, or {HOLD} with a fault.")
    faults = [_fault(line) for line in lines if line.what == HOLD]
    serving = booth.take_glass(db, seat, code, now)
    for fault in faults:
        booth.mark_fault(db, seat, serving, fault, now)
    booth.finish_glass(db, seat, serving, now)


def _fault(line: KeyedLine) -> Fault:
    """Return a fault by its name, or by its number on the ballot."""
    named = list(Fault)
    if line.value.isdecimal() and 1 <= int(line.value) <= len(named):
        return named[int(line.value) - 1]
    try:
        return Fault(line.value)
    except ValueError:
        known = ", ".join(f"{n} {fault.value}" for n, fault in enumerate(named, start=1))
        raise SessionError(
            f"{line.code} of {line.assessor}: {line.value!r} is no fault. There are: {known}."
        ) from None


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
        if line.what not in named:
            raise SessionError(f"{code} of {seat.code}: {line.what!r} is not scored here.")
        values[named[line.what]] = _whole(line)
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
    top = tray.held_as.facts.scale.high
    values: dict[int, float | None] = {}
    for line in lines:
        if line.what not in numbers:
            raise SessionError(f"{code} of {seat.code}: {line.what!r} is no second asked for.")
        if _whole(line) > top:
            raise SessionError(f"{code} of {seat.code}: {line.what} is {line.value}, 0 to {top}.")
        values[numbers[line.what]] = float(_whole(line))
        values[second_of(numbers[line.what])] = float(line.what.removesuffix(" s"))
    serving = booth.take_glass(db, seat, code, now)
    _save_new(db, seat, serving, values, now)


def _whole(line: KeyedLine) -> int:
    if not line.value.isdecimal():
        raise SessionError(
            f"{line.code} of {line.assessor}: {line.what} is {line.value!r}, no whole number."
        )
    return int(line.value)


def _keep_sets(
    db: Session, seat: Seat, tray: Tray, mine: Mapping[str, Sequence[KeyedLine]], now: datetime
) -> int:
    sets: dict[int, dict[int, int]] = {}
    for glass in poured(tray):
        for line in mine.get(glass.code, ()):
            if line.what != PLACE:
                raise SessionError(f"{glass.code} of {seat.code}: a set is answered by {PLACE}.")
            sets.setdefault(glass.flight, {})[glass.serving_id] = _whole(line)
    if task_of(tray).marks_first:  # on paper nobody ticks the reference: its place is the first
        for flight, places in sets.items():
            for one in set_of(tray, flight).glasses[:1]:
                places.setdefault(one.serving_id, 1)
    for flight, places in sets.items():
        places.update(_rest_of(tray, flight, places))
    if faults := list(_set_faults(seat, tray, sets)):
        raise SessionError("\n".join(faults))
    for flight, places in sorted(sets.items()):
        booth.take_glass(db, seat, set_of(tray, flight).glasses[0].code, now)
        check_answer(booth.tray(db, seat), flight, places)
        booth.answer_set(db, seat, flight, places, now)
    return sum(map(len, sets.values()))


def _rest_of(tray: Tray, flight: int, places: Mapping[int, int]) -> dict[int, int]:
    """Return the places that follow from ticks alone; none where more than ticks was keyed."""
    task, glasses = task_of(tray), set_of(tray, flight).glasses
    if task is Task.RANK or set(places.values()) != {1}:
        return {}
    ticked = set(places) | ({glasses[0].serving_id} if task is Task.SORT else set())
    if len(ticked) != (1 if task in (Task.PICK, Task.ODD) else 2):
        return {}
    return {one.serving_id: 1 if one.serving_id in ticked else 2 for one in glasses}


def _set_faults(seat: Seat, tray: Tray, sets: Mapping[int, Mapping[int, int]]) -> Iterator[str]:
    task = task_of(tray)
    for flight, places in sorted(sets.items()):
        glasses = set_of(tray, flight).glasses
        where = f"Set {flight} of {seat.code} ({', '.join(glass.code for glass in glasses)})"
        if missing := [glass.code for glass in glasses if glass.serving_id not in places]:
            yield f"{where}: {', '.join(missing)} has no place."
        elif not sound_places(task, [places[glass.serving_id] for glass in glasses]):
            yield f"{where}: these places are no answer to it. They are {PLACES_ARE[task]}."
