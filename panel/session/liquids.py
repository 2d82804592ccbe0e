"""What is in each draw's bottle: strength and how it is known, peat, age, holds."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from panel.store.ages import calendar_years
from panel.store.casks import Filling
from panel.store.contents import last_gauge
from panel.store.draws import Draw
from panel.store.filling_states import FillingState, filling_states
from panel.store.house import number_setting


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
        return f"{self.abv_percent:.1f} % vol ({self.source}{dated})"


@dataclass(frozen=True)
class Liquid:
    """One draw as it stands in its bottle on a date; what is not known is None."""

    draw_id: int
    label: str
    casks: tuple[str, ...]
    strength: Strength | None
    phenol_ppm: float | None
    age_years: float | None
    holds: tuple[str, ...]
    volume_ml: float | None


@dataclass(frozen=True)
class _Records:
    """The fillings' states on a date, and the age from which a gauge counts as old."""

    states: dict[int, FillingState]
    on: date
    old_from_years: float


def liquids_of(db: Session, draws: Sequence[Draw], on: date) -> dict[int, Liquid]:
    """Return for each draw, by its id, what is in the bottle on a date.

    A strength measured on the draw wins; then the last regauge before the draw was taken, then
    the strength at filling. A trial vatting without a measured strength is reckoned from parts.
    """
    states: dict[int, FillingState] = {}
    casks = {filling.cask.number for draw in draws for filling in _fillings(draw)}
    if casks:
        found = filling_states(db, on, only_casks=sorted(casks))
        states = {state.filling_id: state for state in found}
    records = _Records(states, on, number_setting(db, "regauge_old_years"))
    return {draw.id: _liquid(draw, records) for draw in draws}


def _fillings(draw: Draw) -> list[Filling]:
    own = [draw.filling] if draw.filling is not None else []
    return [*own, *(part.filling for part in draw.parts)]


def _liquid(draw: Draw, records: _Records) -> Liquid:
    states = [records.states[f.id] for f in _fillings(draw) if f.id in records.states]
    return Liquid(
        draw_id=draw.id,
        label=draw.label,
        casks=tuple(state.cask for state in states),
        strength=_strength(draw, records),
        phenol_ppm=_phenol_ppm(draw, records),
        age_years=_youngest(states),
        holds=tuple(_holds(states)),
        volume_ml=draw.volume_ml,
    )


def _youngest(states: Sequence[FillingState]) -> float | None:
    ages = [state.age_years for state in states if state.age_years is not None]
    return min(ages) if ages and len(ages) == len(states) else None


def _holds(states: Iterable[FillingState]) -> Iterable[str]:
    for state in states:
        if state.hold_reason is not None:
            yield f"{state.label} is on hold ({state.hold_reason})"


def _strength(draw: Draw, records: _Records) -> Strength | None:
    if draw.reduced_to is not None:
        return Strength(draw.reduced_to, "reduced draw", draw.drawn_on)
    if draw.abv is not None:
        return Strength(draw.abv, "measured on the draw", draw.drawn_on)
    if draw.filling_id in records.states:
        return _gauged(records.states[draw.filling_id], draw.drawn_on or records.on, records)
    return _from_parts(draw, records)


def _gauged(state: FillingState, drawn_on: date, records: _Records) -> Strength:
    gauge = last_gauge(state.gauges, drawn_on)
    old = calendar_years(gauge.on, records.on) > records.old_from_years
    content = state.content_on(drawn_on)
    toppings = [each.on for each in state.added if gauge.on < each.on <= drawn_on]
    if toppings:
        source = "reckoned after the topping" if content.certain else "before the topping"
        return Strength(content.abv, source, toppings[-1], old or not content.certain)
    source = "at filling" if gauge.on == state.filled_on else "regauge"
    return Strength(gauge.abv, source, gauge.on, old)


def _from_parts(draw: Draw, records: _Records) -> Strength | None:
    from analysis.strength import Part, vat

    if not draw.parts or any(part.filling_id not in records.states for part in draw.parts):
        return None
    on = draw.drawn_on or records.on
    parts = [
        (part.millilitres, _gauged(records.states[part.filling_id], on, records))
        for part in draw.parts
    ]
    mixed = vat([Part(ml / 1000, strength.abv_percent) for ml, strength in parts])
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
