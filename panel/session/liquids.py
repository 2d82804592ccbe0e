"""What is in each draw's bottle: strength and how it is known, peat, age, holds."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.figures import tenths
from panel.session.volumes import Poured, Volume, poured_of, volume_of
from panel.store.ages import calendar_years
from panel.store.casks import Filling
from panel.store.contents import last_gauge
from panel.store.draws import Draw
from panel.store.filling_states import FillingState, filling_states
from panel.store.house import number_setting
from panel.store.planted import bases_of
from panel.store.releases import ReleaseBench, ReleasePart

_A_HUNDREDTH = 0.01
"""A bench blend's strength is written down to so much; one that was measured since differs."""


@dataclass(frozen=True)
class Strength:
    """A strength and where it comes from; `old` says that it is past the house's limit."""

    abv_percent: float
    source: str
    measured_on: date | None
    old: bool = False

    def words(self) -> str:
        """Return the strength with its source."""
        dated = f" of {self.measured_on}" if self.measured_on else ""
        return f"{tenths(self.abv_percent)} % vol ({self.source}{dated})"


@dataclass(frozen=True)
class Liquid:
    """One draw as it stands in its bottle on a date; what is not known is None.

    `volume` is of that liquid: a draw that was reduced has more of it than was drawn.
    """

    draw_id: int
    label: str
    casks: tuple[str, ...]
    strength: Strength | None
    phenol_ppm: float | None
    age_years: float | None
    holds: tuple[str, ...]
    volume: Volume


@dataclass(frozen=True)
class _Records:
    """The fillings' states on a date, and the age from which a gauge counts as old."""

    states: dict[int, FillingState]
    on: date
    old_from_years: float
    bases: Mapping[int, Draw]
    """By draw the spirit that a spike was made on: it smells of that one's peat."""
    benched: Mapping[int, Mapping[int, float]] = field(default_factory=dict)
    """By bench blend the strength of each filling that its own was reckoned from."""

    def strength(self, filling_id: int, drawn_on: date | None) -> Strength:
        """What a filling had when it was drawn from."""
        state = self.states[filling_id]
        return strength_in_cask(state, drawn_on or self.on, self.on, self.old_from_years)


def liquids_of(
    db: Session,
    draws: Sequence[Draw],
    on: date,
    *,
    besides: int | None = None,
    only_revealed: bool = False,
) -> dict[int, Liquid]:
    """Return for each draw, by its id, what is in the bottle on a date.

    What other sessions poured is taken off, but for the session with the id *besides*; for eyes
    that must not learn a key, of revealed sessions only. A strength
    measured on the draw wins; then the last regauge before the draw was taken, then the strength
    at filling. A trial vatting without a measured strength is reckoned from parts.
    """
    states: dict[int, FillingState] = {}
    ids = [draw.id for draw in draws]
    bases = bases_of(db, ids)
    held = (*draws, *bases.values())
    casks = {filling.cask.number for draw in held for filling in _fillings(draw)}
    if casks:
        found = filling_states(db, on, only_casks=sorted(casks))
        states = {state.filling_id: state for state in found}
    old_from = number_setting(db, "regauge_old_years")
    records = _Records(states, on, old_from, bases, _benched(db, held))
    poured = poured_of(db, ids, besides, only_revealed=only_revealed)
    return {draw.id: _liquid(draw, records, poured.get(draw.id, ())) for draw in draws}


def _fillings(draw: Draw) -> list[Filling]:
    own = [draw.filling] if draw.filling is not None else []
    return [*own, *(part.filling for part in draw.parts)]


def _benched(db: Session, draws: Iterable[Draw]) -> dict[int, dict[int, float]]:
    mixed = [draw.id for draw in draws if draw.parts]
    if not mixed:
        return {}
    query = (
        select(ReleaseBench.draw_id, ReleasePart.filling_id, ReleasePart.abv)
        .join(ReleasePart, ReleasePart.release_id == ReleaseBench.release_id)
        .where(ReleaseBench.draw_id.in_(mixed))
    )
    found: dict[int, dict[int, float]] = {}
    for draw_id, filling_id, abv in db.execute(query):
        own = found.setdefault(draw_id, {})
        if abv is not None:
            own[filling_id] = abv
    return found


def _liquid(draw: Draw, records: _Records, poured: Collection[Poured]) -> Liquid:
    drawn = _drawn_strength(draw, records)
    abv = drawn.abv_percent if drawn else None
    states = [records.states[f.id] for f in _fillings(draw) if f.id in records.states]
    return Liquid(
        draw_id=draw.id,
        label=draw.label,
        casks=tuple(state.cask for state in states),
        strength=_strength(draw, drawn, records.bases.get(draw.id)),
        phenol_ppm=_phenol_ppm(records.bases.get(draw.id, draw), records),
        age_years=_youngest(states),
        holds=tuple(_holds(states)),
        volume=volume_of(draw.volume_ml, abv, draw.reduced_to, poured),
    )


def _youngest(states: Sequence[FillingState]) -> float | None:
    ages = [state.age_years for state in states if state.age_years is not None]
    return min(ages) if ages and len(ages) == len(states) else None


def _holds(states: Iterable[FillingState]) -> Iterable[str]:
    for state in states:
        if state.hold_reason is not None:
            yield f"{state.label} is on hold ({state.hold_reason})"


def _strength(draw: Draw, drawn: Strength | None, base: Draw | None) -> Strength | None:
    if base is not None and drawn is not None:
        stood = base.abv if base.reduced_to is None else base.reduced_to
        as_base = drawn.abv_percent == stood
        source = f"that of {base.label}, which it was made on" if as_base else "said of the spike"
        return Strength(drawn.abv_percent, source, None)
    if draw.reduced_to is not None:
        return Strength(draw.reduced_to, "reduced draw", draw.drawn_on)
    return drawn


def _drawn_strength(draw: Draw, records: _Records) -> Strength | None:
    if draw.abv is not None:
        as_mixed = records.benched.get(draw.id)
        mixed = None if as_mixed is None else _from_parts(draw, records, as_mixed)
        if mixed is not None and abs(mixed.abv_percent - draw.abv) <= _A_HUNDREDTH:
            return replace(mixed, abv_percent=draw.abv)
        return Strength(draw.abv, "measured on the draw", draw.drawn_on)
    if draw.filling_id in records.states:
        return records.strength(draw.filling_id, draw.drawn_on)
    return _from_parts(draw, records)


def strength_in_cask(
    state: FillingState, drawn_on: date, on: date, old_from_years: float
) -> Strength:
    """Return the strength a filling had on a day, by the last gauge before, as known *on* a date.

    A gauge older than *old_from_years* by then is marked as old.
    """
    gauge = last_gauge(state.gauges, drawn_on)
    old = calendar_years(gauge.on, on) > old_from_years
    content = state.content_on(drawn_on)
    toppings = [each.on for each in state.added if gauge.on < each.on <= drawn_on]
    if toppings:
        source = "reckoned after the topping" if content.certain else "before the topping"
        return Strength(content.abv, source, toppings[-1], old or not content.certain)
    source = "at filling" if gauge.on == state.filled_on else "regauge"
    return Strength(gauge.abv, source, gauge.on, old)


def _from_parts(
    draw: Draw, records: _Records, as_mixed: Mapping[int, float] | None = None
) -> Strength | None:
    """Mix the parts, each with the strength it was mixed by, else with that of the records."""
    from analysis.strength import Part, vat

    if not draw.parts or any(part.filling_id not in records.states for part in draw.parts):
        return None
    parts = [(part, records.strength(part.filling_id, draw.drawn_on)) for part in draw.parts]
    known = as_mixed or {}
    mixed = vat(
        [
            Part(part.millilitres / 1000, known.get(part.filling_id, strength.abv_percent))
            for part, strength in parts
        ]
    )
    return Strength(
        mixed.abv_percent,
        "reckoned from its parts",
        None,
        any(strength.old for _, strength in parts),
    )


def _phenol_ppm(draw: Draw, records: _Records) -> float | None:
    if draw.filling_id in records.states:
        return records.states[draw.filling_id].phenol_ppm
    shares: list[tuple[float, float]] = []
    for part in draw.parts:
        state = records.states.get(part.filling_id)
        if state is None or state.phenol_ppm is None:
            return None
        shares.append((part.millilitres * state.abv, state.phenol_ppm))
    total = sum(weight for weight, _ in shares)
    return sum(weight * ppm for weight, ppm in shares) / total if total else None
