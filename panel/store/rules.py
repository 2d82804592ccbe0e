"""Rules of law that a bottling is held to, as sets a house can edit; each cites its law.

The tool checks figures against them and says so; what the law is, the authority says.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from sqlalchemy import select
from sqlalchemy.orm import Session

from panel.figures import in_digits, sentence_here
from panel.kinds import RuleKind
from panel.store.ages import OLDEST_YEARS
from panel.store.rule_sets import RuleSet

UNITS = {
    RuleKind.MINIMUM_AGE: "years in wood",
    RuleKind.MINIMUM_STRENGTH: "% vol in the bottle",
    RuleKind.LARGEST_CASK: "litres",
    RuleKind.AGE_STATEMENT: "years above the youngest part",
}
HIGHEST = {
    RuleKind.MINIMUM_AGE: float(OLDEST_YEARS),
    RuleKind.MINIMUM_STRENGTH: 100.0,
    RuleKind.LARGEST_CASK: 100_000.0,
    RuleKind.AGE_STATEMENT: 0.0,
}


@dataclass(frozen=True)
class Rule:
    """One rule as it stands."""

    rule_set: str
    kind: RuleKind
    value: float
    cites: str

    @property
    def unit(self) -> str:
        """What its value is counted in."""
        return UNITS[self.kind]

    @property
    def words(self) -> str:
        """The rule with its unit and its law."""
        return f"{self.kind.value} {in_digits(self.value, 'g')} {self.unit} ({self.cites})"


@dataclass(frozen=True)
class RuleBook:
    """A set as it stands."""

    name: str
    in_force: bool
    rules: tuple[Rule, ...]
    not_looked_at: tuple[str, ...] = ()


_UK = "Scotch Whisky Regulations 2009, SI 2009/2890"
_EU = "Regulation (EU) 2019/787"
_US = "27 CFR part 5"
SUPPLIED: dict[str, tuple[bool, dict[RuleKind, tuple[float, str]]]] = {
    "Scotch whisky": (
        True,
        {
            RuleKind.MINIMUM_AGE: (3, f"{_UK}, regulation 3"),
            RuleKind.MINIMUM_STRENGTH: (40, f"{_UK}, regulation 3"),
            RuleKind.LARGEST_CASK: (700, f"{_UK}, regulation 3"),
            RuleKind.AGE_STATEMENT: (0, f"{_UK}, regulation 12"),
        },
    ),
    "European Union whisky": (
        False,
        {
            RuleKind.MINIMUM_AGE: (3, f"{_EU}, annex I, category 2"),
            RuleKind.MINIMUM_STRENGTH: (40, f"{_EU}, annex I, category 2"),
            RuleKind.LARGEST_CASK: (700, f"{_EU}, annex I, category 2"),
            RuleKind.AGE_STATEMENT: (0, f"{_EU}, article 13"),
        },
    ),
    "United States straight whisky": (
        False,
        {
            RuleKind.MINIMUM_AGE: (2, _US),
            RuleKind.MINIMUM_STRENGTH: (40, _US),
            RuleKind.AGE_STATEMENT: (0, _US),
        },
    ),
}
"""What comes with the program, from memory of the laws named: a start to be checked, not advice."""


@dataclass(frozen=True)
class Unchecked:
    """What a law asks that no figure here is held to.

    `beside_oak` is what is left of it once casks are named that are not of oak by the records;
    None where oak is no part of it.
    """

    words: str
    beside_oak: str | None = None


DISTILLED = Unchecked(
    "that the spirit was distilled to less than 94.8 % vol (a filling at more is asked about)"
)
PLAIN_CARAMEL = Unchecked("that nothing was added but water and plain caramel")
NOT_LOOKED_AT: dict[str, tuple[Unchecked, ...]] = {
    "Scotch whisky": (
        Unchecked(
            "that the casks are of oak and the whisky matured in Scotland",
            beside_oak="that the whisky matured in Scotland",
        ),
        DISTILLED,
        PLAIN_CARAMEL,
    ),
    "European Union whisky": (Unchecked("that the casks are of wood"), DISTILLED, PLAIN_CARAMEL),
    "United States straight whisky": (
        Unchecked(
            "that the containers are of oak, new and charred",
            beside_oak="that the containers are new and charred",
        ),
        Unchecked("that it went into them at not more than 62.5 % vol"),
        Unchecked("that the spirit was distilled to not more than 80 % vol"),
        Unchecked("that nothing was added"),
    ),
}
"""What these laws ask beside their figures; from memory of them, not all of it."""
ASKS_OAK = {"Scotch whisky": f"{_UK}, regulation 3", "United States straight whisky": _US}
"""Sets whose law asks for casks of oak, and where; from memory, as the rest."""
OF_THE_HOUSE = (Unchecked("what a set of the house's own leaves out"),)


def not_looked_at(names: Iterable[str], *, oak_told: bool = False) -> list[str]:
    """Return what some sets ask that nothing is held to, each once.

    *oak_told* says that casks were named already as not of oak by the records.
    """
    return list(dict.fromkeys(each for name in names for each in _not_looked_at(name, oak_told)))


def _not_looked_at(name: str, oak_told: bool = False) -> tuple[str, ...]:
    asked = NOT_LOOKED_AT.get(name, OF_THE_HOUSE)
    left = ((each.beside_oak if oak_told else None) or each.words for each in asked)
    return tuple(map(sentence_here, left))


def asking_for_oak(rules: Iterable[Rule]) -> list[tuple[str, str]]:
    """Return the sets among those of these rules that ask for oak, each with its law."""
    names = dict.fromkeys(rule.rule_set for rule in rules)
    return [(name, ASKS_OAK[name]) for name in names if name in ASKS_OAK]


def rule_books(db: Session) -> list[RuleBook]:
    """Return every set as it stands: what comes with the program, with what the house changed."""
    stored = {each.name: each for each in db.scalars(select(RuleSet).order_by(RuleSet.name))}
    return [_book(name, stored.get(name)) for name in [*SUPPLIED, *(stored.keys() - SUPPLIED)]]


def rules_in_force(db: Session) -> list[Rule]:
    """Return every rule of every set that is in force."""
    return [rule for book in rule_books(db) if book.in_force for rule in book.rules]


def strictest(rules: Iterable[Rule], kind: RuleKind) -> Rule | None:
    """Return the rule of a kind that asks most."""
    found = [rule for rule in rules if rule.kind is kind]
    sign = -1.0 if kind is RuleKind.LARGEST_CASK else 1.0
    return max(found, key=lambda rule: sign * rule.value, default=None)


def _book(name: str, stored: RuleSet | None) -> RuleBook:
    in_force, supplied = SUPPLIED.get(name, (False, {}))
    values: dict[RuleKind, tuple[float | None, str]] = {**supplied}
    if stored is not None:
        in_force = stored.in_force
        values |= {line.kind: (line.value, line.cites) for line in stored.lines}
    rules = tuple(
        Rule(name, kind, values[kind][0] or 0.0, values[kind][1])
        for kind in RuleKind
        if kind in values and values[kind][0] is not None
    )
    return RuleBook(name, in_force, rules, _not_looked_at(name))
