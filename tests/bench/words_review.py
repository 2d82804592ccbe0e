"""Rows: how often the review of a warehouse says of a cask what is not so, and what is.

A house of 3,000 casks over ten years: cool stores and a dry, hot one, casks of 50 to 500 L, each
with a yearly loss of its own; wood that was dry drinks more of its filling than wood that was wet.
Gauges err by their kind, and come every two to four years but where a row says otherwise. Every
gauge is judged by the program's own rule, from records as a house keeps them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial

import numpy as np

from analysis.array_types import Flags, Floats
from analysis.strength import RegaugeFlag
from analysis.strength.content import Gauged
from analysis.strength.falling import falls_under
from panel.kinds import GaugeMethod
from panel.questions.gauge_flags import gauge_findings
from panel.questions.loss_limits import LossRules
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState
from panel.store.stories import Place
from tests.bench.word_rates import Row

LOSES = "loses alcohol unexplained"
GAINS = "unexplained gain"
FALLS = "falls under the legal strength (between months)"
RULES = {
    LOSES: "since the gauge before its last, or the one before that, a cask has lost more than it "
    "does by itself, by more than 3.1 standard deviations (up to 3.8 where its own loss is known "
    "from its like alone, a quarter more in dry stores) and by more than 1 % a year (the house's; "
    "more for small casks); or it holds less than the house's limit a year leaves, by more than "
    "3.5 standard deviations of the two gauges",
    GAINS: "its last gauge holds more than the one before, by more than half a percent (the "
    "house's) and 3.5 standard deviations of the two gauges",
    FALLS: "the months between which nine in ten such casks are under it, by the last gauge, its "
    "error and the cask's own yearly fall",
}
_YEARS = 10.0
_BEGAN = date(2010, 1, 1)
_SIZES = np.array([50.0, 125.0, 200.0, 250.0, 500.0])
_SHARES = np.array([0.05, 0.1, 0.4, 0.3, 0.15])
_COOL, _HOT = (0.019, 0.0035), (0.06, 0.012)
"""Yearly loss of alcohol of a cask of 250 L, and by how much casks differ."""
_LEAK = 0.03
_ERRORS = {GaugeMethod.WEIGHED: 0.004, GaugeMethod.DIPPED: 0.015}
_FILL_ERROR, _ABV_ERROR = 0.005, 0.15
_RULES = LossRules(5.0, 12.0, 3.0, 0.5, 1.0, frozenset({"hot"}))
_BARE = FillingState(
    *(0, "", "", "oak", 250.0, "Make", 0.0, None, 1, 63.5, _BEGAN, None, None),
    *(Gauge(_BEGAN, 1.0, 1.0), 63.5, 1.0, Place(None, None, None, None), None, None, None, None),
    *(None, False, _BEGAN),
)


@dataclass(frozen=True)
class Told:
    """What was said at one gauge of a cask.

    `since` counts the gauges since its leak began, 0 without one; `by_now` is whether it was said
    to lose alcohol at this gauge or at an earlier one of them.
    """

    hot: bool
    since: int
    loses: bool
    by_now: bool
    gains: bool


@dataclass(frozen=True)
class ReviewHouse:
    """An invented warehouse.

    Attributes
    ----------
    method
        How casks are gauged; None for both ways, half of the gauges each.
    every
        Years between gauges, from and to.
    tails
        Degrees of freedom of gauging errors; None for normal ones.
    leaking
        Share of the casks that leak from some day on.
    """

    method: GaugeMethod | None = None
    every: tuple[float, float] = (2.0, 4.0)
    tails: int | None = None
    leaking: float = 0.0
    n: int = 3000

    def __call__(self, seed: int) -> list[Told]:
        """Fill, let ten years go by, and judge every gauge."""
        rng = np.random.default_rng([seed, self.n])
        hot = rng.random(self.n) < 0.25
        states, begins = self._gauged(hot, rng)
        said: dict[tuple[int, date], set[RegaugeFlag]] = {}
        for finding in gauge_findings(states, states, _RULES):
            flags = () if finding.check is None else finding.check.flags
            said.setdefault((finding.filling_id, finding.late.on), set()).update(flags)
        return [
            told
            for i, state in enumerate(states)
            for told in _told(state, bool(hot[i]), begins[i], said)
        ]

    def _gauged(self, hot: Flags, rng: np.random.Generator) -> tuple[list[FillingState], Floats]:
        most = int(_YEARS / self.every[0]) + 2
        size = rng.choice(_SIZES, self.n, p=_SHARES)
        gaps = rng.uniform(*self.every, (self.n, most - 1))
        when = np.concatenate([np.zeros((self.n, 1)), np.cumsum(gaps, axis=1)], axis=1)
        leaks = rng.random(self.n) < self.leaking
        begins = np.where(leaks, rng.uniform(0.0, _YEARS - self.every[1], self.n), np.inf)
        gone, fall = _course(size, hot, when, begins, rng)
        dipped = rng.random((self.n, most)) < 0.5
        dipped = dipped if self.method is None else dipped & False | (self.method == "dipped")
        error = np.where(dipped, _ERRORS[GaugeMethod.DIPPED], _ERRORS[GaugeMethod.WEIGHED])
        error[:, 0] = _FILL_ERROR
        litres = 0.96 * size[:, None] * np.exp(-gone) * (1.0 + error * self._noise(rng, most))
        abv = 63.5 * np.exp(-fall[:, None] * when) + _ABV_ERROR * self._noise(rng, most)
        states = []
        for i in range(self.n):
            until = int((when[i] <= _YEARS).sum())
            gauges = tuple(
                Gauge(
                    _BEGAN + timedelta(days=round(365.25 * float(when[i, k]))),
                    float(litres[i, k]),
                    float(abv[i, k]),
                    None if k == 0 else GaugeMethod.DIPPED if dipped[i, k] else GaugeMethod.WEIGHED,
                )
                for k in range(until)
            )
            states.append(_state(i, float(size[i]), bool(hot[i]), gauges))
        return states, begins

    def _noise(self, rng: np.random.Generator, most: int) -> Floats:
        if self.tails is None:
            return rng.normal(size=(self.n, most))
        wide = np.sqrt(self.tails / (self.tails - 2.0))
        found: Floats = rng.standard_t(self.tails, (self.n, most)) / wide
        return found


def _course(
    size: Floats, hot: Flags, when: Floats, begins: Floats, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """What has gone of each cask's litres by its gauges, as logarithms, and its fall of strength.

    In hot stores casks differ by a lognormal: some lose far more than most.
    """
    n, wider = len(size), (250.0 / size) ** (1.0 / 3.0)
    mean, sd = (np.where(hot, _HOT[i], _COOL[i]) for i in range(2))
    rate = wider * mean * np.exp(rng.normal(0.0, sd / mean))
    falls = np.abs(rng.normal(0.005, 0.0015, n))
    fall = np.where(hot, rng.normal(0.0, 0.004, n), falls)
    soak = wider * np.where(rng.random(n) < 0.5, 0.028, 0.012) + rng.normal(0.0, 0.003, n)
    gone = (rate - fall)[:, None] * when + soak[:, None] * -np.expm1(-4.0 * when)
    return gone + _LEAK * np.maximum(when - begins[:, None], 0.0), fall


def _state(number: int, size: float, hot: bool, gauges: tuple[Gauge, ...]) -> FillingState:
    place = Place(None, "hot" if hot else "cool", None, None)
    last = gauges[-1]
    return replace(
        _BARE,
        filling_id=number,
        size_l=size,
        gauge=last,
        abv=last.abv,
        bulk_l=last.bulk_l,
        place=place,
        gauges=gauges,
        as_of=last.on,
    )


def _told(
    state: FillingState,
    hot: bool,
    begins: float,
    said: dict[tuple[int, date], set[RegaugeFlag]],
) -> Iterator[Told]:
    since, by_now = 0, False
    for gauge in state.gauges[1:]:
        flags = said.get((state.filling_id, gauge.on), set())
        leaking = (gauge.on - _BEGAN).days / 365.25 > begins
        since += leaking
        loses = RegaugeFlag.LEAK in flags
        by_now = by_now or (leaking and loses)
        yield Told(hot, since, loses, by_now, RegaugeFlag.GAIN in flags)


def loses_falsely(told: list[Told]) -> Iterator[bool]:
    """At every gauge of a cask that does not leak, whether it is said to lose alcohol."""
    return (each.loses for each in told if each.since == 0)


def gains_falsely(told: list[Told]) -> Iterator[bool]:
    """At every gauge, whether alcohol is said to have come in."""
    return (each.gains for each in told)


def found_by(gauge: int, hot: bool | None, told: list[Told]) -> Iterator[bool]:
    """Whether a leak was found by the gauge of that number since it began."""
    wanted = (each for each in told if each.since == gauge and hot in {None, each.hot})
    return (each.by_now for each in wanted)


@dataclass(frozen=True)
class Falling:
    """Old casks that fall towards the legal strength, each gauged last when it is near it."""

    n: int = 400

    def __call__(self, seed: int) -> list[tuple[float, float, float, float]]:
        """Expected, earliest and latest month of each cask that is told of, and the true one."""
        rng = np.random.default_rng([seed, self.n, 7])
        fall = np.abs(rng.normal(0.02, 0.003, self.n))
        start = rng.uniform(52.0, 56.0, self.n)
        last = np.log(start / rng.uniform(40.3, 41.5, self.n)) / fall
        gauged = _falling_gauges(start, fall, last, rng)
        falls = falls_under(gauged, LEGAL, months=48)
        true = 12.0 * (np.log(start / LEGAL) / fall - last)
        told = falls.expected <= _TOLD_MONTHS
        columns = (falls.expected, falls.earliest, falls.latest, true)
        return [tuple(map(float, row)) for row in np.column_stack(columns)[told]]  # type: ignore[misc]


def _falling_gauges(start: Floats, fall: Floats, last: Floats, rng: np.random.Generator) -> Gauged:
    n, nothing = len(start), np.zeros(len(start))
    end = start * np.exp(-fall * last)
    seen_end = end + _ABV_ERROR * rng.normal(size=n)
    seen_start = start + _ABV_ERROR * rng.normal(size=n)
    litres = np.full(n, 150.0)
    return Gauged(
        abv_percent=seen_end,
        since_years=nothing,
        last_litres=litres,
        last_abv_percent=seen_end,
        litres_error=np.full(n, 0.004),
        taken_litres=nothing,
        taken_years=nothing,
        added_litres=nothing,
        added_years=nothing,
        first_litres=litres * np.exp(0.02 * last),
        first_abv_percent=seen_start,
        first_error=np.full(n, 0.005),
        span_years=last,
        fresh=np.ones(n, dtype=np.bool_),
        size_litres=np.full(n, 200.0),
        dry=np.zeros(n, dtype=np.bool_),
    )


def outside(told: list[tuple[float, float, float, float]]) -> Iterator[bool]:
    """Whether a cask falls under the strength outside the months that are told, by a half month."""
    return (not early - 0.5 <= true <= late + 0.5 for _, early, late, true in told)


LEGAL, _TOLD_MONTHS = 40.0, 24.0
_BOTH, _WEIGHED, _DIPPED = None, GaugeMethod.WEIGHED, GaugeMethod.DIPPED
_SOME_LEAK = 0.04


def rows() -> Iterator[Row]:
    """All rows on the review."""
    clean, tails, leaking = ReviewHouse(), ReviewHouse(tails=6), ReviewHouse(leaking=_SOME_LEAK)
    weighed = ReviewHouse(_WEIGHED, leaking=_SOME_LEAK)
    dipped = ReviewHouse(_DIPPED, leaking=_SOME_LEAK)
    for name, where, house in (
        ("none", "no cask leaks, weighed and dipped", clean),
        ("leaks", "of casks that do not, 4 % of the others leak, weighed and dipped", leaking),
        ("dipped", "of casks that do not, 4 % of the others leak, dipped", dipped),
        ("tails", "no cask leaks, gauging errors with heavy tails (6 degrees)", tails),
    ):
        yield Row(
            *(f"review-loses-{name}", LOSES, f"at a gauge: {where}", 0.001, True),
            *(house, loses_falsely, 4, 12, "houses"),
        )
    gained = "at a gauge: nothing came in, weighed and dipped"
    yield Row(
        "review-gains-none", GAINS, gained, 0.001, True, clean, gains_falsely, 4, 12, "houses"
    )
    for name, where, asked, house, hot in (
        ("weighed", "weighed", 0.9, weighed, None),
        ("both", "weighed and dipped", 0.9, leaking, None),
        ("both-cool", "weighed and dipped, cool stores", 0.9, leaking, False),
        ("both-hot", "weighed and dipped, a hot store", None, leaking, True),
        ("dipped", "dipped alone", None, dipped, None),
    ):
        said = f"a leak of 3 % a year more than its own, by the second gauge since: {where}"
        yield Row(
            *(f"review-found-{name}", LOSES, said, asked, False),
            *(house, partial(found_by, 2, hot), 4, 12, "houses"),
        )
    fell = "a cask falls outside the months told, half a month off"
    yield Row("review-falls", FALLS, fell, 0.1, True, Falling(), outside, 10, 30, "houses")
