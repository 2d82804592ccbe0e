"""A cask's life on one page, and the list of all casks."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from analysis.bar_words import flagged
from analysis.bars import Bar, Bars, Purpose, forbidding, status_of
from panel.errors import UnknownRecord
from panel.frames.bars import bar_rules, state_bars
from panel.kinds import EventKind
from panel.questions.cask_entries import LifeEntry, life_entries
from panel.questions.cask_figures import CaskFigures, cask_figures, content_of
from panel.questions.gauge_flags import gauge_flags, racked_flags
from panel.questions.loss_limits import LossRules, loss_rules
from panel.store.casks import Cask, Filling
from panel.store.doubts import filling_doubts
from panel.store.filling_states import FillingState, filling_states
from panel.store.finding import nearest_words

LOW_STRENGTH = 42.0  # two points above the 40 % vol below which it is no longer whisky


@dataclass(frozen=True)
class FillingNow:
    """A filling as of a day, with all that its records hold against using it."""

    state: FillingState
    bars: Bars

    @property
    def status(self) -> str:
        """The one word that matters most for somebody who wants to use it."""
        return status_of(self.bars).value

    @property
    def barred_from(self) -> dict[Purpose, Bars]:
        """Each use that it may not be put to unasked, with every reason."""
        against = {use: forbidding(self.bars, use) for use in Purpose}
        return {use: why for use, why in against.items() if why}


@dataclass(frozen=True)
class CaskLife:
    """Everything the records tell of one cask as of a date."""

    number: str
    wood: str
    size_l: float
    note: str | None
    as_of: date
    fillings: tuple[FillingNow, ...]
    entries: tuple[LifeEntry, ...]
    flags: tuple[str, ...]
    figures: CaskFigures | None = None

    @property
    def today(self) -> FillingNow | None:
        """The filling that is in the cask now, if any."""
        last = self.fillings[-1] if self.fillings else None
        return last if last is not None and last.state.emptied_on is None else None


@dataclass(frozen=True)
class CaskLine:
    """One line of the cask list; `today` is None for an empty cask."""

    number: str
    wood: str
    size_l: float
    today: FillingNow | None

    @property
    def state(self) -> FillingState | None:
        """The filling that lies in it."""
        return None if self.today is None else self.today.state

    @property
    def status(self) -> str:
        """What stands in the way of using it, or that it is filled or empty."""
        return "empty" if self.today is None else self.today.status


def cask_lines(db: Session, as_of: date) -> list[CaskLine]:
    """Return every cask with the filling that lies in it on *as_of*."""
    rules = bar_rules(db)
    current = {
        state.cask: FillingNow(state, state_bars(state, rules))
        for state in filling_states(db, as_of)
        if state.emptied_on is None
    }
    casks = db.execute(select(Cask.number, Cask.wood, Cask.size_l).order_by(Cask.number))
    return [CaskLine(number, wood, size_l, current.get(number)) for number, wood, size_l in casks]


def find_cask(db: Session, number: str) -> Cask:
    """Return the cask, or say which number comes nearest.

    Raises
    ------
    UnknownRecord
        There is no cask of that number.
    """
    cask = db.scalar(select(Cask).where(Cask.number == number))
    if cask is None:
        near = nearest_words(number, db.scalars(select(Cask.number)))
        raise UnknownRecord(f"There is no cask {number!r}.{near}")
    return cask


def cask_life(db: Session, number: str, as_of: date) -> CaskLife:
    """Return the life of a cask up to *as_of*.

    What a session found stands here only once that session is revealed.
    """
    cask = find_cask(db, number)
    rules = bar_rules(db)
    losses = loss_rules(db)
    stock = {state.filling_id: state for state in filling_states(db, as_of)}
    lying = [state for state in stock.values() if state.cask == number]
    states = [FillingNow(state, state_bars(state, rules)) for state in lying]
    fillings = [filling for filling in cask.fillings if filling.filled_on <= as_of]
    entries = [entry for filling in fillings for entry in life_entries(db, filling)]
    return CaskLife(
        number=cask.number,
        wood=cask.wood,
        size_l=cask.size_l,
        note=cask.note,
        as_of=as_of,
        fillings=tuple(states),
        entries=tuple(
            sorted((each for each in entries if each.happened_on <= as_of), key=_in_order)
        ),
        flags=tuple(_flags(fillings, states, stock, losses)),
        figures=_figures_today(db, states, list(stock.values())),
    )


_LAST = ("reserved", "freed", "disgorged", EventKind.EMPTIED.value)
"""What ends a filling comes after all else of its day, in this order."""


def _in_order(entry: LifeEntry) -> tuple[date, int, LifeEntry]:
    place = _LAST.index(entry.kind) + 1 if entry.kind in _LAST else 0
    return entry.happened_on, place, entry


def _figures_today(
    db: Session, states: Sequence[FillingNow], house: Sequence[FillingState]
) -> CaskFigures | None:
    if not states or states[-1].state.emptied_on is not None:
        return None
    state = states[-1].state
    return cask_figures(state, content_of(db, state, house))


def _flags(
    fillings: list[Filling],
    states: list[FillingNow],
    stock: Mapping[int, FillingState],
    losses: LossRules,
) -> Iterator[str]:
    for filling, now in zip(fillings, states, strict=True):
        if filling.make is None and not any(e.kind is EventKind.RE_RACKED for e in filling.events):
            yield f"{filling.label} has no make and no parents: origin unknown"
        for _, doubt in filling_doubts(filling):
            yield f"{filling.label}: {doubt}"
        if now.state.emptied_on is None:
            yield from _flags_today(now, [*stock.values()], losses)
        yield from racked_flags(now.state, stock)


def _flags_today(
    now: FillingNow, stock: Sequence[FillingState], losses: LossRules
) -> Iterator[str]:
    state = now.state
    reserved = [each for each in now.bars if each.bar in {Bar.RESERVED, Bar.PARTLY_RESERVED}]
    others = [each for each in now.bars if each not in reserved]
    yield from map(flagged, others)
    if state.abv < LOW_STRENGTH and all(each.bar is not Bar.STRENGTH for each in others):
        yield f"{state.abv:g} % vol at the last gauge: close to 40 %, below which it is not whisky"
    lying = [each for each in stock if each.emptied_on is None]
    yield from gauge_flags(state, lying, losses)
    yield from map(flagged, reserved)


@dataclass(frozen=True)
class Hold:
    """Why nobody may use a filling, and until when; no reason where it is not on hold."""

    reason: str | None
    until: date | None


def hold_of(db: Session, filling: str) -> Hold:
    """Return the hold of the filling of that label."""
    found = db.scalars(select(Filling).where(Filling.label == filling)).one()
    return Hold(found.hold_reason, found.hold_until)
