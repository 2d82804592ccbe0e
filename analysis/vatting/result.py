"""What the search for a vatting says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass

from analysis.as_json import Json, plain
from analysis.vatting.limits import LimitKey
from analysis.vatting.mixture import Mixture
from analysis.vatting.prices import Price
from analysis.vatting.reach import Reach
from analysis.vatting.stand_ins import StandIn
from analysis.vatting.tighten import Round


@dataclass(frozen=True)
class SaidStandIn:
    """A stand-in with its sentence."""

    found: StandIn
    sentence: str

    def to_dict(self) -> Json:
        """Plain values, ready for JSON."""
        return {**plain(asdict(self.found)), "sentence": self.sentence}


@dataclass(frozen=True)
class PricedLimit:
    """A limit's price with its words."""

    price: Price
    limit: str
    sentence: str

    def to_dict(self) -> Json:
        """Plain values, ready for JSON."""
        return {
            "limit": self.limit,
            "kind": self.price.key.kind.value,
            "casks_barred": self.price.casks_barred,
            "probability_cost": self.price.probability_cost,
            "casks_saved": self.price.casks_saved,
            "sentence": self.sentence,
        }


@dataclass(frozen=True)
class VattingPlan:
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

    @property
    def probability(self) -> float:
        """Chance that every line is within tolerance."""
        return self.mixture.probability

    def to_dict(self) -> Json:
        """Plain values, ready for JSON."""
        return {
            "target": self.target,
            "found": True,
            "sentence": self.sentence,
            "next_action": self.next_action,
            "quality_sentence": self.quality_sentence,
            "cautions": list(self.cautions),
            "proven": self.proven,
            "gap": self.gap,
            "objective": self.objective,
            "bound": self.bound,
            "kappa": self.kappa,
            "method": self.method,
            "solver_seconds": self.solver_seconds,
            **self.mixture.to_dict(),
            "tightening": [plain(asdict(one)) for one in self.rounds],
            "reach": plain(asdict(self.reach)),
            "n_eligible": self.n_eligible,
            "barred": dict(self.barred),
            "answers": _listed(self.answers),
            "stand_ins": _listed(self.stand_ins),
            "prices": _listed(self.prices),
        }


def _listed(
    found: tuple[Mixture | SaidStandIn | PricedLimit, ...] | None,
) -> list[Json] | None:
    return None if found is None else [one.to_dict() for one in found]


@dataclass(frozen=True)
class NoVatting:
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

    def to_dict(self) -> Json:
        """Plain values, ready for JSON; what does not exist is None, with its reason."""
        absent = (
            *("gap", "bulk_litres", "abv_percent", "water_litres", "bottles"),
            *("age_statement_years", "probability"),
        )
        return {
            "target": self.target,
            "found": False,
            "sentence": self.sentence,
            "reason": self.sentence,
            "conflict": list(self.conflict),
            "proven": self.proven,
            "parts": [],
            "prediction": [],
            **dict.fromkeys(absent),
            "n_eligible": self.n_eligible,
            "barred": dict(self.barred),
        }
