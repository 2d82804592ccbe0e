"""Where litres and strengths of a vatting stand against the rules of law in force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.kinds import RuleKind
from panel.store.rules import strictest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.vatting import Limits, Mixture, Stock
    from panel.store.rules import Rule


@dataclass(frozen=True)
class BrokenRule:
    """A rule of law that is not met: which kind of rule, and the same in words."""

    rule: RuleKind
    sentence: str


def law_checks(
    laws: Sequence[Rule], stock: Stock, mixture: Mixture, limits: Limits
) -> list[BrokenRule]:
    """Say where litres and strengths stand against the rules in force; empty where all is well."""
    found = []
    strength = strictest(laws, RuleKind.MINIMUM_STRENGTH)
    if strength and mixture.poured.bottling_abv_percent < strength.value:
        said = (
            f"{mixture.poured.bottling_abv_percent:.1f} % vol is below {strength.value:g} % vol "
            f"({strength.cites})."
        )
        found.append(BrokenRule(RuleKind.MINIMUM_STRENGTH, said))
    found += _age_checks(laws, mixture, limits)
    large = set(oversize(laws, stock)) & set(mixture.casks)
    largest = strictest(laws, RuleKind.LARGEST_CASK)
    if large and largest:
        said = (
            f"Cask {', '.join(sorted(large))} holds more than {largest.value:g} L "
            f"({largest.cites})."
        )
        found.append(BrokenRule(RuleKind.LARGEST_CASK, said))
    return found


def _age_checks(laws: Sequence[Rule], mixture: Mixture, limits: Limits) -> list[BrokenRule]:
    found = []
    least = strictest(laws, RuleKind.MINIMUM_AGE)
    young = [
        part.cask
        for part in mixture.parts
        if least and (part.age_years is None or part.age_years < least.value)
    ]
    if young and least:
        said = f"Cask {', '.join(young)} is below the {least.value:g} years of {least.cites}."
        found.append(BrokenRule(RuleKind.MINIMUM_AGE, said))
    stated, youngest = limits.age_statement_years, mixture.poured.age_statement_years
    if stated is not None and (youngest is None or stated > youngest):
        youngest_words = "not on record" if youngest is None else f"{youngest} years old"
        said = (
            f"A statement of {stated} years is more than the youngest part has: it is "
            f"{youngest_words}."
        )
        found.append(BrokenRule(RuleKind.AGE_STATEMENT, said))
    return found


def oversize(laws: Sequence[Rule], stock: Stock) -> list[str]:
    """Return the casks in stock that are larger than a rule in force allows."""
    largest = strictest(laws, RuleKind.LARGEST_CASK)
    if largest is None:
        return []
    return [str(name) for name in stock.names[stock.number("size_l") > largest.value]]
