"""Where litres and strengths of a vatting stand against the rules of law in force."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.figures import in_digits
from panel.kinds import RuleKind, WoodRule
from panel.questions.oak import Oak, oak_of, woods_that_are
from panel.store.rules import asking_for_oak, strictest

if TYPE_CHECKING:
    from collections.abc import Sequence

    from analysis.vatting import Limits, Mixture, Stock
    from panel.store.rules import Rule


@dataclass(frozen=True)
class BrokenRule:
    """A rule of law that is not met: which kind of rule, and the same in words."""

    rule: RuleKind | WoodRule
    sentence: str


def law_checks(
    laws: Sequence[Rule], stock: Stock, mixture: Mixture, limits: Limits
) -> list[BrokenRule]:
    """Say where litres and strengths stand against the rules in force; empty where all is well."""
    found = []
    strength = strictest(laws, RuleKind.MINIMUM_STRENGTH)
    if strength and mixture.poured.bottling_abv_percent < strength.value:
        said = (
            f"{in_digits(mixture.poured.bottling_abv_percent, '.1f')} % vol is below "
            f"{in_digits(strength.value, 'g')} % vol "
            f"({strength.cites})."
        )
        found.append(BrokenRule(RuleKind.MINIMUM_STRENGTH, said))
    found += _age_checks(laws, mixture, limits)
    large = set(oversize(laws, stock)) & set(mixture.casks)
    largest = strictest(laws, RuleKind.LARGEST_CASK)
    if large and largest:
        said = (
            f"Cask {', '.join(sorted(large))} holds more than {in_digits(largest.value, 'g')} L "
            f"({largest.cites})."
        )
        found.append(BrokenRule(RuleKind.LARGEST_CASK, said))
    found += _oak_checks(laws, stock, mixture)
    return found


def _oak_checks(laws: Sequence[Rule], stock: Stock, mixture: Mixture) -> list[BrokenRule]:
    """Say which casks are of another wood by the records, where a set asks for oak."""
    woods = _woods(stock, mixture)
    other = {cask: wood for cask, wood in woods.items() if oak_of(wood) is Oak.NO}
    if not other:
        return []
    listed = ", ".join(f"{cask} ({wood})" for cask, wood in sorted(other.items()))
    return [
        BrokenRule(WoodRule.OAK, f"By the records not of oak, as {name} asks ({cites}): {listed}.")
        for name, cites in asking_for_oak(laws)
    ]


def _woods(stock: Stock, mixture: Mixture) -> dict[str, str]:
    wood = stock.text("wood")
    return {cask: str(wood[stock.position[cask]]) for cask in mixture.casks}


def to_be_looked_at(laws: Sequence[Rule], stock: Stock, mixture: Mixture) -> list[str]:
    """Say of which casks no record tells that they are of oak, where a set asks for it."""
    woods = _woods(stock, mixture)
    names = woods_that_are(Oak.UNTOLD, woods.values())
    if not names or not asking_for_oak(laws):
        return []
    return [f"The records do not say of what wood these are, so look at them: {', '.join(names)}."]


def _age_checks(laws: Sequence[Rule], mixture: Mixture, limits: Limits) -> list[BrokenRule]:
    found = []
    least = strictest(laws, RuleKind.MINIMUM_AGE)
    young = [
        part.cask
        for part in mixture.parts
        if least and (part.age_years is None or part.age_years < least.value)
    ]
    if young and least:
        said = (
            f"Cask {', '.join(young)} is below the {in_digits(least.value, 'g')} "
            f"years of {least.cites}."
        )
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
