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
from panel.kinds import EventKind, GlassKind, ReleaseStatus, SessionStatus
from panel.questions.cask_figures import CaskFigures, cask_figures, content_of
from panel.questions.gauge_flags import gauge_flags, racked_flags
from panel.questions.loss_limits import LossRules, loss_rules
from panel.store.casks import Cask, Filling, FillingEvent, Regauge
from panel.store.doubts import filling_doubts
from panel.store.draws import Draw, DrawPart
from panel.store.filling_states import FillingState, filling_states
from panel.store.finding import nearest_words
from panel.store.key import KeyRow
from panel.store.releases import Release, ReleasePart
from panel.store.sessions import PanelSession

LOW_STRENGTH = 42.0  # two points above the 40 % vol below which it is no longer whisky


@dataclass(frozen=True, order=True)
class LifeEntry:
    """Something that happened to a cask, in words."""

    happened_on: date
    kind: str
    filling: str
    words: str


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
    entries = [entry for filling in fillings for entry in _entries(db, filling)]
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


def _entries(db: Session, filling: Filling) -> Iterator[LifeEntry]:
    yield _filled(filling)
    for regauge in filling.regauges:
        yield _gauged(filling, regauge)
    for event in filling.events:
        yield LifeEntry(event.happened_on, event.kind.value, filling.label, _event_words(event))
    given = select(FillingEvent).where(FillingEvent.parent_filling_id == filling.id)
    for event in db.scalars(given):
        words = f"{event.litres:g} L into {event.filling.label}"
        yield LifeEntry(event.happened_on, event.kind.value, filling.label, words)
    yield from _draws(db, filling)
    yield from _nosings(db, filling)
    yield from _releases(db, filling)


def _filled(filling: Filling) -> LifeEntry:
    spirit = filling.make.name if filling.make else "spirit from other casks"
    words = f"{filling.fill_bulk_l:g} L of {spirit} at {filling.fill_abv:g} %, fill"
    words += f" {filling.fill_number}"
    if filling.previous:
        words += f", after {filling.previous}"
    return LifeEntry(filling.filled_on, "filled", filling.label, words)


def _gauged(filling: Filling, regauge: Regauge) -> LifeEntry:
    words = f"{regauge.bulk_l:g} L at {regauge.abv:g} %, {regauge.method.value}"
    if regauge.temperature_c is not None:
        words += f" at {regauge.temperature_c:g} °C (litres at 20 °C)"
    return LifeEntry(regauge.gauged_on, "regauged", filling.label, _noted(words, regauge.note))


def _event_words(event: FillingEvent) -> str:
    place = " ".join(p for p in (event.site, event.warehouse, event.row, event.tier) if p)
    parts = []
    if event.parent is not None:
        parts.append(f"from {event.parent.label}")
    if event.litres is not None:
        parts.append(f"{event.litres:g} L")
    if event.abv is not None:
        parts.append(f"at {event.abv:g} %")
    if place:
        parts.append(f"to {place}")
    return _noted(" ".join(parts), event.note)


def _noted(words: str, note: str | None) -> str:
    return f"{words} ({note})" if words and note else words or note or ""


def _draws(db: Session, filling: Filling) -> Iterator[LifeEntry]:
    for draw in db.scalars(select(Draw).where(Draw.filling_id == filling.id)):
        if draw.drawn_on is not None:
            amount = f" {draw.volume_ml:g} mL" if draw.volume_ml is not None else ""
            yield LifeEntry(draw.drawn_on, "drawn", filling.label, f"sample {draw.label}{amount}")
    trials = select(Draw, DrawPart.millilitres).join(DrawPart, DrawPart.draw_id == Draw.id)
    for draw, millilitres in db.execute(trials.where(DrawPart.filling_id == filling.id)):
        if draw.drawn_on is not None:
            words = f"{millilitres:g} mL for trial {draw.label}"
            yield LifeEntry(draw.drawn_on, "drawn", filling.label, words)


def _nosings(db: Session, filling: Filling) -> Iterator[LifeEntry]:
    found = (
        select(PanelSession.held_on, PanelSession.name, Draw.label)
        .join(KeyRow, KeyRow.session_id == PanelSession.id)
        .join(Draw, Draw.id == KeyRow.draw_id)
        .where(
            Draw.filling_id == filling.id,
            PanelSession.status == SessionStatus.REVEALED,
            KeyRow.kind != GlassKind.WARM_UP,
        )
        .distinct()
    )
    for held_on, session, label in db.execute(found):
        if held_on is not None:
            yield LifeEntry(held_on, "nosed", filling.label, f"as {label} in session {session}")


def _releases(db: Session, filling: Filling) -> Iterator[LifeEntry]:
    parts = (
        select(Release, ReleasePart)
        .join(ReleasePart, ReleasePart.release_id == Release.id)
        .where(ReleasePart.filling_id == filling.id)
    )
    for release, part in db.execute(parts):
        words = f"{part.litres:g} L for release {release.name}"
        yield LifeEntry(release.planned_on, "reserved", filling.label, words)
        if release.status is ReleaseStatus.CANCELLED and release.cancelled_on is not None:
            words = f"release {release.name} was cancelled"
            yield LifeEntry(release.cancelled_on, "freed", filling.label, words)
        if release.disgorged_on is not None and part.given_l is not None:
            lot = f", lot {release.lot_code}" if release.lot_code else ""
            words = f"{part.given_l:g} L at {part.given_abv:g} % into release {release.name}{lot}"
            yield LifeEntry(release.disgorged_on, "disgorged", filling.label, words)


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
            yield from _flags_today(now, losses)
        yield from racked_flags(now.state, stock)


def _flags_today(now: FillingNow, losses: LossRules) -> Iterator[str]:
    state = now.state
    reserved = [each for each in now.bars if each.bar in {Bar.RESERVED, Bar.PARTLY_RESERVED}]
    others = [each for each in now.bars if each not in reserved]
    yield from map(flagged, others)
    if state.abv < LOW_STRENGTH and all(each.bar is not Bar.STRENGTH for each in others):
        yield f"{state.abv:g} % vol at the last gauge: close to 40 %, below which it is not whisky"
    yield from gauge_flags(state, losses.limits(state))
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
