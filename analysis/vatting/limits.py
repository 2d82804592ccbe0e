"""What a release must be: how much, how strong, how old, and of what."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from ..bars import BY_NAME, Allowed, Bar
from ..digits import in_digits

WHOLE_WINDOW = 0.03
PART_WINDOW = 0.01
"""How far over the asked quantity a vatting may go: whole casks come in lumps."""


class Basis(StrEnum):
    """What a share is a share of."""

    BULK = "bulk litres"
    LPA = "litres of pure alcohol"
    CASKS = "number of casks"


class Drawing(StrEnum):
    """Whether a cask goes in with all it holds."""

    WHOLE = "whole casks"
    PART = "parts of casks"


class GaugeRule(StrEnum):
    """What to do with a cask whose regauge is older than allowed."""

    FLAG = "flag"
    REFUSE = "refuse"


@dataclass(frozen=True)
class Share:
    """A share of the vatting that comes from casks of some record.

    Attributes
    ----------
    column
        Column of the casks frame, such as ``wood`` or ``make``.
    values
        Values of it that count towards the share.
    low, high
        Least and most, as fractions from 0 to 1.
    basis
        What it is a share of; the label's own basis, which need not be pure alcohol.
    """

    column: str
    values: tuple[str | float, ...]
    low: float
    high: float
    basis: Basis = Basis.BULK

    @classmethod
    def about(
        cls,
        column: str,
        values: str | float | Sequence[str | float],
        share: float,
        *,
        basis: Basis = Basis.BULK,
        within: float = 0.01,
    ) -> Share:
        """Ask for a share give or take `within`.

        Examples
        --------
        >>> Share.about("wood", "oak butt", 0.3).low
        0.29
        """
        several = (values,) if isinstance(values, str | int | float) else tuple(values)
        low, high = max(0.0, share - within), min(1.0, share + within)
        return cls(column, several, round(low, 12), round(high, 12), basis)

    @property
    def words(self) -> str:
        """The share as a blender would say it."""
        named = " or ".join(
            in_digits(value, "g") if _is_number(value) else str(value) for value in self.values
        )
        return (
            f"{self.column} {named} {in_digits(100 * self.low, 'g')} to "
            f"{in_digits(100 * self.high, 'g')} % by {self.basis}"
        )


def _is_number(value: object) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)


@dataclass(frozen=True)
class Limits:
    """What the vatting must hold to. Nothing is checked here: all faults are told together.

    Attributes
    ----------
    bottles, litres
        How much: bottles, or litres at bottling strength before filling losses. One of them.
    bottle_ml
        Nominal content, mL.
    abv_percent
        Bottling strength, % vol; None bottles the vat as it comes, without water.
    loss_fraction
        Lost in filtering and filling; 0.015 is a house default.
    age_statement_years
        Youngest age that the label will state, whole years.
    minimum_age_years
        Youngest age the law asks of every cask; from a rule set, not from the blender.
    bottling_on
        Date of bottling; ages of the stock are moved on to it. None: the stock's own date.
    shares
        Shares by any record.
    casks_min, casks_max
        Number of casks.
    drawing
        Whole casks (the default) or parts.
    smallest_draw_litres
        When drawing parts: the least worth opening a cask for; a cask with less is emptied.
    leave_litres
        When drawing parts: leave at least so much in the cask, or empty it.
    must_include, must_exclude
        Casks that must or must not be in.
    asked
        Casks on hold, leaking or of another owner that may be used all the same, by name.
    owners
        Other owners whose casks may be used.
    minimum_cask_lpa
        Least litres of pure alcohol taken from any cask used.
    gauge_max_age_years, gauge_rule
        A regauge older than this is flagged or its cask refused; None asks nothing.
    excess_fraction
        How far over the quantity the vatting may go, each cask counted by what is surely in it;
        None: 3 % for whole casks, 1 % for parts.
    """

    bottles: int | None = None
    litres: float | None = None
    bottle_ml: float = 700.0
    abv_percent: float | None = 46.0
    loss_fraction: float = 0.015
    age_statement_years: int | None = None
    minimum_age_years: float | None = None
    bottling_on: date | None = None
    shares: tuple[Share, ...] = ()
    casks_min: int | None = None
    casks_max: int | None = None
    drawing: Drawing = Drawing.WHOLE
    smallest_draw_litres: float = 20.0
    leave_litres: float | None = None
    must_include: tuple[str, ...] = ()
    must_exclude: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    owners: tuple[str, ...] = ()
    minimum_cask_lpa: float = 0.0
    gauge_max_age_years: float | None = None
    gauge_rule: GaugeRule = GaugeRule.FLAG
    excess_fraction: float | None = None

    def allowed(self, cask: str, *, whole: bool) -> Allowed:
        """What was agreed to of a cask: by its name, of its owner, and whether a part will do."""
        by_name = BY_NAME if cask in self.asked else frozenset()
        parts = frozenset() if whole else frozenset({Bar.PARTLY_RESERVED})
        return Allowed(by_name | parts, frozenset(self.owners))

    @property
    def whole(self) -> bool:
        """Whether casks go in whole."""
        return self.drawing is Drawing.WHOLE

    @property
    def window(self) -> float:
        """How far over the quantity the vatting may go, as a fraction."""
        if self.excess_fraction is not None:
            return self.excess_fraction
        return WHOLE_WINDOW if self.whole else PART_WINDOW

    @property
    def asks_quantity(self) -> bool:
        """Whether bottles or litres are asked for; litres taken by hand may do without."""
        return self.bottles is not None or self.litres is not None

    @property
    def final_litres(self) -> float:
        """Litres at bottling strength that are needed, before filling losses."""
        if self.litres is not None:
            return self.litres
        bottled_litres = (self.bottles or 0) * self.bottle_ml / 1000.0
        return bottled_litres / (1.0 - self.loss_fraction)

    @property
    def quantity_words(self) -> str:
        """The quantity as a blender would say it."""
        if self.litres is not None:
            return f"{in_digits(self.litres, ',.0f')} litres"
        return f"{in_digits(self.bottles or 0, ',')} bottles of {in_digits(self.bottle_ml, 'g')} mL"


class LimitKind(StrEnum):
    """What a vatting is held to; all but the last two can be lifted one at a time."""

    QUANTITY = "quantity"
    EXCESS = "excess"
    STRENGTH = "strength"
    AGE = "age statement"
    SHARE = "share"
    CASKS_MIN = "least casks"
    CASKS_MAX = "most casks"
    WHOLE = "whole casks"
    SMALLEST_DRAW = "smallest draw"
    LEAVE = "leave in the cask"
    MUST_INCLUDE = "cask that must be in"
    MUST_EXCLUDE = "casks left out"
    CASK_LPA = "least alcohol from a cask"
    GAUGE = "age of the regauge"
    RESERVED = "litres reserved elsewhere"
    BARRED = "casks that may go in"


@dataclass(frozen=True, order=True)
class LimitKey:
    """One limit: its kind, and which of several."""

    kind: LimitKind
    which: int = 0


@dataclass(frozen=True)
class Broken:
    """A limit that is not kept.

    Attributes
    ----------
    key
        Which limit; what is to be done about it goes by this.
    sentence
        The same in words.
    casks
        Those that break it; empty where it is the vatting as a whole.
    """

    key: LimitKey
    sentence: str
    casks: tuple[str, ...] = ()

    json_keys = (("kind", "limit"), "which", "casks", "sentence")

    @property
    def kind(self) -> LimitKind:
        """What kind of limit it is."""
        return self.key.kind

    @property
    def which(self) -> int:
        """Which of several of its kind."""
        return self.key.which


Lifted = frozenset[LimitKey]
NOTHING_LIFTED: Lifted = frozenset()


def limit_keys(limits: Limits) -> tuple[LimitKey, ...]:
    """Every limit in force, in the order they are told.

    Examples
    --------
    >>> [key.kind.value for key in limit_keys(Limits(bottles=600, age_statement_years=12))]
    ['quantity', 'excess', 'strength', 'age statement', 'whole casks']
    """
    part = not limits.whole
    present = {
        LimitKind.QUANTITY: 1,
        LimitKind.EXCESS: 1,
        LimitKind.STRENGTH: limits.abv_percent is not None,
        LimitKind.AGE: limits.age_statement_years is not None,
        LimitKind.SHARE: len(limits.shares),
        LimitKind.CASKS_MIN: limits.casks_min is not None,
        LimitKind.CASKS_MAX: limits.casks_max is not None,
        LimitKind.WHOLE: limits.whole,
        LimitKind.SMALLEST_DRAW: part and limits.smallest_draw_litres > 0,
        LimitKind.LEAVE: part and limits.leave_litres is not None,
        LimitKind.MUST_INCLUDE: len(limits.must_include),
        LimitKind.MUST_EXCLUDE: bool(limits.must_exclude),
        LimitKind.CASK_LPA: limits.minimum_cask_lpa > 0,
        LimitKind.GAUGE: limits.gauge_max_age_years is not None
        and limits.gauge_rule is GaugeRule.REFUSE,
    }
    return tuple(LimitKey(kind, i) for kind, count in present.items() for i in range(count))
