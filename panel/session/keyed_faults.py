"""What is wrong with keyed ballots: every fault of both files at once, with its rows and column.

Nothing is written here: a ballot is looked at against the sheet and the tray it belongs to.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panel.kinds import Task
from panel.session.keyed_against import kept_otherwise, marked_otherwise, twice_otherwise
from panel.session.keyed_lines import (
    FAULT,
    HOLD,
    PASS,
    PLACE,
    TICKS,
    KeyedLine,
    fault_of,
    numbered_faults,
    places_of,
)
from panel.session.keyed_sets import places_of_sets
from panel.session.sets import PLACES_ARE, set_of, sound_places, task_of
from panel.store.booth_lines import scale_ends
from panel.store.booth_reading import tray_unseated
from panel.store.booth_tray import Seat
from panel.store.finding import nearest_words
from panel.store.word_text import plain_word, word_fault, word_key

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.kinds import KindFacts
    from panel.store.booth_tray import Glass, Tray
    from panel.store.sessions import PanelSession

Said = tuple[str, str]
"""The column that is at fault, and what is wrong there."""


@dataclass(frozen=True)
class BallotFault:
    """A fault, the lines it is about, and their column where it is in one."""

    lines: tuple[KeyedLine, ...]
    column: str
    words: str

    def told(self) -> str:
        """Return it as a sentence, with its place before it."""
        column = f"column {self.column}" if self.column else ""
        where = ", ".join(part for part in (places_of(self.lines), column) if part)
        return f"{where}: {self.words}" if places_of(self.lines) else self.words


@dataclass(frozen=True)
class Asked:
    """What a session asks: the lines of its sheet with both ends of each, and each tray."""

    facts: KindFacts
    session: str
    ends: Mapping[str, tuple[float, float]]
    trays: Mapping[str, Tray]


def asked_of(db: Session, session: PanelSession) -> Asked:
    """Return what a session asks of whom."""
    trays = {
        seat.person.code: tray_unseated(db, session, seat.person_id, seat.person.code)
        for seat in session.assessors
    }
    facts, ends = session.kind.facts, {}
    if not facts.passes and not facts.in_sets and not facts.own_lines:
        first = session.assessors[0]
        numbers = scale_ends(db, Seat(session.id, first.person_id, "", ""), session)
        lines = trays[first.person.code].lines
        ends = {line.name: numbers[line.version_id] for line in lines}
    return Asked(facts, session.name, ends, trays)


# ------------------------------------------------------------------ as it is meant


def as_meant(asked: Asked, *files: Sequence[KeyedLine]) -> list[list[KeyedLine]]:
    """Return the lines of each file with capitals as they are on record, and ticks as places."""
    people = _folded(asked.trays)
    facts = asked.facts
    known = (PASS, HOLD) if facts.passes else (PLACE,) if facts.in_sets else (*asked.ends, FAULT)
    names = _folded(known)
    words = {
        who: {word_key(line.name): line.name for line in tray.lines if facts.own_lines}
        for who, tray in asked.trays.items()
    }

    def meant(line: KeyedLine) -> KeyedLine:
        who = people.get(line.assessor.casefold(), line.assessor)
        what = names.get(line.what.casefold(), line.what)
        if facts.own_lines and what != FAULT and what:
            what = words.setdefault(who, {}).setdefault(word_key(what), plain_word(what))
        return replace(line, assessor=who, what=what, value=_value_meant(what, line.value))

    return [[meant(line) for line in file] for file in files]


def _value_meant(what: str, value: str) -> str:
    """A fault by its name, a tick as a place, a number without zeros before it."""
    if what in (HOLD, FAULT):
        fault = fault_of(value.lower())
        return value.lower() if fault is None else fault.value
    if what == PLACE and value in TICKS:
        return "1"
    return str(int(value)) if value.isdecimal() else value


def _folded(names: Iterable[str]) -> dict[str, str]:
    """Return names by how they read whatever their capitals, where that stays clear."""
    found: dict[str, list[str]] = {}
    for name in names:
        found.setdefault(name.casefold(), []).append(name)
    return {folded: each[0] for folded, each in found.items() if len(each) == 1}


def answering(facts: KindFacts, lines: Iterable[KeyedLine]) -> list[KeyedLine]:
    """Return the lines that say something: what is empty was not answered."""
    return [line for line in lines if line.value or facts.passes]


# ------------------------------------------------------------------ what is wrong


def ballot_faults(asked: Asked, *files: Sequence[KeyedLine]) -> list[BallotFault]:
    """Return every fault of these files in the order of the rows; alike in both is told once."""
    found: dict[tuple[str, str], BallotFault] = {}
    for file in files:
        for fault in _faults_of(asked, file):
            before = found.get((fault.column, fault.words))
            lines = (*(before.lines if before else ()), *fault.lines)
            found[fault.column, fault.words] = replace(fault, lines=lines)
    return sorted(found.values(), key=lambda fault: min(line.row for line in fault.lines))


def _faults_of(asked: Asked, file: Sequence[KeyedLine]) -> Iterator[BallotFault]:
    ballots: dict[str, dict[str, list[KeyedLine]]] = {}
    for line in file:
        ballots.setdefault(line.assessor, {}).setdefault(line.code, []).append(line)
    for who, mine in ballots.items():
        tray = asked.trays.get(who)
        lines = tuple(line for each in mine.values() for line in each)
        wrong = {line: list(_line_faults(asked, line)) for line in lines}
        if tray is None:
            near = nearest_words(who, asked.trays)
            words = f"{who!r} has no tray in {asked.session}.{near}"
            yield BallotFault(lines, "assessor", words)
        for line in lines:
            for column, said in wrong[line]:
                yield BallotFault((line,), column, f"{line.code} of {who}: {said}")
        if tray is not None:
            sound = {
                code: [line for line in each if not wrong[line]] for code, each in mine.items()
            }
            yield from _glass_faults(asked, tray, who, mine, sound)


def _line_faults(asked: Asked, line: KeyedLine) -> Iterator[Said]:
    if asked.facts.passes:
        yield from _passing_faults(line)
    elif asked.facts.in_sets:
        if line.what != PLACE:
            yield "what", f"{line.what!r} is none: a set is answered by {PLACE}."
        elif line.value and not line.value.isdecimal():
            yield "value", f"{PLACE} is {line.value!r}, no whole number."
    else:
        yield from _score_faults(asked, line)


def _passing_faults(line: KeyedLine) -> Iterator[Said]:
    if not line.what:
        yield "what", f"{line.value!r} stands without a word: {PASS}, or {HOLD} with a fault."
    elif line.what not in (PASS, HOLD):
        yield "what", f"{line.what!r} is neither {PASS} nor {HOLD}."
    elif line.what == PASS and line.value:
        yield "value", f"{PASS} stands with {line.value!r}: either {PASS}, or {HOLD} with a fault."
    elif line.what == HOLD:
        yield from _named_fault(line)


def _named_fault(line: KeyedLine) -> Iterator[Said]:
    if fault_of(line.value) is None:
        said = f"{line.what} stands with {line.value!r}" if line.value else f"{line.what} alone"
        said = f"{said}; {line.value!r} is no fault. There are: {numbered_faults()}."
        yield "value", said


def _score_faults(asked: Asked, line: KeyedLine) -> Iterator[Said]:
    facts, scale = asked.facts, asked.facts.scale
    if not line.what:
        yield "what", f"{line.value!r} stands without a word."
        return
    if line.what == FAULT and not facts.traced:
        yield from _named_fault(line)
        return
    if facts.own_lines:
        if fault := word_fault(line.what):
            yield "what", f"{line.what!r} is no word to keep: {fault}."
    elif line.what not in asked.ends:
        how = "no second asked for" if facts.traced else "not scored here"
        yield "what", f"{line.what!r} is {how}.{nearest_words(line.what, asked.ends)}"
        return
    low, high = asked.ends.get(line.what, (scale.low, scale.high))
    if line.value and not line.value.isdecimal():
        said = f"{line.what} is {line.value!r}, no whole number from {low:.0f} to {high:.0f}."
        yield "value", said
    elif line.value and not low <= int(line.value) <= high:
        yield "value", f"{line.what} is {line.value}, {low:.0f} to {high:.0f} is asked for."


def _glass_faults(
    asked: Asked,
    tray: Tray,
    who: str,
    mine: Mapping[str, Sequence[KeyedLine]],
    sound: Mapping[str, Sequence[KeyedLine]],
) -> Iterator[BallotFault]:
    glasses = {glass.code: glass for glass in tray.glasses if not glass.withdrawn}
    for code, lines in mine.items():
        for column, words in _one_glass(asked, tray, who, code, sound[code], glasses):
            yield BallotFault(tuple(lines), column, words)
    if tray.own is not None and tray.own.most is not None:
        there = {line.name for line in tray.lines}
        own = [line for each in sound.values() for line in each if line.what != FAULT]
        new = [line for line in own if line.what not in there and line.value]
        if len(there | {line.what for line in new}) > tray.own.most and new:
            words = f"{who} has {len(there | {each.what for each in new})} words"
            yield BallotFault(tuple(new), "what", f"{words}; {tray.own.most} at most here.")
    if asked.facts.in_sets:
        yield from _set_faults(tray, who, mine, sound)


def _one_glass(
    asked: Asked,
    tray: Tray,
    who: str,
    code: str,
    lines: Sequence[KeyedLine],
    glasses: Mapping[str, Glass],
) -> Iterator[Said]:
    if code not in glasses:
        yield "code", f"{code} is not on the tray of {who}."
        return
    if glasses[code].finished_at is not None:
        yield "code", f"{code} of {who} was answered already."
        return
    told = answering(asked.facts, lines)
    if asked.facts.passes:
        if {line.what for line in told} == {PASS, HOLD}:
            yield "what", f"{code} of {who}: either {PASS}, or {HOLD} with a fault."
        faults = [fault.value for line in told if (fault := fault_of(line.value))]
        for words in marked_otherwise(who, glasses[code], faults) if told else ():
            yield "", words
        return
    for words in twice_otherwise(who, {code: told}, several=(FAULT,)):
        yield "value", words
    for words in kept_otherwise(tray, who, {code: told}, glasses):
        yield "value", words


def _set_faults(
    tray: Tray,
    who: str,
    mine: Mapping[str, Sequence[KeyedLine]],
    sound: Mapping[str, Sequence[KeyedLine]],
) -> Iterator[BallotFault]:
    """Give what is wrong with sets; of one with a line that cannot be read only what is missing."""
    task = task_of(tray)
    for flight, places in sorted(places_of_sets(tray, sound).items()):
        glasses = set_of(tray, flight).glasses
        lines = tuple(line for glass in glasses for line in mine.get(glass.code, ()))
        where = f"Set {flight} of {who} ({', '.join(glass.code for glass in glasses)})"
        keyed = {line.code for line in lines if line.value}
        unread = [g for g in glasses if g.code in keyed and g.serving_id not in places]
        missing = [g.code for g in glasses if g.code not in keyed and g.serving_id not in places]
        if missing and not (unread and task is not Task.RANK):
            words = f"{where}: {', '.join(missing)} has no place."
            yield BallotFault(lines, "value", words)
        elif not unread and not sound_places(task, [places[g.serving_id] for g in glasses]):
            words = f"{where}: these places are no answer to it. They are {PLACES_ARE[task]}."
            yield BallotFault(lines, "value", words)
