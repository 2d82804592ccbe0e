"""A part of the stock, for lists, review and next glass: of one site, warehouse, owner, parcel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from analysis.bars import Purpose
from panel.errors import UnknownRecord
from panel.store.finding import nearest_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from panel.questions.cask_life import CaskLine
    from panel.store.filling_states import FillingState

OWN = "the house"
"""Said of casks without another owner."""


@dataclass(frozen=True)
class StockPart:
    """What is looked at; an empty part asks nothing. *owner* may be `OWN`."""

    site: str = ""
    warehouse: str = ""
    owner: str = ""
    parcel: str = ""

    @property
    def is_all(self) -> bool:
        """Whether it leaves every cask in."""
        return self == StockPart()

    def has(self, state: FillingState) -> bool:
        """Tell whether what lies in a cask belongs to it."""
        return self.has_records(_of(state))

    def has_records(self, held: Mapping[str, str]) -> bool:
        """Tell the same of a cask by its records, under the names of `FOLDS`."""
        return all(
            not wanted or wanted.casefold() == held[name].casefold()
            for name, wanted in self.asked().items()
        )

    def asked(self) -> dict[str, str]:
        """What is asked, by the name of each record."""
        return {name: getattr(self, name) for name in FOLDS}

    def words(self) -> str:
        """Return what it is narrowed to; nothing where it is all."""
        return ", ".join(value for value in self.asked().values() if value)


EVERYWHERE = StockPart()
FOLDS = ("site", "warehouse", "owner", "parcel")
"""Records by which casks can be told together."""


def _of(state: FillingState) -> dict[str, str]:
    return {
        "site": state.place.site or "",
        "warehouse": state.place.warehouse or "",
        "owner": state.owner or OWN,
        "parcel": state.parcel or "",
    }


def fold_of(state: FillingState, by: str) -> str:
    """Return which site, warehouse, owner or parcel a filling is told with; empty for none."""
    return _of(state)[by]


def part_of(states: Iterable[FillingState], part: StockPart) -> list[FillingState]:
    """Return the fillings of a part of the stock.

    Raises
    ------
    UnknownRecord
        Nothing that lies in a cask has that site, warehouse, owner or parcel.
    """
    lying = list(states)
    if part.is_all:
        return lying
    refuse_unknown(part, [_of(state) for state in lying])
    return [state for state in lying if part.has(state)]


def refuse_unknown(part: StockPart, known: Sequence[Mapping[str, str]]) -> None:
    """Refuse a part that nothing belongs to.

    Raises
    ------
    UnknownRecord
        Nothing that lies in a cask has that site, warehouse, owner or parcel.
    """
    for name, wanted in part.asked().items():
        names = {each[name] for each in known} - {""} if wanted else set()
        if wanted and wanted.casefold() not in {each.casefold() for each in names}:
            near = nearest_words(wanted, names)
            raise UnknownRecord(f"No cask that holds spirit has the {name} {wanted!r}.{near}")


def lines_of(lines: Iterable[CaskLine], part: StockPart) -> list[CaskLine]:
    """Return the lines of a list of casks that belong to a part; empty casks to none.

    Raises
    ------
    UnknownRecord
        As `part_of`.
    """
    every = list(lines)
    if part.is_all:
        return every
    kept = {id(state) for state in part_of([e.state for e in every if e.state is not None], part)}
    return [each for each in every if id(each.state) in kept]


def lines_folded(lines: Iterable[CaskLine], by: str) -> list[Folded]:
    """Fold a list of casks; empty casks are left out."""
    return folded(
        [
            (line.state, Purpose.VAT in line.today.barred_from)
            for line in lines
            if line.state is not None and line.today is not None
        ],
        by,
    )


@dataclass(frozen=True)
class Folded:
    """Casks that are told together: how many, and what they hold by their last gauges."""

    name: str
    casks: int
    litres: float
    litres_of_pure_alcohol: float
    youngest_years: float | None
    oldest_years: float | None
    barred: int
    """How many may not go into a vat unasked."""


def folded(lines: Sequence[tuple[FillingState, bool]], by: str) -> list[Folded]:
    """Fold fillings by site, warehouse, owner or parcel; each comes with whether it is barred."""
    found: dict[str, list[tuple[FillingState, bool]]] = {}
    for state, barred in lines:
        found.setdefault(fold_of(state, by), []).append((state, barred))
    return [_folded(name, found[name]) for name in sorted(found, key=lambda name: (not name, name))]


def _folded(name: str, lines: Sequence[tuple[FillingState, bool]]) -> Folded:
    ages = [state.age_years for state, _ in lines if state.age_years is not None]
    return Folded(
        name=name,
        casks=len(lines),
        litres=sum(state.bulk_l for state, _ in lines),
        litres_of_pure_alcohol=sum(state.lpa for state, _ in lines),
        youngest_years=min(ages, default=None),
        oldest_years=max(ages, default=None),
        barred=sum(barred for _, barred in lines),
    )
