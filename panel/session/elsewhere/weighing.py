"""What speaks against a return: every fault at once, before anything of it is written.

Whoever wrote it may have had a shell at the other site. So nothing in it is taken for what it says:
seats, codes, lines and values are held against this house's own rows.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from sqlalchemy import select

from panel.figures import in_digits
from panel.kinds import Task
from panel.session.elsewhere.bottles import STANDS
from panel.session.elsewhere.lines import seat_of
from panel.session.elsewhere.opening import more_than_sent
from panel.session.elsewhere.untouched import touched_glasses
from panel.session.sets import sound_places
from panel.store.booth_lines import line_places, own_words_of, scale_ends
from panel.store.finding import nearest_words
from panel.store.sessions import PanelSession, Serving, SessionAssessor
from panel.store.site_packs import sent_ml
from panel.store.word_text import name_fault, plain_word, word_fault, word_key

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from panel.session.elsewhere.values import GivenValue, ReturnBody, ReturnedGlass, ReturnedWord
    from panel.store.site_packs import SitePack

Standing = tuple[int, str, int]
"""Seat, code and pouring: by what a glass is known at both sites."""
Ends = Mapping[int, tuple[float, float]]


@dataclass(frozen=True)
class Weighed:
    """A return beside the rows of this house that it speaks of.

    `without` are codes of people whose seat stays as it was scored here.
    """

    db: Session
    session: PanelSession
    pack: SitePack
    body: ReturnBody
    without: tuple[str, ...] = ()

    @cached_property
    def chairs(self) -> dict[int, SessionAssessor]:
        """Return the seats of the pack that are still there, by the number they had."""
        here = {chair.person_id: chair for chair in self.session.assessors}
        seats = {row.seat: row.person_id for row in self.pack.seats}
        return {seat: here[person] for seat, person in seats.items() if person in here}

    @cached_property
    def left_out(self) -> frozenset[int]:
        """Return the numbers of the seats that stay as they are here."""
        return frozenset(
            seat for seat, chair in self.chairs.items() if chair.person.code in self.without
        )

    @cached_property
    def touched(self) -> Mapping[int, Sequence[str]]:
        """Return by seat what was scored of it here meanwhile."""
        people = {seat: chair.person_id for seat, chair in self.chairs.items()}
        found = {
            seat: touched_glasses(self.db, self.session, person) for seat, person in people.items()
        }
        return {seat: what for seat, what in found.items() if what}

    @property
    def scored_twice(self) -> list[str]:
        """Return the codes of who scored here and there and is not left out."""
        return [self.chairs[seat].person.code for seat in self.touched if seat not in self.left_out]

    @property
    def joined(self) -> list[ReturnedGlass]:
        """Return the glasses that are to be joined."""
        return [glass for glass in self.body.glasses if glass.seat not in self.left_out]

    @cached_property
    def glasses(self) -> dict[Standing, Serving]:
        """Return this house's glasses on those trays."""
        seats = {chair.person_id: seat for seat, chair in self.chairs.items()}
        mine = (Serving.session_id == self.session.id, Serving.person_id.in_(seats))
        found = self.db.scalars(select(Serving).where(*mine))
        return {(seats[one.person_id], one.code, one.pouring): one for one in found}

    @cached_property
    def ends(self) -> Mapping[int, Ends]:
        """Return by seat the ends of each line, by the place of the line."""
        return {seat: self._ends_of(seat) for seat in self.chairs}

    def _ends_of(self, seat: int) -> Ends:
        sitting = seat_of(self.chairs[seat])
        places = line_places(self.db, sitting, self.session)
        here = scale_ends(self.db, sitting, self.session)
        found = {places[line]: ends for line, ends in here.items()}
        scale = self.session.kind.facts.scale
        return found | {word.place: (scale.low, scale.high) for word in self._words(seat)}

    def _words(self, seat: int) -> list[ReturnedWord]:
        return [word for each in self.body.seats if each.seat == seat for word in each.words]

    def faults(self) -> Iterator[str]:
        """Give everything that speaks against it."""
        if self.body.pack_hash != self.pack.file_hash:
            yield "It answers another pack than the one that was sent: that one was changed."
        yield from self._seat_faults()
        yield from self._glass_faults()
        for seat in self.body.seats:
            if seat.seat in self.chairs and seat.seat not in self.left_out:
                yield from self._word_faults(seat.seat)
        for glass in self.joined:
            if glass.seat in self.chairs:
                yield from self._value_faults(glass)
        yield from self._set_faults()
        yield from self._call_faults()
        yield from self._amount_faults()

    def _amount_faults(self) -> Iterator[str]:
        destroyed, received = self.body.destroyed.millilitres, self.body.received.millilitres
        if wrong := more_than_sent(received, sent_ml(self.pack)):
            yield wrong
        if destroyed > received:
            yield (
                f"More was destroyed there than received: {in_digits(destroyed, 'g')} mL of "
                f"{in_digits(received, 'g')} mL."
            )

    def _seat_faults(self) -> Iterator[str]:
        sent = Counter(row.seat for row in self.pack.seats)
        if sent != Counter(seat.seat for seat in self.body.seats):
            yield "It has other seats than the pack."
        for seat in sent:
            if seat not in self.chairs:
                yield f"Whoever sat at seat {seat} has no seat in the session any more."
        for seat in self.left_out - self.touched.keys():
            code = self.chairs[seat].person.code
            yield f"{code} was not scored here: there is nothing to leave out."
        for seat, found in self.touched.items():
            if seat not in self.left_out:
                yield from (f"Seat {seat} was scored here as well: {what}." for what in found)
        known = {chair.person.code for chair in self.chairs.values()}
        for code in self.without:
            if code not in known:
                yield f"{code} has no seat in this return.{nearest_words(code, known)}"

    def _glass_faults(self) -> Iterator[str]:
        came = Counter((g.seat, g.code, g.pouring) for g in self.joined)
        for standing, count in came.items():
            seat, code, pouring = standing
            if count > 1:
                yield f"Glass {code} of seat {seat} stands in it {count} times."
            known = standing in self.glasses or (seat, code, pouring - 1) in (
                came.keys() & self.glasses.keys()
            )
            if not known:
                yield f"Glass {code} of seat {seat}, pouring {pouring}, was never poured for it."
        for (seat, code, _pouring), glass in self.glasses.items():
            missing = glass.status in STANDS and (seat, code, glass.pouring) not in came
            if missing and seat not in self.left_out:
                yield f"Glass {code} of seat {seat} is not in it."

    def _word_faults(self, seat: int) -> Iterator[str]:
        words = self._words(seat)
        limits = own_words_of(self.db, seat_of(self.chairs[seat]), self.session)
        if words and limits is None:
            yield f"Seat {seat} names own words, and the session has none."
        if limits is not None and limits.most is not None and len(words) > limits.most:
            yield f"Seat {seat} names {len(words)} own words; {limits.most} at most here."
        if len({word.place for word in words}) < len(words):
            yield f"Seat {seat} has two own words at one place."
        if len({word_key(word.word) for word in words}) < len(words):
            yield f"Seat {seat} names a word twice."
        for word in words:
            if plain_word(word.word) != word.word or (wrong := word_fault(word.word)):
                yield f"Seat {seat}, word {word.place}: {wrong or 'not written as it is kept'}."

    def _value_faults(self, glass: ReturnedGlass) -> Iterator[str]:
        ends, where = self.ends[glass.seat], f"Glass {glass.code} of seat {glass.seat}"
        values: list[tuple[int, float | None]] = [(one.line, one.value) for one in glass.given]
        values += [(one.line, one.value) for one in glass.changes]
        for line, value in values:
            if line not in ends:
                yield f"{where}: line {line} is not on the sheet."
            elif value is not None and not ends[line][0] <= value <= ends[line][1]:
                yield f"{where}: {in_digits(value, 'g')} lies outside line {line}."
        if len({each.line for each in glass.given}) < len(glass.given):
            yield f"{where}: a line has two values."
        if len({each.fault for each in glass.faults}) < len(glass.faults):
            yield f"{where}: a fault is marked twice."
        on_tray = {code for seat, code, _ in self.glasses if seat == glass.seat}
        if glass.read_as is not None and glass.read_as not in on_tray - {glass.code}:
            yield f"{where}: it is read as {glass.read_as}, which is not on that tray."
        for count, mark in enumerate(glass.marks):
            if mark.reverses is not None and mark.reverses >= count:
                yield f"{where}: a mark takes back one that is not before it."
            if wrong := name_fault(mark.by):
                yield f"{where}: who marked it {wrong}."

    def _set_faults(self) -> Iterator[str]:
        """Hold what was given to the glasses of each set against what an answer to it is."""
        task = self.session.kind.facts.task
        if task is None:
            return
        stands = {
            (seat, code): (glass.flight, glass.position or 0)
            for (seat, code, _), glass in self.glasses.items()
        }
        last = self._last_given()
        sets: dict[tuple[int, int], list[str]] = {}
        for seat, code in sorted((one for one in last if one in stands), key=stands.__getitem__):
            sets.setdefault((seat, stands[seat, code][0]), []).append(code)
        for (seat, number), codes in sorted(sets.items()):
            places = [one.value for code in codes for one in last[seat, code]]
            blank = {(seat, code) for code in codes if not last[seat, code]} - self._taken_out
            short = task is Task.RANK and (len(places) == 1 or blank)
            if places and (short or not sound_places(task, places)):
                yield f"Set {number} of seat {seat}: these places are no answer to it."

    def _last_given(self) -> dict[tuple[int, str], Sequence[GivenValue]]:
        """Return by seat and code what was given last, to whichever pouring.

        A glass that was poured again after its set was answered, and not answered since, has its
        place under the pouring before; beside the others of the set that was an answer.
        """
        last: dict[tuple[int, str], Sequence[GivenValue]] = {}
        for glass in sorted(self.joined, key=lambda each: each.pouring):
            if glass.given or (glass.seat, glass.code) not in last:
                last[glass.seat, glass.code] = glass.given
        return last

    @cached_property
    def _taken_out(self) -> frozenset[tuple[int, str]]:
        """Return the glasses that did not always stand there: a ranking may lack their places."""
        return frozenset(
            (glass.seat, glass.code)
            for glass in self.joined
            if any(mark.status not in STANDS for mark in glass.marks)
        )

    def _call_faults(self) -> Iterator[str]:
        came = {(g.seat, g.code, g.pouring) for g in self.body.glasses}
        for call in self.body.calls:
            about = (call.seat, call.code, call.pouring)
            if call.seat not in self.chairs or (call.code is not None and about not in came):
                yield "A call is of no seat or glass of this return."
        for stop in self.body.stops:
            never_here = stop.seat in self.left_out and (
                (stop.seat, stop.code, 1) not in self.glasses
            )
            if never_here or (stop.seat, stop.code, stop.pouring) not in came:
                yield "A stop is of no glass of this return."
            if stop.call is not None and stop.call >= len(self.body.calls):
                yield "A stop is of no call of this return."
            lifted = (stop.lifted_at, stop.lifted_by, stop.lifted_because or None)
            if any(lifted) and not all(lifted):
                yield "A stop was lifted without a name or a reason."
