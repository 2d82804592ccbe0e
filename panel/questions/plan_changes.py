"""One change of a plan of the stock: its faults, its words, and what it moves."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import TYPE_CHECKING

from analysis.chance_words import reads_the_same
from panel.figures import measured
from panel.kinds import ReleaseStatus
from panel.questions.plan_records import PlanRecord
from panel.questions.plan_settled import settled_releases
from panel.records.plan_limits import expected_casks, plan_asks, release_asks
from panel.store.ages import year_fault
from panel.store.finding import nearest_words

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.stock_plan import ReleasePlan, StockPlan


@dataclass(frozen=True)
class PlanChange:
    """One thing changed, to see what moves: casks held, releases moved, notes widened.

    `anew` looks for the changed plan as if there had been none before it, which takes longer.
    """

    hold: tuple[str, ...] = ()
    move: tuple[tuple[str, int], ...] = ()
    widen: tuple[tuple[str, float], ...] = ()
    anew: bool = False

    def __bool__(self) -> bool:
        return bool(self.hold or self.move or self.widen)

    def without(self, casks: Collection[str]) -> PlanChange:
        """Return it with some casks not held."""
        return replace(self, hold=tuple(each for each in self.hold if each not in casks))


NO_CHANGE = PlanChange()


@dataclass(frozen=True)
class ReleaseMoved:
    """What a change does to a release: chance and casks before and after.

    `gone` and `come` are the casks that leave it and those that take their place. `by_new_search`
    is set where it gained by other draws, and the change was planned anew or the search before it
    was cut short: this one may have found what that one did not.
    """

    release: str
    before: float | None
    after: float | None
    missing_before: float
    missing_after: float
    gone: tuple[str, ...]
    come: tuple[str, ...]
    by_new_search: bool = False


def change_faults(
    db: Session, record: PlanRecord, change: PlanChange, *, as_of: date
) -> dict[str, str]:
    """Return every fault of a change, by what of it is at fault: hold, move, year, widen, points.

    A release that is proposed has its casks: it is not planned any more, so it is not moved.
    """
    from panel.frames import target_of

    if not change:
        return {}
    settled = settled_releases(db, record)
    names = {line.release for line in record.lines}
    targets = {line.target for line in record.lines}
    notes = {line.descriptor for name in targets for line in target_of(db, name).lines}
    found = {
        "hold": not_in("cask", change.hold, _casks_there(db, record, as_of)),
        "move": " ".join(
            [
                *_not_of_plan(record.plan, [name for name, _ in change.move], names),
                *(_stands(name, settled[name]) for name, _ in change.move if name in settled),
            ]
        ),
        "year": " ".join(_no_year(year, as_of) for _, year in change.move),
        "widen": not_in("note of its targets", [note for note, _ in change.widen], notes),
        "points": _narrower(change),
    }
    return {of: said for of, said in found.items() if said}


def _no_year(year: int, as_of: date) -> str:
    if year < as_of.year:
        return f"{year} is over: give {as_of.year} or a later year."
    wrong = year_fault(year, as_of)
    return f"{wrong}." if wrong else ""


def _casks_there(db: Session, record: PlanRecord, as_of: date) -> set[str]:
    from panel.store.filling_states import filling_states

    asks, _faults = plan_asks(record.limits)
    there = {state.cask for state in filling_states(db, as_of) if state.emptied_on is None}
    return there | {name for name, _filling in expected_casks(asks.fillings)}


def _not_of_plan(plan: str, moved: Sequence[str], names: set[str]) -> Iterator[str]:
    for name in moved:
        if name not in names:
            yield f"Plan {plan!r} has no release {name!r}.{nearest_words(name, names)}"


def _stands(release: str, stands: str) -> str:
    cancel = " Cancel it first." if stands == ReleaseStatus.PROPOSED.value else ""
    return f"{release} is {stands}: its casks are its own.{cancel}"


def _narrower(change: PlanChange) -> str:
    narrow = [note for note, points in change.widen if not points > 0]
    if not narrow:
        return ""
    return f"Widen {', '.join(narrow)} by more than 0 points: what is narrower is another target."


def not_in(what: str, named: Sequence[str], known: set[str]) -> str:
    """Say which names are of nothing that is known; empty where all are."""
    strange = [name for name in named if name not in known]
    if not strange:
        return ""
    where = " in stock" if what == "cask" else ""
    return (
        f"There is no {what} {', '.join(map(repr, strange))}{where}."
        f"{nearest_words(strange[0], known)}"
    )


def changed_record(record: PlanRecord, change: PlanChange) -> PlanRecord:
    """Return a plan with releases moved to other years."""
    years = dict(change.move)
    lines = tuple(replace(line, year=years.get(line.release, line.year)) for line in record.lines)
    return replace(record, lines=lines)


def unused_casks(record: PlanRecord, plan: StockPlan, change: PlanChange) -> tuple[str, ...]:
    """Return the casks that a change holds and the plan as recorded neither draws on nor asks for.

    Without them the best of its choices is the same.
    """
    used = {cask for each in plan.releases for cask in each.casks}
    used.update(*(release_asks(line.limits)[0].include for line in record.lines))
    return tuple(cask for cask in dict.fromkeys(change.hold) if cask not in used)


def change_words(change: PlanChange) -> list[str]:
    """Return what was changed, in words."""
    return [
        *(f"cask {cask} held" for cask in dict.fromkeys(change.hold)),
        *(f"{release} moved to {year}" for release, year in change.move),
        *(f"{note} {measured(points, 'point')} wider" for note, points in change.widen),
    ]


def moves_between(before: StockPlan, after: StockPlan, *, anew: bool) -> list[ReleaseMoved]:
    """Return every release that a change moves, and how."""
    found = []
    for new in after.releases:
        old = before.release(new.name)
        gone, come = set(old.casks) - set(new.casks), set(new.casks) - set(old.casks)
        same = _near(old.probability, new.probability) and abs(old.missing - new.missing) < _SHOWS
        if not (gone or come) and same:
            continue
        found.append(
            ReleaseMoved(
                *(new.name, old.probability, new.probability, old.missing, new.missing),
                *(tuple(sorted(gone)), tuple(sorted(come))),
                by_new_search=(anew or before.cut_short)
                and not same
                and _gained(old, new)
                and _draws(old) != _draws(new),
            )
        )
    return found


_SHOWS = 0.005


def _draws(release: ReleasePlan) -> dict[str, float]:
    """Whole litres by cask."""
    parts = release.mixture.parts if release.mixture is not None else ()
    return {part.cask: round(part.litres) for part in parts}


def _gained(old: ReleasePlan, new: ReleasePlan) -> bool:
    """Whether a release lacks less, or is surer and lacks no more."""
    if abs(old.missing - new.missing) >= _SHOWS:
        return new.missing < old.missing
    return (new.probability or 0.0) - (old.probability or 0.0) >= _SHOWS


def _near(one: float | None, other: float | None) -> bool:
    if one is None or other is None:
        return one is other
    return abs(one - other) < _SHOWS or reads_the_same(one, other)
