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
from analysis.strength.falling import falls_under
from analysis.strength.yearly import Gauged
from panel.kinds import GaugeMethod
from panel.questions.gauge_flags import gauge_findings
from panel.questions.loss_limits import LossRules
from panel.questions.store_losses import store_losses, stores_that_lose
from panel.store.contents import Gauge
from panel.store.filling_states import FillingState
from panel.store.stories import Place
from tests.bench.word_rates import Row

LOSES = "loses alcohol unexplained"
GAINS = "unexplained gain"
STORE = "a store loses more than is reckoned"
FALLS = "falls under the legal strength (between months)"
RULES = {
    LOSES: "since the gauge before its last, or the one before that, a cask has lost more than it "
    "does by itself beside what its store and those years took from others, by more than 3.1 "
    "standard deviations (by some .9 more where its own loss is known from its like alone and "
    "casks of its store differ by 20 %, more where they differ more) and by more than 1 % a year "
    "(the house's; more for small casks); or it holds less than the house's limit a year leaves, "
    "by more than 3.5 standard deviations of the two gauges, where casks of its store do not lose "
    "as much",
    STORE: "the median loss of its casks, eight or more, is above that of the house's stores of "
    "its kind by more than 3.5 standard deviations and by more than 1 % a year (the house's)",
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
_WARM = (0.035, 0.008)
_HOT_YEAR = 7
_SMALL = 50.0
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
    small: bool
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
    warm
        The warm store is no dry one, and on no list: the house does not know that it is warm.
    years_differ
        By what share years differ, in all stores alike.
    hot_year
        What the eighth year takes beside a usual one.
    casks_differ
        By what share casks of a cool store differ.
    by_size
        A cask loses by its size to minus this power.
    rounds_differ
        How far a year's dipping reads off as a whole.
    stores
        How many cool stores there are.
    """

    method: GaugeMethod | None = None
    every: tuple[float, float] = (2.0, 4.0)
    tails: int | None = None
    leaking: float = 0.0
    warm: bool = False
    years_differ: float = 0.0
    hot_year: float = 1.0
    casks_differ: float | None = None
    by_size: float = 1.0 / 3.0
    rounds_differ: float = 0.0
    stores: int = 1
    n: int = 3000

    def __call__(self, seed: int) -> list[Told]:
        """Fill, let ten years go by, and judge every gauge."""
        rng = np.random.default_rng([seed, self.n])
        hot, states, begins = self.stands(rng)
        said: dict[tuple[int, date], set[RegaugeFlag]] = {}
        for finding in gauge_findings(states, states, _RULES):
            flags = () if finding.check is None else finding.check.flags
            said.setdefault((finding.filling_id, finding.late.on), set()).update(flags)
        return [
            told
            for i, state in enumerate(states)
            for told in _told(state, bool(hot[i]), begins[i], said)
        ]

    def stands(self, rng: np.random.Generator) -> tuple[Flags, list[FillingState], Floats]:
        """Which casks lie in the hot or warm store, their records, and when leaks began."""
        hot = rng.random(self.n) < 0.25
        return (hot, *self._gauged(hot, rng))

    def _gauged(self, hot: Flags, rng: np.random.Generator) -> tuple[list[FillingState], Floats]:
        most = int(_YEARS / self.every[0]) + 2
        size = rng.choice(_SIZES, self.n, p=_SHARES)
        gaps = rng.uniform(*self.every, (self.n, most - 1))
        when = np.concatenate([np.zeros((self.n, 1)), np.cumsum(gaps, axis=1)], axis=1)
        leaks = rng.random(self.n) < self.leaking
        begins = np.where(leaks, rng.uniform(0.0, _YEARS - self.every[1], self.n), np.inf)
        gone, fall = self._course(size, hot, when, begins, rng)
        dipped = rng.random((self.n, most)) < 0.5
        dipped = dipped if self.method is None else dipped & False | (self.method == "dipped")
        error = np.where(dipped, _ERRORS[GaugeMethod.DIPPED], _ERRORS[GaugeMethod.WEIGHED])
        error[:, 0] = _FILL_ERROR
        litres = 0.96 * size[:, None] * np.exp(-gone) * (1.0 + error * self._noise(rng, most))
        if self.rounds_differ:
            rounds = rng.normal(0.0, self.rounds_differ, 100)[when.astype(int)]
            litres[:, 1:] *= 1.0 + np.where(dipped, rounds, 0.0)[:, 1:]
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
            name = ("warm" if self.warm else "hot") if hot[i] else f"cool {i % self.stores}"
            states.append(_state(i, float(size[i]), name, gauges))
        return states, begins

    def _course(
        self, size: Floats, hot: Flags, when: Floats, begins: Floats, rng: np.random.Generator
    ) -> tuple[Floats, Floats]:
        """What has gone of each cask's litres by its gauges, as logarithms, and its fall.

        Casks differ by a lognormal: some lose far more than most.
        """
        n, wider = len(size), (250.0 / size) ** self.by_size
        high = _WARM if self.warm else _HOT
        cool = (_COOL[0], _COOL[0] * self.casks_differ) if self.casks_differ else _COOL
        mean, sd = (np.where(hot, high[i], cool[i]) for i in range(2))
        rate = wider * mean * np.exp(rng.normal(0.0, sd / mean))
        falls = np.abs(rng.normal(0.005, 0.0015, n))
        fall = falls if self.warm else np.where(hot, rng.normal(0.0, 0.004, n), falls)
        soak = wider * np.where(rng.random(n) < 0.5, 0.028, 0.012) + rng.normal(0.0, 0.003, n)
        passed = self._passed(when, rng)
        gone = (rate - fall)[:, None] * passed + soak[:, None] * -np.expm1(-4.0 * when)
        gone = gone + fall[:, None] * (passed - when)
        return gone + _LEAK * np.maximum(when - begins[:, None], 0.0), fall

    def _passed(self, when: Floats, rng: np.random.Generator) -> Floats:
        """Usual years that have gone by: a hot one counts more than once."""
        if not self.years_differ and self.hot_year == 1.0:
            return when
        took = np.exp(rng.normal(0.0, self.years_differ, 100))
        took[_HOT_YEAR] *= self.hot_year
        found: Floats = np.interp(when, np.arange(101), np.append(0.0, np.cumsum(took)))
        return found

    def _noise(self, rng: np.random.Generator, most: int) -> Floats:
        if self.tails is None:
            return rng.normal(size=(self.n, most))
        wide = np.sqrt(self.tails / (self.tails - 2.0))
        found: Floats = rng.standard_t(self.tails, (self.n, most)) / wide
        return found


def _state(number: int, size: float, store: str, gauges: tuple[Gauge, ...]) -> FillingState:
    place = Place(None, store, None, None)
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
        small = state.size_l <= _SMALL
        yield Told(hot, small, since, loses, by_now, RegaugeFlag.GAIN in flags)


@dataclass(frozen=True)
class ToldStores:
    """The stores of an invented house, by name, with whether each is told to lose too much."""

    house: ReviewHouse

    def __call__(self, seed: int) -> list[tuple[str, bool]]:
        """Fill, let ten years go by, and judge every store."""
        _, states, _ = self.house.stands(np.random.default_rng([seed, self.house.n, 8]))
        found = store_losses(states, _RULES)
        losing = stores_that_lose(found, more_percent=_RULES.more_percent)
        told = {each.store.warehouse for each in losing}
        return [(store.warehouse, store.warehouse in told) for store in found.stores]


def store_told(warm: bool, stores: list[tuple[str, bool]]) -> Iterator[bool]:
    """Whether the warm store is told to lose, or each of the others."""
    return (told for name, told in stores if (name == "warm") is warm)


def loses_falsely(told: list[Told]) -> Iterator[bool]:
    """At every gauge of a cask that does not leak, whether it is said to lose alcohol."""
    return (each.loses for each in told if each.since == 0)


def small_falsely(told: list[Told]) -> Iterator[bool]:
    """The same of casks of 50 L and less."""
    return (each.loses for each in told if each.since == 0 and each.small)


def warm_falsely(told: list[Told]) -> Iterator[bool]:
    """The same of casks in the warm store."""
    return (each.loses for each in told if each.since == 0 and each.hot)


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
    yield from _of_other_houses()
    yield from _of_stores()
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


def _of_other_houses() -> Iterator[Row]:
    """Houses whose years, stores, casks or rounds of gauging differ from one another."""
    yearly = partial(ReviewHouse, _WEIGHED, (0.9, 1.1), n=1500)
    for name, where, house, read in (
        ("years15", "years differ by 15 % in common", ReviewHouse(years_differ=0.15), None),
        ("years30", "years differ by 30 % in common", ReviewHouse(years_differ=0.3), None),
        ("hot125", "one year x 1.25, weighed yearly", yearly(hot_year=1.25), None),
        ("hot150", "one year x 1.5, weighed yearly", yearly(hot_year=1.5), None),
        ("hot200", "one year x 2, weighed yearly", yearly(hot_year=2.0), None),
        ("warm", "a store of 3.5 % a year on no list", ReviewHouse(warm=True), warm_falsely),
        ("differ25", "casks differ by 25 %", ReviewHouse(casks_differ=0.25), None),
        ("differ35", "casks differ by 35 %", ReviewHouse(casks_differ=0.35), None),
        ("small", "50 L, lost by size^(-1/2)", ReviewHouse(by_size=0.5), small_falsely),
        ("rounds", "rounds of dipping off by 1 %", ReviewHouse(_DIPPED, rounds_differ=0.01), None),
    ):
        yield Row(
            *(f"review-loses-{name}", LOSES, f"at a gauge: {where}", 0.001, True),
            *(house, read or loses_falsely, 4, 12, "houses"),
        )
    said = (
        "a leak of 3 % a year more than its own, by the second gauge since: weighed, years differ"
    )
    hot = ReviewHouse(_WEIGHED, leaking=_SOME_LEAK, years_differ=0.15)
    yield Row(
        *("review-found-years15", LOSES, f"{said} by 15 %", None, False),
        *(hot, partial(found_by, 2, None), 4, 12, "houses"),
    )


def _of_stores() -> Iterator[Row]:
    """Of 400 casks in nine stores, a quarter of them in one that is dry or warm."""
    usual = ToldStores(ReviewHouse(stores=8, n=400, leaking=_SOME_LEAK, years_differ=0.1))
    warm = ToldStores(ReviewHouse(stores=8, n=400, leaking=_SOME_LEAK, years_differ=0.1, warm=True))
    for name, where, house in (
        ("usual", "a store like the others, 4 % of casks leak", usual),
        ("beside-warm", "a store like the others beside a warm one", warm),
    ):
        yield Row(
            *(f"review-store-{name}", STORE, where, 0.001, True),
            *(house, partial(store_told, False), 120, 480, "houses"),
        )
    yield Row(
        *("review-store-warm", STORE, "a store of 3.5 % a year on no list", 0.9, False),
        *(warm, partial(store_told, True), 120, 480, "houses"),
    )
