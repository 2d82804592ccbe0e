"""What happened to a filling, a line each: filled, gauged, moved, drawn from, nosed, released."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.figures import litre_words
from panel.kinds import GlassKind, ReleaseStatus, SessionStatus
from panel.store.casks import Filling, FillingEvent, Regauge
from panel.store.draw_looks import look_words, looks_shown
from panel.store.draws import Draw, DrawPart
from panel.store.key import KeyRow
from panel.store.releases import Release, ReleasePart
from panel.store.sessions import PanelSession

TAKEN_BACK = "taken back"
"""What an entry is called that somebody told and took back: it counts for nothing."""


@dataclass(frozen=True, order=True)
class LifeEntry:
    """Something that happened to a cask, in words."""

    happened_on: date
    kind: str
    filling: str
    words: str


def life_entries(db: Session, filling: Filling) -> Iterator[LifeEntry]:
    """Give all that happened to a filling, in no order; what was taken back stands as that."""
    yield _filled(filling)
    for regauge in filling.regauges:
        yield _gauged(filling, regauge)
    for event in filling.told_events:
        yield _event_entry(event, filling.label, event_words(event))
    given = select(FillingEvent).where(FillingEvent.parent_filling_id == filling.id)
    for event in db.scalars(given):
        amount = "spirit" if event.litres is None else litre_words(event.litres)
        words = f"{amount} into {event.filling.label}"
        yield _event_entry(event, filling.label, words)
    yield from _draws(db, filling)
    yield from _nosings(db, filling)
    yield from _releases(db, filling)


def _filled(filling: Filling) -> LifeEntry:
    spirit = filling.make.name if filling.make else "spirit from other casks"
    words = f"{litre_words(filling.fill_bulk_l)} of {spirit} at {filling.fill_abv:g} %, fill"
    words += f" {filling.fill_number}"
    if filling.previous:
        words += f", after {filling.previous}"
    return LifeEntry(filling.filled_on, "filled", filling.label, words)


def _gauged(filling: Filling, regauge: Regauge) -> LifeEntry:
    words = f"{litre_words(regauge.bulk_l)} at {regauge.abv:g} %, {regauge.method.value}"
    if regauge.temperature_c is not None:
        words += f" at {regauge.temperature_c:g} °C (litres at 20 °C)"
    return LifeEntry(regauge.gauged_on, "regauged", filling.label, _noted(words, regauge.note))


def _event_entry(event: FillingEvent, label: str, words: str) -> LifeEntry:
    if event.reversal is None:
        return LifeEntry(event.happened_on, event.kind.value, label, words)
    told = f"{event.kind.value} {words}".strip()
    return LifeEntry(event.happened_on, TAKEN_BACK, label, f"{told}; by {event.reversal.by_code}")


def event_words(event: FillingEvent) -> str:
    """Return what happened beyond its kind and day: from where, how much, to where, the note."""
    place = " ".join(p for p in (event.site, event.warehouse, event.row, event.tier) if p)
    parts = []
    if event.parent is not None:
        parts.append(f"from {event.parent.label}")
    if event.litres is not None:
        parts.append(litre_words(event.litres))
    if event.abv is not None:
        parts.append(f"at {event.abv:g} %")
    if place:
        parts.append(f"to {place}")
    return _noted(" ".join(parts), event.note)


def _noted(words: str, note: str | None) -> str:
    return f"{words} ({note})" if words and note else words or note or ""


def _draws(db: Session, filling: Filling) -> Iterator[LifeEntry]:
    draws = db.scalars(select(Draw).where(Draw.filling_id == filling.id)).all()
    shown = looks_shown(db, [draw.id for draw in draws])
    for draw in draws:
        if draw.drawn_on is not None:
            amount = f" {draw.volume_ml:g} mL" if draw.volume_ml is not None else ""
            look = look_words(draw) if draw.id in shown else ""
            words = f"sample {draw.label}{amount}{look and f', {look}'}"
            yield LifeEntry(draw.drawn_on, "drawn", filling.label, words)
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
        words = f"{litre_words(round(part.litres, 1))} for release {release.name}"
        yield LifeEntry(release.planned_on, "reserved", filling.label, words)
        if release.status is ReleaseStatus.CANCELLED and release.cancelled_on is not None:
            words = f"release {release.name} was cancelled"
            yield LifeEntry(release.cancelled_on, "freed", filling.label, words)
        if release.disgorged_on is not None and part.given_l is not None:
            lot = f", lot {release.lot_code}" if release.lot_code else ""
            gave = f"{litre_words(part.given_l)} at {part.given_abv:g} %"
            words = f"{gave} into release {release.name}{lot}"
            yield LifeEntry(release.disgorged_on, "disgorged", filling.label, words)
