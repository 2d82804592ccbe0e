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

import numpy as np

from analysis.array_types import Flags, Floats
from analysis.strength import RegaugeFlag
from panel.kinds import GaugeMethod
from panel.questions.gauge_flags import gauge_findings
from panel.questions.loss_limits import LossRules
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState
from panel.store.stories import Place

LOSES = "loses alcohol unexplained"
GAINS = "unexplained gain"
RULES = {
    LOSES: "since the gauge before its last, or the one before that, a cask has lost more than it "
    "does by itself, by more than 3.2 standard deviations (up to 3.95 where its own loss is known "
    "from its like alone, half a one more in dry stores) and by more than 1 % a year (the house's; "
    "more for small casks); or it holds less than the house's limit a year leaves, by more than "
    "3.5 standard deviations of the two gauges",
    GAINS: "its last gauge holds more than the one before, by more than half a percent (the "
    "house's) and 3.5 standard deviations of the two gauges",
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
        return rng.standard_t(self.tails, (self.n, most)) / wide


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
