"""What a cask holds on a day: its last gauge, less what was taken since, and what was added."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from panel.kinds import GaugeMethod


@dataclass(frozen=True)
class Gauge:
    """A measured content: bulk litres and strength on a date; `method` is None as it was filled."""

    on: date
    bulk_l: float
    abv: float
    method: GaugeMethod | None = None


@dataclass(frozen=True)
class Added:
    """Spirit that a cask was topped with; strength and origin are None where not on record."""

    on: date
    litres: float
    abv: float | None
    parent_id: int | None


@dataclass(frozen=True)
class Content:
    """Litres and strength on a day.

    `certain` is false where spirit of unknown strength went in since the last gauge: the
    strength is then that of the spirit before.
    """

    bulk_l: float
    abv: float
    certain: bool = True

    @property
    def lpa(self) -> float:
        """Litres of pure alcohol."""
        return self.bulk_l * self.abv / 100


def last_gauge(gauges: Sequence[Gauge], on: date) -> Gauge:
    """Return the last gauge by a day, the first of all where there is none by then."""
    for gauge in reversed(gauges):
        if gauge.on <= on:
            return gauge
    return gauges[0]


def content_on(
    gauges: Sequence[Gauge],
    taken: Sequence[tuple[date, float]],
    added: Sequence[Added],
    on: date,
) -> Content:
    """Return what a cask holds at the end of a day.

    Litres add up: that mixing shrinks them by about a thousandth is left out, pure alcohol is
    exact. A gauge counts after what else happened on its day, a draw before a topping.
    """
    gauge = last_gauge(gauges, on)
    if not taken and not added:
        return Content(max(gauge.bulk_l, 0.0), gauge.abv)
    out = [(day, 0, -litres, None) for day, litres in taken]
    into = [(each.on, 1, each.litres, each) for each in added]
    moves: list[tuple[date, int, float, Added | None]] = [*out, *into]
    bulk, abv, certain = gauge.bulk_l, gauge.abv, True
    for day, _, litres, topping in sorted(moves, key=lambda move: move[:2]):
        if not gauge.on < day <= on:
            continue
        if topping is not None and topping.abv is not None:
            held = max(bulk, 0.0)
            abv = (held * abv + litres * topping.abv) / (held + litres)
        certain = certain and (topping is None or topping.abv is not None)
        bulk += litres
    return Content(max(bulk, 0.0), abv, certain)


def strength_on(gauges: Sequence[Gauge], on: date) -> float:
    """Return the strength on a date: between two gauges by straight line, outside the nearest.

    Raises
    ------
    ValueError
        With no gauge at all.
    """
    if not gauges:
        raise ValueError("no gauge to reckon a strength from")
    after = next((i for i, gauge in enumerate(gauges) if gauge.on >= on), None)
    if after is None:
        return gauges[-1].abv
    if after == 0 or gauges[after].on == on:
        return gauges[after].abv
    early, late = gauges[after - 1], gauges[after]
    share = (on - early.on).days / (late.on - early.on).days
    return early.abv + share * (late.abv - early.abv)


def mixed_strength_on(
    gauges: Sequence[Gauge],
    taken: Sequence[tuple[date, float]],
    added: Sequence[Added],
    on: date,
) -> float:
    """Return the strength on a date as `strength_on`, mixed where spirit was added since a gauge.

    Raises
    ------
    ValueError
        With no gauge at all.
    """
    if gauges and any(last_gauge(gauges, on).on < each.on <= on for each in added):
        return content_on(gauges, taken, added, on).abv
    return strength_on(gauges, on)
