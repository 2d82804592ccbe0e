"""Ages by calendar, and what a re-racked filling inherits from its parents."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from panel.figures import count, in_digits

OLDEST_YEARS = 100
"""No spirit lies in wood for longer (common practice, no source)."""
FIRST_YEAR = 1900
"""Nothing on record happened before."""


def age_fault(years: float) -> str | None:
    """Return what is wrong with an age that spirit is to have; None where it may well have it."""
    if years <= OLDEST_YEARS:
        return None
    return f"{in_digits(years, 'g')} years: no spirit is older than {count(OLDEST_YEARS, 'year')}"


def day_fault(day: date, today: date) -> str | None:
    """Return what is wrong with a day that casks are reckoned for; None where it may be one.

    What lies in wood today is spirit no longer than `OLDEST_YEARS`: nothing is planned beyond.
    """
    if day.year < FIRST_YEAR:
        return f"{day} lies before {FIRST_YEAR}"
    if day <= anniversary(today, OLDEST_YEARS):
        return None
    ahead = count(OLDEST_YEARS, "year")
    return f"{day} lies more than {ahead} ahead: no spirit is older than that"


def year_fault(year: int, today: date) -> str | None:
    """Return what is wrong with a year that casks are planned for; None where it may be one."""
    last = today.year + OLDEST_YEARS
    if year <= last:
        return None
    return f"{year} is after {last}: no spirit is older than {count(OLDEST_YEARS, 'year')}"


def calendar_years(start: date, end: date) -> float:
    """Return years from *start* to *end*: whole ones by calendar, the rest as a share of a year.

    A cask filled on 29 February has its birthday on 28 February in common years.
    """
    if end < start:
        return -calendar_years(end, start)
    whole = end.year - start.year
    last = anniversary(start, whole)
    if last > end:
        whole, following = whole - 1, last
        last = anniversary(start, whole)
    else:
        following = anniversary(start, whole + 1)
    return whole + (end - last).days / (following - last).days


def anniversary(start: date, years: int) -> date:
    """Return the date *years* whole years after *start*."""
    try:
        return start.replace(year=start.year + years)
    except ValueError:
        return start.replace(year=start.year + years, day=28)


@dataclass(frozen=True)
class Origin:
    """Where a filling's spirit comes from: a make, or parents with litres and strength.

    `toppings` came in later, in order of date.
    """

    filled_on: date
    phenol_ppm: float | None
    parents: Sequence[ParentShare] = ()
    toppings: Sequence[Topping] = ()
    make: str | None = None


@dataclass(frozen=True)
class ParentShare:
    """What one parent gave."""

    filling_id: int
    given_on: date
    lpa: float


@dataclass(frozen=True)
class Topping:
    """Spirit that came on top of what was there; None where the records do not say.

    `lpa_before` is the pure alcohol that it came to.
    """

    on: date
    filling_id: int | None
    lpa: float | None
    lpa_before: float


@dataclass(frozen=True)
class Entered:
    """A day on which spirit came into a cask.

    `age_years` is the age its youngest drop had then; `phenol_ppm` and `makes` are those of all
    that is in the cask since. None where it is not on record.
    """

    on: date
    age_years: float | None
    phenol_ppm: float | None
    makes: frozenset[str] | None = None


@dataclass(frozen=True)
class Inherited:
    """What came into a filling, in order of date: first what it was filled with."""

    entered: tuple[Entered, ...]

    @property
    def years_before(self) -> float | None:
        """The age of the youngest spirit when the cask was filled."""
        return self.entered[0].age_years

    @property
    def phenol_ppm(self) -> float | None:
        """Malt phenols of what is in it now, by pure alcohol."""
        return self.entered[-1].phenol_ppm

    @property
    def makes(self) -> frozenset[str] | None:
        """The new-make spirits that are in it now."""
        return self.entered[-1].makes

    def age_on(self, day: date) -> float | None:
        """The age of the youngest drop on a day; None where any of it is not on record."""
        if len(self.entered) == 1:
            only = self.entered[0]
            return _and_years(only.age_years, only.on, day)
        ages = [_and_years(each.age_years, each.on, day) for each in self._by(day)]
        known = [age for age in ages if age is not None]
        return min(known) if len(known) == len(ages) else None

    def phenols_on(self, day: date) -> float | None:
        """Malt phenols of what was in it on a day."""
        return self._by(day)[-1].phenol_ppm

    def years_elsewhere(self, day: date) -> float | None:
        """The most years that any of what was in it on a day had spent in other casks."""
        ages = [each.age_years for each in self._by(day)]
        known = [age for age in ages if age is not None]
        return max(known) if len(known) == len(ages) else None

    def _by(self, day: date) -> tuple[Entered, ...]:
        return tuple(each for each in self.entered if each.on <= day) or self.entered[:1]


def _and_years(age_years: float | None, start: date, end: date) -> float | None:
    return None if age_years is None else age_years + calendar_years(start, end)


def inheritance(origins: Mapping[int, Origin]) -> dict[int, Inherited]:
    """Return for every filling what came into it: by re-racking when filled, and by topping.

    Only days in wood count: the clock stops when spirit leaves a parent and goes on when it
    enters the child. A chain that bites its own tail (bad records) counts as unknown.
    """
    lineage = _Lineage(origins)
    return {
        filling_id: Inherited(lineage.entered(filling_id, len(origin.toppings)))
        for filling_id, origin in origins.items()
    }


Stage = tuple[int, int]
"""A filling, and how many of its toppings it has had."""


class _Lineage:
    """Fillings by stage: one may top another and be topped by it later."""

    def __init__(self, origins: Mapping[int, Origin]) -> None:
        self._origins = origins
        self._known: dict[Stage, tuple[Entered, ...]] = {}

    def entered(
        self, filling_id: int, toppings: int, above: frozenset[Stage] = frozenset()
    ) -> tuple[Entered, ...]:
        """What came into a filling up to one of its toppings."""
        stage = (filling_id, toppings)
        if stage in self._known:
            return self._known[stage]
        origin, below = self._origins[filling_id], above | {stage}
        if stage in above or (not toppings and not origin.parents):
            found: tuple[Entered, ...] = (_new(origin),)
        elif toppings:
            before = self.entered(filling_id, toppings - 1, below)
            found = (*before, self._topped(before, origin.toppings[toppings - 1], below))
        else:
            found = (self._racked(origin, below),)
        self._known[stage] = found
        return found

    def _given(self, filling_id: int, on: date, above: frozenset[Stage]) -> Entered:
        """Age and phenols of what a filling gave on a day."""
        origin = self._origins.get(filling_id)
        if origin is None:
            return Entered(on, None, None)
        had = sum(topping.on <= on for topping in origin.toppings)
        was = Inherited(self.entered(filling_id, had, above))
        return Entered(on, was.age_on(on), was.phenol_ppm, was.makes)

    def _racked(self, origin: Origin, above: frozenset[Stage]) -> Entered:
        given = [self._given(each.filling_id, each.given_on, above) for each in origin.parents]
        ages = [each.age_years for each in given if each.age_years is not None]
        shares = [
            (share.lpa, each.phenol_ppm) for share, each in zip(origin.parents, given, strict=True)
        ]
        youngest = min(ages) if len(ages) == len(given) else None
        makes = _together([each.makes for each in given])
        return Entered(origin.filled_on, youngest, _weighted(shares), makes)

    def _topped(
        self, before: tuple[Entered, ...], topping: Topping, above: frozenset[Stage]
    ) -> Entered:
        if topping.filling_id is None or topping.lpa is None:
            return Entered(topping.on, None, None)
        given = self._given(topping.filling_id, topping.on, above)
        shares = [(topping.lpa_before, before[-1].phenol_ppm), (topping.lpa, given.phenol_ppm)]
        makes = _together([before[-1].makes, given.makes])
        return Entered(topping.on, given.age_years, _weighted(shares), makes)


def _new(origin: Origin) -> Entered:
    makes = None if origin.make is None else frozenset({origin.make})
    return Entered(origin.filled_on, 0.0, origin.phenol_ppm, makes)


def _together(makes: Sequence[frozenset[str] | None]) -> frozenset[str] | None:
    known = [each for each in makes if each is not None]
    return frozenset().union(*known) if len(known) == len(makes) else None


def _weighted(parts: Sequence[tuple[float, float | None]]) -> float | None:
    """The mean by weight; one part that is unknown makes the whole unknown."""
    total = sum(weight for weight, _ in parts)
    if total <= 0 or any(value is None for _, value in parts):
        return None
    return sum(weight * (value or 0.0) for weight, value in parts) / total
