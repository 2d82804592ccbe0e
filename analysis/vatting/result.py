"""What the search for a vatting says."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from ..as_json import AsJson
from ..digits import in_digits
from ..readable import Readable, listed
from .limits import LimitKey, LimitKind
from .mixture import Mixture
from .prices import Price
from .reach import Reach
from .stand_ins import StandIn
from .tighten import Round


@dataclass(frozen=True)
class SaidStandIn(AsJson):
    """A stand-in with its sentence."""

    found: StandIn
    sentence: str

    json_keys = (("found", "**"), "sentence")


@dataclass(frozen=True)
class PricedLimit(AsJson):
    """A limit's price with its words."""

    price: Price
    limit: str
    sentence: str

    json_keys = (
        *("limit", "kind", "casks_barred", "probability_cost", "casks_saved", "excess_without"),
        "sentence",
    )

    @property
    def kind(self) -> LimitKind:
        """What kind of limit it is."""
        return self.price.key.kind

    @property
    def casks_barred(self) -> int:
        """Casks that may not go in because of it."""
        return self.price.casks_barred

    @property
    def probability_cost(self) -> float:
        """By how much the chance would rise without it."""
        return self.price.probability_cost

    @property
    def casks_saved(self) -> int:
        """How many casks fewer it would be without it."""
        return self.price.casks_saved

    @property
    def excess_without(self) -> float:
        """How far over the quantity it would be without it, as a fraction."""
        return self.price.excess_without


@dataclass(frozen=True, repr=False)
class VattingPlan(AsJson, Readable):
    """Casks and litres for a release, how sure they are, and how good.

    Attributes
    ----------
    sentence, next_action, quality_sentence, cautions
        In words.
    mixture
        Parts, strength, water, bottles, age, expected profile and chance.
    proven
        Whether no other choice is better by a thousandth of a point.
    objective, bound, gap
        Weighted points outside the band the plan was made for (with small preferences far
        below a point); no choice of casks has less than `bound`; their difference.
    kappa
        Standard deviations of the vatting by which that band was drawn in.
    rounds
        Every band that was tried.
    reach
        Whether the target can be reached at all, and what stops it.
    n_eligible, barred
        How many casks could go in, and how many not, by reason.
    answers
        Really different answers, this one first; None when not asked for.
    stand_ins
        What to use if a cask fails; None when not asked for.
    prices
        What each limit costs; None when not asked for.
    """

    target: str
    sentence: str
    next_action: str
    quality_sentence: str
    cautions: tuple[str, ...]
    mixture: Mixture
    proven: bool
    gap: float
    objective: float
    bound: float
    kappa: float
    method: str
    solver_seconds: float
    rounds: tuple[Round, ...]
    reach: Reach
    n_eligible: int
    barred: Mapping[str, int]
    answers: tuple[Mixture, ...] | None = None
    stand_ins: tuple[SaidStandIn, ...] | None = None
    prices: tuple[PricedLimit, ...] | None = None

    json_keys = (
        *("target", "found", "sentence", "next_action", "quality_sentence", "cautions", "proven"),
        *("gap", "objective", "bound", "kappa", "method", "solver_seconds", ("mixture", "**")),
        *(("rounds", "tightening"), "reach", "n_eligible", "barred", "answers", "stand_ins"),
        "prices",
    )
    found = True

    @property
    def probability(self) -> float:
        """Chance that every line is within tolerance."""
        return self.mixture.probability

    def said(self) -> Iterator[str]:
        """Give what the vatting comes to, what to do, how good it is, and its parts."""
        yield f"{self.target}: {self.sentence}"
        yield f"Next: {self.next_action}."
        yield self.quality_sentence
        yield from listed(
            (
                f"{part.cask}: {part.litres:.0f} L of {in_digits(part.abv_percent, '.1f')} %"
                for part in self.mixture.parts
            ),
            most=12,
        )
        yield from self.cautions

    def rows(self) -> Iterable[object]:
        """Give the casks with their litres."""
        return self.mixture.parts


_ABSENT = tuple(
    ("untold", key)
    for key in (
        *("gap", "bulk_litres", "abv_percent", "water_litres", "bottles"),
        *("age_statement_years", "probability"),
    )
)
"""What a plan would have, as it stands where there is none."""


@dataclass(frozen=True, repr=False)
class NoVatting(AsJson, Readable):
    """There is no vatting, and why.

    Attributes
    ----------
    sentence
        The reason in words.
    conflict, keys
        The smallest set of limits found that cannot stand together, in words and as keys.
    proven
        Whether it is certain that there is none.
    """

    target: str
    sentence: str
    conflict: tuple[str, ...]
    keys: tuple[LimitKey, ...]
    proven: bool
    n_eligible: int
    barred: Mapping[str, int]

    json_keys = (
        *("target", "found", "sentence", ("sentence", "reason"), "conflict", "proven"),
        *(("no_casks", "parts"), ("no_casks", "prediction"), *_ABSENT, "n_eligible", "barred"),
    )
    found = False
    no_casks = ()
    untold = None

    def said(self) -> Iterator[str]:
        """Give why there is none."""
        yield f"{self.target}: {self.sentence}"
        yield f"{self.n_eligible} casks could go in."

    def rows(self) -> Iterable[object]:
        """Give the limits that cannot stand together."""
        return [{"limit": words} for words in self.conflict]
