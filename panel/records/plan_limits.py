"""The limits of a plan of the stock as one cell holds them, read into values: no analysis in it.

Of one release: ``share wood=European oak butt:0.3``, ``casks 2-12``, ``parts`` or ``whole``,
``with SW1505``, ``without SW1510``, ``over 12`` (percent), ``weight 2``, ``note plum stone +3``
(its tolerance that much wider), ``keep 24`` (bottles retained and of the house, besides).

Of the plan as a whole (a row without a release): ``draw 40000`` (most litres a year), ``stay 20000
make=Reed age=10-18`` (what must be left at the end), ``fill 2027-04-01 4 x 200 L at 63.5
wood=American oak barrel make=Ember 18-22`` (fillings that are expected), ``hold SW1505`` (left out
of every release). They stand beside each other with ``;``.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from panel.errors import OakpanelError
from panel.figures import PURE_ABV, in_digits, typed_number
from panel.records.share_text import read_range, read_share
from panel.store.ages import age_fault

RECORD = re.compile(r"(\w+)=")
FILL = re.compile(r"(\S+)\s+(\d+)\s*x\s*(\S+)\s*L\s+at\s+(\S+)\s*(.*)")
_HAIR = 1e-6
NOTE = re.compile(r"(.+?)\s+\+(\S+)")


@dataclass(frozen=True)
class MustBeLeft:
    """Litres that must be left at the end, of casks of a record and within ages in years."""

    litres: float
    column: str | None = None
    values: tuple[str, ...] = ()
    age_low: float = 0.0
    age_high: float | None = None


@dataclass(frozen=True)
class Expected:
    """Casks that will be filled: how many, when, with what, and in which wood."""

    on: date
    casks: int
    litres: float
    abv_percent: float
    wood: str | None = None
    make: str | None = None


EXPECTED = re.compile(r"expected \d+\.\d+")
"""A cask of a filling that is expected, as a plan names it."""


def expected_casks(fillings: Sequence[Expected]) -> Iterator[tuple[str, Expected]]:
    """Give the casks of fillings that are expected, each by the name that a plan has for it."""
    for at, each in enumerate(fillings, 1):
        for number in range(1, each.casks + 1):
            yield f"expected {at}.{number}", each


@dataclass(frozen=True)
class ReleaseAsks:
    """What one release of a plan is held to beside its year, quantity, strength and age."""

    shares: tuple[str, ...] = ()
    casks: str | None = None
    whole: bool = True
    include: tuple[str, ...] = ()
    exclude: tuple[str, ...] = ()
    over_percent: float | None = None
    weight: float = 1.0
    wider: tuple[tuple[str, float], ...] = ()
    kept_bottles: int = 0
    """Retained samples and bottles of the house: filled besides those asked for."""


@dataclass(frozen=True)
class PlanAsks:
    """What a plan is held to as a whole."""

    most_litres_a_year: float | None = None
    left: tuple[MustBeLeft, ...] = ()
    fillings: tuple[Expected, ...] = ()
    held: tuple[str, ...] = ()


@dataclass
class _Reading:
    faults: list[str] = field(default_factory=list)

    def number(self, text: str, what: str, *, above: bool = True) -> float:
        try:
            value = typed_number(text.strip())
        except ValueError:
            value = -1.0
        if value < 0.0 or (above and value == 0.0):
            self.faults.append(f"{text.strip()!r} is no {what}")
            return 1.0
        return value


def release_asks(text: str | None) -> tuple[ReleaseAsks, list[str]]:
    """Return what a cell asks of a release, and every fault in words."""
    asks, reading = ReleaseAsks(), _Reading()
    for word, rest in clauses(text):
        reader = OF_RELEASE.get(word)
        if reader is None:
            reading.faults.append(_unknown(word, OF_RELEASE, OF_PLAN))
        else:
            asks = reader(asks, rest, reading)
    reading.faults += [*_shares_over(asks), *_in_and_out(asks)]
    return asks, reading.faults


def _shares_over(asks: ReleaseAsks) -> Iterator[str]:
    """Say which shares come to more than the whole, record by record."""
    least: dict[str, float] = {}
    for text in asks.shares:
        share = read_share(text)
        least[share.column] = least.get(share.column, 0.0) + share.low
    for column, low in least.items():
        if low > 1.0 + _HAIR:
            yield (
                f"the shares by {column} come to at least {in_digits(100.0 * low, '.0f')} %: more "
                "than the whole"
            )


def _in_and_out(asks: ReleaseAsks) -> Iterator[str]:
    for cask in dict.fromkeys(asks.include):
        if cask in asks.exclude:
            yield f"cask {cask} must be in and must not be in: keep one of the two"


def plan_asks(text: str | None) -> tuple[PlanAsks, list[str]]:
    """Return what a cell asks of a plan as a whole, and every fault in words."""
    asks, reading = PlanAsks(), _Reading()
    for word, rest in clauses(text):
        reader = OF_PLAN.get(word)
        if reader is None:
            reading.faults.append(_unknown(word, OF_PLAN, OF_RELEASE))
        else:
            asks = reader(asks, rest, reading)
    return asks, reading.faults


def clauses(text: str | None) -> Iterator[tuple[str, str]]:
    """Give the first word of each limit and the rest of it."""
    for clause in (text or "").split(";"):
        word, _, rest = clause.strip().partition(" ")
        if word:
            yield word.casefold(), rest.strip()


def _unknown(word: str, known: Mapping[str, object], other: Mapping[str, object]) -> str:
    if word in other:
        of = "the plan as a whole: a row without a release" if other is OF_PLAN else "one release"
        return f"{word!r} is said of {of}"
    return f"{word!r} is no limit here: {', '.join(known)}"


def _share(asks: ReleaseAsks, rest: str, reading: _Reading) -> ReleaseAsks:
    try:
        read_share(rest)
    except OakpanelError as error:
        reading.faults.append(str(error).rstrip("."))
        return asks
    return replace(asks, shares=(*asks.shares, rest))


def _casks(asks: ReleaseAsks, rest: str, reading: _Reading) -> ReleaseAsks:
    try:
        read_range(rest)
    except OakpanelError as error:
        reading.faults.append(str(error).rstrip("."))
        return asks
    return replace(asks, casks=rest)


def _over(asks: ReleaseAsks, rest: str, reading: _Reading) -> ReleaseAsks:
    return replace(asks, over_percent=reading.number(rest.rstrip("%"), "percentage", above=False))


def _weight(asks: ReleaseAsks, rest: str, reading: _Reading) -> ReleaseAsks:
    return replace(asks, weight=reading.number(rest, "weight above zero"))


def _note(asks: ReleaseAsks, rest: str, reading: _Reading) -> ReleaseAsks:
    found = NOTE.fullmatch(rest)
    if found is None:
        reading.faults.append(f"{rest!r} is no note and points such as plum stone +3")
        return asks
    return replace(asks, wider=(*asks.wider, (found[1], reading.number(found[2], "points"))))


def _keep(asks: ReleaseAsks, rest: str, reading: _Reading) -> ReleaseAsks:
    bottles = reading.number(rest, "number of bottles", above=False)
    if bottles != int(bottles):
        reading.faults.append(f"{rest!r} is no whole number of bottles")
    return replace(asks, kept_bottles=int(bottles))


def _draw(asks: PlanAsks, rest: str, reading: _Reading) -> PlanAsks:
    if asks.most_litres_a_year is not None:
        reading.faults.append("'draw' stands twice: keep one")
    return replace(asks, most_litres_a_year=reading.number(rest, "litres", above=False))


def _stay(asks: PlanAsks, rest: str, reading: _Reading) -> PlanAsks:
    litres, _, more = rest.partition(" ")
    records = _records(more)
    low, high = 0.0, None
    if (ages := records.pop("age", None)) is not None:
        first, dash, last = ages.partition("-")
        low = reading.number(first or "0", "age", above=False)
        high = reading.number(last, "age") if dash and last else None
    if len(records) > 1 or (more.strip() and RECORD.match(more.strip()) is None):
        reading.faults.append(f"{more!r}: one record, such as make=Reed, beside the age")
    column, value = next(iter(records.items()), (None, ""))
    if wrong := age_fault(low):
        reading.faults.append(f"age={ages}: {wrong}")
    if high is not None and low >= high:
        reading.faults.append(f"age={in_digits(low, 'g')}-{in_digits(high, 'g')}: the lower first")
    left = MustBeLeft(
        reading.number(litres, "litres", above=False),
        column,
        tuple(part.strip() for part in value.split("|") if part.strip()),
        low,
        high,
    )
    return replace(asks, left=(*asks.left, left))


def _fill(asks: PlanAsks, rest: str, reading: _Reading) -> PlanAsks:
    found = FILL.fullmatch(rest)
    on = None
    if found is not None:
        try:
            on = date.fromisoformat(found[1])
        except ValueError:
            on = None
    if found is None or on is None:
        reading.faults.append(
            f"{rest!r} is no filling such as 2027-04-01 4 x 200 L at 63.5 wood=American oak barrel"
        )
        return asks
    records = _records(found[5])
    if strange := sorted(set(records) - {"wood", "make"}):
        reading.faults.append(f"of a filling are said wood= and make=, not {', '.join(strange)}")
    if not int(found[2]):
        reading.faults.append(f"{rest!r} fills no cask")
    abv = reading.number(found[4], "strength")
    if abv > PURE_ABV:
        reading.faults.append(f"{found[4]!r} is no strength: more than {PURE_ABV:.0f} % vol")
    one = Expected(
        on,
        int(found[2]),
        reading.number(found[3], "litres"),
        abv,
        records.get("wood"),
        records.get("make"),
    )
    return replace(asks, fillings=(*asks.fillings, one))


def _records(text: str) -> dict[str, str]:
    """Records and values such as make=Reed 08-12 age=10-18: a value goes up to the next record."""
    starts = list(RECORD.finditer(text))
    ends = [start.start() for start in starts[1:]] + [len(text)]
    found = zip(starts, ends[: len(starts)], strict=True)
    return {start[1]: text[start.end() : end].strip() for start, end in found}


OF_RELEASE: dict[str, Callable[[ReleaseAsks, str, _Reading], ReleaseAsks]] = {
    "share": _share,
    "casks": _casks,
    "parts": lambda asks, _rest, _reading: replace(asks, whole=False),
    "whole": lambda asks, _rest, _reading: replace(asks, whole=True),
    "with": lambda asks, rest, _reading: replace(asks, include=(*asks.include, rest)),
    "without": lambda asks, rest, _reading: replace(asks, exclude=(*asks.exclude, rest)),
    "over": _over,
    "weight": _weight,
    "note": _note,
    "keep": _keep,
}
OF_PLAN: dict[str, Callable[[PlanAsks, str, _Reading], PlanAsks]] = {
    "draw": _draw,
    "stay": _stay,
    "fill": _fill,
    "hold": lambda asks, rest, _reading: replace(asks, held=(*asks.held, rest)),
}
