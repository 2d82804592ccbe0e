"""What commands answer as JSON where no question or record is the whole answer: each a value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from datetime import date

    from panel.kinds import ServingStatus, SwapOutcome
    from panel.questions.cask_entries import LifeEntry
    from panel.questions.cask_figures import CaskFigures
    from panel.questions.filling_told import FillingTold
    from panel.questions.glasses import Glass
    from panel.questions.house import SettingLine
    from panel.questions.passing import Slip
    from panel.questions.people import PersonLine
    from panel.questions.stock_part import Folded
    from panel.questions.targets import TargetRecord
    from panel.records.erase import Erasure
    from panel.records.planting import PlantedLine
    from panel.records.targets import Clipped, LeftNote
    from panel.session.listed import SessionLine
    from panel.session.own_words import WordLine
    from panel.session.progress import CallLine
    from panel.store.erasing import Overwriting
    from panel.store.glass_notes import GlassNote
    from panel.store.rules import RuleBook


@dataclass(frozen=True)
class StepTaken:
    """A session, and the stage that it is in now."""

    session: str
    status: Literal["open", "closed", "dropped"]


@dataclass(frozen=True)
class OnTray:
    """A glass of somebody's tray."""

    assessor: str
    code: str


@dataclass(frozen=True)
class Marked:
    """A glass as it was marked; `pouring` tells which pouring stands now.

    `stopped` are all glasses that went with it where it is not safe, itself among them.
    """

    session: str
    assessor: str
    code: str
    status: ServingStatus
    pouring: int
    stopped: tuple[OnTray, ...] = ()


@dataclass(frozen=True)
class ReadAs:
    """Under which code the scores of a glass are read."""

    code: str
    read_as: str


@dataclass(frozen=True)
class Cleared:
    """A suspected swap that was cleared, and how the glasses are read."""

    session: str
    assessor: str
    outcome: SwapOutcome
    glasses: tuple[ReadAs, ...]


@dataclass(frozen=True)
class PlantedTold:
    """What is kept to be planted in passing sessions."""

    planted: tuple[PlantedLine, ...]


@dataclass(frozen=True)
class SlipsTold:
    """Casks that nobody may empty, by warehouse, row and tier."""

    casks: tuple[Slip, ...]


@dataclass(frozen=True)
class Calls:
    """Calls that wait for the lead."""

    session: str
    calls: tuple[CallLine, ...]


@dataclass(frozen=True)
class Named:
    """What assessors named in a session, and what a lead says it means."""

    session: str
    words: tuple[WordLine, ...]


@dataclass(frozen=True)
class Sessions:
    """All sessions, the newest first."""

    sessions: tuple[SessionLine, ...]


@dataclass(frozen=True)
class RuleSet:
    """A set of rules, and how many are in it."""

    name: str
    in_force: bool
    rules: int


@dataclass(frozen=True)
class RuleSets:
    """All sets of rules."""

    rule_sets: tuple[RuleSet, ...]


@dataclass(frozen=True)
class RuleTold:
    """One rule, with the law it cites."""

    rule_set: str
    rule: str
    value: float
    unit: str
    cites: str


@dataclass(frozen=True)
class Rules:
    """Rules, and by set what nobody looks at."""

    rules: tuple[RuleTold, ...]
    not_looked_at: Mapping[str, tuple[str, ...]]

    @classmethod
    def of(cls, books: list[RuleBook]) -> Rules:
        """Return the rules of some sets."""
        rules = tuple(
            RuleTold(rule.rule_set, rule.kind.value, rule.value, rule.unit, rule.cites)
            for book in books
            for rule in book.rules
        )
        return cls(rules, {book.name: book.not_looked_at for book in books})


@dataclass(frozen=True)
class RuleChanged:
    """What was changed of a set of rules, as it was typed."""

    rule_set: str
    what: str
    value: str | None
    cites: str | None


@dataclass(frozen=True)
class Settings:
    """All settings of the house."""

    settings: tuple[SettingLine, ...]


@dataclass(frozen=True)
class SettingSet:
    """A setting before and after it was changed."""

    name: str
    before: float | str
    value: float | str


@dataclass(frozen=True)
class People:
    """Codes and roles of people."""

    people: tuple[PersonLine, ...]


@dataclass(frozen=True)
class Erased:
    """What of a person was erased, and whether the file was written anew."""

    gone: Erasure
    done: Overwriting

    json_keys = (("gone", "**"), ("done", "**"))


@dataclass(frozen=True)
class DatabaseMade:
    """A new database and its revision."""

    database: str
    revision: str


@dataclass(frozen=True)
class CaskTold:
    """A cask of the list; `filling` is None for an empty one."""

    cask: str
    wood: str
    size_l: float
    filling: FillingTold | None


@dataclass(frozen=True)
class CasksFolded:
    """Casks told together, by site, warehouse, owner or parcel."""

    as_of: date
    by: str
    folds: tuple[Folded, ...]


@dataclass(frozen=True)
class Casks:
    """All casks as of a day."""

    as_of: date
    casks: tuple[CaskTold, ...]


@dataclass(frozen=True)
class CaskShown:
    """One cask's life, and what assessors wrote about its glasses."""

    cask: str
    wood: str
    size_l: float
    as_of: date
    fillings: tuple[FillingTold, ...]
    entries: tuple[LifeEntry, ...]
    flags: tuple[str, ...]
    figures: CaskFigures | None
    notes: tuple[GlassNote, ...]


@dataclass(frozen=True)
class CaskGlasses:
    """Every glass of a cask as it was scored."""

    cask: str
    as_of: date
    glasses: tuple[Glass, ...]


@dataclass(frozen=True)
class Targets:
    """All targets."""

    targets: tuple[TargetRecord, ...]


@dataclass(frozen=True)
class TargetMade:
    """A new target, from what it was made, and what could not be taken over."""

    record: TargetRecord
    source: str
    left_out: tuple[LeftNote, ...]
    clipped: tuple[Clipped, ...]

    json_keys = (("record", "**"), "source", "left_out", "clipped")


@dataclass(frozen=True)
class At20:
    """A volume brought to 20 °C, and the pure alcohol in it."""

    litres_at_20: float
    lpa: float


@dataclass(frozen=True)
class TrueStrength:
    """Strength at 20 °C."""

    abv_percent: float


@dataclass(frozen=True)
class EmptySpace:
    """What a cask could still hold."""

    ullage_litres: float
