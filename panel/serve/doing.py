"""A seat's deeds done, and the page that tells what came of them; runs in a thread."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from panel.errors import (
    OakpanelError,
    SeatTaken,
    StoreError,
    TablesChanged,
    WrongGlass,
    WrongState,
)
from panel.seat import between, said, sets_said
from panel.seat.became import what_became_of
from panel.seat.between import Typed
from panel.seat.jobs import AnswerSet, LookAgain, PutDown, RestZero, TakeUp, ZerosBack, perform
from panel.seat.once import Done, perform_once
from panel.seat.values import DEED_DIGITS, glass_in_hand
from panel.serve import pages
from panel.serve.forms import Asked, Fields, asked_of
from panel.serve.kinds import standing
from panel.serve.pages import QUIET, Message

if TYPE_CHECKING:
    from datetime import datetime

    from panel.seat.values import Seat, Store, Tray
    from panel.serve.pages import Shown

STAYS = "What is marked 'not kept yet' stays here, and is sent again."


@dataclass(frozen=True)
class Answer:
    """A page; whether the seat is another booth's by now, and whether the session is not open."""

    shown: Shown
    gone: bool = False
    closed: bool = False


def stands(
    store: Store,
    seat: Seat,
    now: datetime,
    message: Message = QUIET,
    *,
    status: int = 200,
    at_words: bool = False,
) -> Answer:
    """Return the page of the place that a seat stands at, or why it stands nowhere."""
    try:
        tray = perform(store, seat, LookAgain(), now)
    except OakpanelError as error:
        return _nowhere(error)
    if message is QUIET and (gone := between.stopped_last(tray)):
        message = Message(gone, True)
    words = at_words and tray.own is not None
    shown = pages.named_words(tray, now, message) if words else standing(tray, now, message)
    return Answer(_at(shown, status))


def do(store: Store, seat: Seat, now: datetime, *, fields: Fields) -> Answer:
    """Do what a form asks for, once, and return the page that tells of it."""
    try:
        asked = asked_of(fields, seat, store)
        if doubt := _doubted(store, seat, asked, fields, now):
            return Answer(doubt)
        return Answer(_told(_done(store, seat, asked, now), asked, now))
    except (SeatTaken, TablesChanged, StoreError, WrongState) as error:
        return _nowhere(error)
    except OakpanelError as error:
        status = 410 if isinstance(error, WrongGlass) else 409
        return stands(store, seat, now, Message(str(error), True), status=status)


def _done(store: Store, seat: Seat, asked: Asked, now: datetime) -> list[Done]:
    """Do each job in a transaction of its own; those after the first have a number from it."""
    return [
        perform_once(store, seat, _number(asked.number, place), job, now)
        for place, job in enumerate(asked.jobs)
    ]


def _number(number: str, place: int) -> str:
    if not place:
        return number
    return hashlib.sha256(f"{number} {place}".encode()).hexdigest()[:DEED_DIGITS]


def _doubted(store: Store, seat: Seat, asked: Asked, fields: Fields, now: datetime) -> Shown | None:
    """Ask once more before a glass is taken out of order or again; nothing is done then."""
    first = asked.jobs[0]
    if not isinstance(first, TakeUp) or fields.get("sure") == first.code:
        return None
    code = first.code
    tray = perform(store, seat, LookAgain(), now)
    held = glass_in_hand(tray)
    if held is not None and held.code == code:
        return None
    found = between.judged(tray, code, now)
    if found.typed is Typed.READY:
        return None
    take = pages.TAKES[found.typed].format(code=code)
    message = Message(found.said, found.typed is Typed.OUT_OF_ORDER)
    shown = pages.between_glasses(tray, now, message, typed=code, take=take)
    return replace(shown, about=f"{shown.about} {code}", message=message, look_s=0)


def _told(done: list[Done], asked: Asked, now: datetime) -> Shown:
    """Return the page after the deeds, with what is said of them."""
    last = done[-1]
    tray = last.tray
    words = " ".join(filter(None, (_words(each, tray) for each in done)))
    if asked.kind in pages.ON_WORDS:
        return pages.named_words(tray, now, Message(words))
    shown = standing(tray, now, Message(words))
    return pages.with_zeros(shown, tray, last.at) if isinstance(last.job, RestZero) else shown


def _words(done: Done, tray: Tray) -> str:
    at = said.hour(tray, done.at, seconds=True)
    match done.job:
        case PutDown(serving_id=number):
            glass = next((each for each in tray.glasses if each.serving_id == number), None)
            return what_became_of(glass, done.job, tray)[0]
        case AnswerSet() as answer:
            return sets_said.kept(tray, answer)
        case ZerosBack(lines=lines):
            return said.blank_again(len(lines))
    return said.kept_words(done.job, tray, at)


def _nowhere(error: OakpanelError) -> Answer:
    """Return the page of a seat that cannot save: for good, or for now."""
    if isinstance(error, SeatTaken):
        taken = pages.stopped(Message(str(error), True), status=403, again=True)
        return Answer(taken, gone=True)
    if isinstance(error, TablesChanged):
        return Answer(pages.stopped(Message(str(error), True), status=403))
    shown = pages.held(Message(f"{error} {STAYS}", True), status=503)
    return Answer(shown, closed=isinstance(error, WrongState))


def _at(shown: Shown, status: int) -> Shown:
    return replace(shown, status=status)
