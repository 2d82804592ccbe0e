"""A plan of the stock: what is recorded of it, put to the solver over the years, and one change."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import select

from analysis.as_json import AsJson
from panel.errors import EntriesAtFault, OakpanelError, UnknownRecord
from panel.figures import in_digits, plural
from panel.kinds import ReleaseStatus
from panel.records.plan_limits import PlanAsks, plan_asks, release_asks
from panel.store.finding import nearest_words
from panel.store.release_records import releases
from panel.store.rules import Rule, rule_books
from panel.store.stock_plans import StoredPlan

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.stock_plan import MustStay, PlannedRelease, PlanQuestion, ReleasePlan, StockPlan
    from analysis.target import Target
    from analysis.vatting import Limits, Stock
    from panel.questions.vatting import HouseStock

MID_YEAR = (6, 30)
"""Month and day that the casks of a year's releases are moved to."""
FORETOLD_YEARS = 3.0
"""Up to here notes are foretold; beyond only where the models of ageing cover most casks."""
COVERED = 0.5
SECONDS = 180.0
TOO_FAR = (
    "past what ageing can foretell of most casks: planned by litres, age and wood only, the notes "
    "are not told"
)


@dataclass(frozen=True)
class PlanLine:
    """One release of a plan as it is recorded."""

    release: str
    year: int
    target: str
    bottles: int
    abv_percent: float
    age_years: int | None
    rule_set: str | None
    limits: str | None


@dataclass(frozen=True)
class PlanRecord(AsJson):
    """A plan as it is recorded."""

    plan: str
    limits: str | None
    lines: tuple[PlanLine, ...]
    kept_on: date | None


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


@dataclass(frozen=True)
class PlanFound(AsJson):
    """What the solver found for a plan of the house.

    Attributes
    ----------
    changed
        What was changed of the plan as recorded, in words; empty where nothing was.
    moves
        What that does, release by release; only those that move.
    nearer_anew
        Whether planning the change anew, and not from the last plan, may find a nearer one.
    checks
        What to know besides: rules of law, what was not foretold.
    kept_bottles
        By release, bottles that are retained or the house's own; what each comes to is less them.
    settled
        Releases of the plan that were proposed since, with the step they stand at: their casks are
        theirs, and are chosen no more.
    """

    plan: str
    found: StockPlan
    changed: tuple[str, ...] = ()
    moves: tuple[ReleaseMoved, ...] = ()
    checks: tuple[str, ...] = ()
    kept_bottles: Mapping[str, int] = field(default_factory=dict)
    settled: Mapping[str, str] = field(default_factory=dict)
    nearer_anew: bool = False

    json_keys = (
        *(("found", "**"), "plan", "changed", "moves", "nearer_anew", "checks", "kept_bottles"),
        "settled",
    )


def stored_plan(db: Session, name: str) -> StoredPlan:
    """Return a plan by name.

    Raises
    ------
    UnknownRecord
        There is none of that name.
    """
    plan = db.scalar(select(StoredPlan).where(StoredPlan.name == name))
    if plan is None:
        names = db.scalars(select(StoredPlan.name).order_by(StoredPlan.name)).all()
        near = nearest_words(name, set(names)) if names else " None was loaded yet."
        raise UnknownRecord(f"There is no plan {name!r}.{near}")
    return plan


def plan_records(db: Session) -> list[PlanRecord]:
    """Return all plans by name."""
    return [plan_record(each) for each in db.scalars(select(StoredPlan).order_by(StoredPlan.name))]


def plan_record(plan: StoredPlan) -> PlanRecord:
    """Return a plan as it is recorded."""
    return PlanRecord(
        plan.name,
        plan.limits,
        tuple(
            PlanLine(
                *(one.name, one.year, one.target.name, one.bottles, one.abv),
                *(one.age_years, one.rule_set, one.limits),
            )
            for one in sorted(plan.releases, key=lambda one: (one.year, one.place))
        ),
        plan.kept_on,
    )


def house_plan(
    db: Session,
    name: str,
    *,
    as_of: date,
    change: PlanChange = PlanChange(),
    seconds: float = SECONDS,
    profile: Profile | None = None,
) -> PlanFound:
    """Choose casks for every release of a plan, each spent once; or see what one change moves.

    Raises
    ------
    UnknownRecord
        There is no such plan.
    EntriesAtFault
        The change names what is not there, or cannot be made; every fault is told.
    OakpanelError
        A rule in force forbids what is asked, or the plan has no release.
    LimitsError
        What is asked cannot be tried; every fault is told.
    """
    from panel.questions.profile import house_profile

    plan = stored_plan(db, name)
    whole = plan_record(plan)
    if not whole.lines:
        raise OakpanelError(f"Plan {name!r} has no release yet: give it one first.")
    settled = settled_releases(db, whole)
    if faults := change_faults(db, whole, change, as_of=as_of):
        raise EntriesAtFault(faults)
    record = replace(
        whole, lines=tuple(line for line in whole.lines if line.release not in settled)
    )
    if not record.lines:
        raise OakpanelError(
            f"Every release of plan {name!r} is proposed or further: {', '.join(settled)}."
        )
    taken = settled_litres(db, whole, settled)
    known = profile or house_profile(db, as_of=as_of)
    found = _solved(db, record, as_of=as_of, seconds=seconds, profile=known, taken=taken)
    found = replace(found, settled=settled, checks=(*in_other_plans(db, whole), *found.checks))
    if not change:
        return found
    changed = changed_record(record, change)
    begin = None if change.anew else found
    after = _solved(
        *(db, changed),
        as_of=as_of,
        seconds=seconds,
        profile=known,
        taken=taken,
        change=change,
        begin=begin,
    )
    return replace(
        after,
        changed=tuple(change_words(change)),
        moves=tuple(_moves(found.found, after.found, anew=change.anew)),
        nearer_anew=not change.anew and after.found.wide,
        settled=settled,
        checks=(*in_other_plans(db, whole), *after.checks),
    )


class _EndedEarly(Exception):
    """A search that was stopped, with the best it had."""

    def __init__(self, found: PlanFound) -> None:
        super().__init__()
        self.found = found


def _solved(
    db: Session,
    record: PlanRecord,
    *,
    as_of: date,
    seconds: float,
    profile: Profile,
    taken: Mapping[int, float],
    change: PlanChange = PlanChange(),
    begin: PlanFound | None = None,
) -> PlanFound:
    from panel.kept.answers import kept_answer
    from panel.kept.stock_records import stock_digest
    from panel.questions.mixing_rules import mixing_rule

    def reckoned() -> PlanFound:
        from analysis.stock_plan import Ended, plan_stock

        question, checks = plan_question(
            *(db, record), as_of=as_of, profile=profile, taken=taken, change=change
        )
        solved = plan_stock(question, seconds=seconds, begin=None if begin is None else begin.found)
        kept = {line.release: release_asks(line.limits)[0].kept_bottles for line in record.lines}
        kept = {name: bottles for name, bottles in kept.items() if bottles}
        found = PlanFound(record.plan, solved, checks=checks, kept_bottles=kept)
        if solved.ended is Ended.STOPPED:
            raise _EndedEarly(found)
        return found

    targets = sorted({line.target for line in record.lines})
    try:
        return kept_answer(
            db,
            "stock plan",
            options=[
                *(as_of, repr(replace(record, kept_on=None)), repr(change), seconds),
                *([repr(dict(taken))] if taken else []),
            ],
            reads=lambda: (
                stock_digest(db, as_of),
                repr(mixing_rule(db)),
                repr(rule_books(db)),
                repr([_target(db, each) for each in targets]),
            ),
            reckon=reckoned,
            profile=profile,
        )
    except _EndedEarly as early:  # what somebody stopped is no answer for the next who asks
        return early.found


def settled_releases(db: Session, record: PlanRecord) -> dict[str, str]:
    """Return which releases of a plan were proposed since, and at which step they stand."""
    names = {line.release for line in record.lines}
    return {
        each.name: each.status.value
        for each in reversed(releases(db))
        if each.name in names and each.status is not ReleaseStatus.CANCELLED
    }


def in_other_plans(db: Session, record: PlanRecord) -> tuple[str, ...]:
    """Say which releases stand in another plan under the same name: they are the same release."""
    from panel.store.stock_plans import PlannedRelease as Planned

    names = {line.release for line in record.lines}
    found = db.execute(
        select(Planned.name, StoredPlan.name)
        .join(StoredPlan, StoredPlan.id == Planned.plan_id)
        .where(StoredPlan.name != record.plan)
        .order_by(StoredPlan.name, Planned.place)
    )
    others: dict[str, list[str]] = {}
    for release, plan in found:
        if release in names:
            others.setdefault(plan, []).append(release)
    return tuple(
        f"{', '.join(same)} {plural('stands', len(same), 'stand')} in plan {plan} too: once "
        f"proposed, {plural('it counts', len(same), 'they count')} as proposed in both."
        for plan, same in others.items()
    )


def settled_litres(db: Session, record: PlanRecord, settled: Mapping[str, str]) -> dict[int, float]:
    """Return by year the litres that releases of a plan take which were proposed since."""
    years = {line.release: line.year for line in record.lines if line.release in settled}
    litres: dict[int, float] = {}
    for each in releases(db):
        if each.name in years and each.status is not ReleaseStatus.CANCELLED:
            drawn = sum(
                part.litres if part.given_l is None else part.given_l for part in each.parts
            )
            litres[years[each.name]] = litres.get(years[each.name], 0.0) + drawn
    return dict(sorted(litres.items()))


def _target(db: Session, name: str) -> Target:
    from panel.frames import target_of

    return target_of(db, name)


def change_faults(
    db: Session, record: PlanRecord, change: PlanChange, *, as_of: date
) -> dict[str, str]:
    """Return every fault of a change, by what of it is at fault: hold, move, year, widen, points.

    A release that is proposed has its casks: it is not planned any more, so it is not moved.
    """
    if not change:
        return {}
    settled = settled_releases(db, record)
    names = {line.release for line in record.lines}
    targets = {line.target for line in record.lines}
    notes = {line.descriptor for name in targets for line in _target(db, name).lines}
    found = {
        "hold": _not_in("cask", change.hold, _casks_there(db, record, as_of)),
        "move": " ".join(
            [
                *_not_of_plan(record.plan, [name for name, _ in change.move], names),
                *(_stands(name, settled[name]) for name, _ in change.move if name in settled),
            ]
        ),
        "year": " ".join(
            f"{year} is over: give {as_of.year} or a later year."
            for _, year in change.move
            if year < as_of.year
        ),
        "widen": _not_in("note of its targets", [note for note, _ in change.widen], notes),
        "points": _narrower(change),
    }
    return {of: said for of, said in found.items() if said}


def _casks_there(db: Session, record: PlanRecord, as_of: date) -> set[str]:
    from panel.store.filling_states import filling_states

    asks, _faults = plan_asks(record.limits)
    there = {state.cask for state in filling_states(db, as_of) if state.emptied_on is None}
    expected = (
        f"expected {at}.{number}"
        for at, each in enumerate(asks.fillings, 1)
        for number in range(1, each.casks + 1)
    )
    return there | set(expected)


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


def changed_record(record: PlanRecord, change: PlanChange) -> PlanRecord:
    """Return a plan with releases moved to other years."""
    years = dict(change.move)
    lines = tuple(replace(line, year=years.get(line.release, line.year)) for line in record.lines)
    return replace(record, lines=lines)


def change_words(change: PlanChange) -> list[str]:
    """Return what was changed, in words."""
    return [
        *(f"cask {cask} held" for cask in dict.fromkeys(change.hold)),
        *(f"{release} moved to {year}" for release, year in change.move),
        *(f"{note} {in_digits(points, 'g')} points wider" for note, points in change.widen),
    ]


def _moves(before: StockPlan, after: StockPlan, *, anew: bool) -> list[ReleaseMoved]:
    from analysis.stock_plan import Ended

    unfinished = before.ended in {Ended.TIME, Ended.STOPPED}
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
                by_new_search=(anew or unfinished)
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
    return abs(one - other) < _SHOWS


def day_of_year(year: int, as_of: date) -> date:
    """Return the day that a year's releases are reckoned for: mid-year, never before today."""
    day = date(year, *MID_YEAR)
    return max(day, as_of) if year == as_of.year else day


def plan_question(
    db: Session,
    record: PlanRecord,
    *,
    as_of: date,
    profile: Profile,
    taken: Mapping[int, float] | None = None,
    change: PlanChange = PlanChange(),
) -> tuple[PlanQuestion, tuple[str, ...]]:
    """Return what the solver is asked, and what to know besides."""
    from analysis.stock_plan import HouseLimits, PlanQuestion
    from panel.questions.vatting import deference

    asks, _faults = plan_asks(record.limits)
    targets = {line.target: _target(db, line.target) for line in record.lines}
    notes = tuple(dict.fromkeys(line.descriptor for aim in targets.values() for line in aim.lines))
    days = sorted({day_of_year(line.year, as_of) for line in record.lines})
    houses = {day: _house(db, as_of, day, notes, profile) for day in days}
    stocks, litres_only = _stocks(houses, asks, as_of)
    if unknown := _not_in("cask", asks.held, set(next(iter(stocks.values())).names)):
        raise UnknownRecord(unknown)
    if wrong := [*_strange_notes(record, targets), *_filled_before(asks, as_of)]:
        raise OakpanelError(" ".join(wrong))
    laws = next(iter(houses.values())).laws
    wider = dict(change.widen)
    releases = tuple(
        _release(db, line, targets[line.target], stocks, houses, as_of, asks, change, wider)
        for line in record.lines
    )
    question = PlanQuestion(
        as_of=as_of,
        stocks=stocks,
        releases=releases,
        house=HouseLimits(asks.most_litres_a_year, tuple(_must_stay(asks)), taken or {}),
        rule=next(iter(houses.values())).rule,
        litres_only=litres_only,
    )
    return question, tuple(deference(laws))


def _strange_notes(record: PlanRecord, targets: Mapping[str, Target]) -> Iterator[str]:
    """Say which notes a release has wider that its target has not."""
    for line in record.lines:
        known = {each.descriptor for each in targets[line.target].lines}
        for note, _points in release_asks(line.limits)[0].wider:
            if note not in known:
                yield (
                    f"Release {line.release}: target {line.target} has no note {note!r}."
                    f"{nearest_words(note, known)}"
                )


def _filled_before(asks: PlanAsks, as_of: date) -> Iterator[str]:
    for each in asks.fillings:
        if each.on < as_of:
            yield (
                f"The filling expected on {each.on} is over: load its casks as they were filled, "
                "and take it out of the plan."
            )


def _house(
    db: Session, as_of: date, day: date, notes: Sequence[str], profile: Profile
) -> HouseStock:
    from panel.questions.vatting import house_stock

    return house_stock(db, as_of=as_of, profile=profile, bottling_on=day, descriptors=notes)


def _stocks(
    houses: Mapping[date, HouseStock], asks: PlanAsks, as_of: date
) -> tuple[dict[date, Stock], dict[date, str]]:
    """Return the stock by day with the fillings that are expected, and which days have no notes."""
    from analysis.on_stock.expected import ExpectedCask, with_expected

    casks = [
        ExpectedCask(
            f"expected {at}.{number}",
            *(each.on, each.litres, each.abv_percent, each.wood, each.make),
        )
        for at, each in enumerate(asks.fillings, 1)
        for number in range(1, each.casks + 1)
    ]
    stocks, litres_only = {}, {}
    for day, house in houses.items():
        if _too_far(house.stock, day, as_of):
            litres_only[day] = TOO_FAR
        stocks[day] = with_expected(house.stock, casks, day)
    return stocks, litres_only


def _too_far(stock: Stock, day: date, as_of: date) -> bool:
    """Whether ageing foretells the notes of too few casks on a day."""
    from analysis.ageing.cover import Cover

    if (day - as_of).days / 365.25 <= FORETOLD_YEARS:
        return False
    moved = stock.casks["moved"].dropna()
    if moved.empty:
        return True
    covered = moved.isin([Cover.MODEL.value, Cover.KIND.value])
    return float(covered.mean()) < COVERED


def _not_in(what: str, named: Sequence[str], known: set[str]) -> str:
    """Say which names are of nothing that is known; empty where all are."""
    strange = [name for name in named if name not in known]
    if not strange:
        return ""
    where = " in stock" if what == "cask" else ""
    return (
        f"There is no {what} {', '.join(map(repr, strange))}{where}."
        f"{nearest_words(strange[0], known)}"
    )


def _must_stay(asks: PlanAsks) -> list[MustStay]:
    from analysis.stock_plan import MustStay

    return [
        MustStay(
            *(each.litres, each.column, each.values, each.age_low),
            float("inf") if each.age_high is None else each.age_high,
        )
        for each in asks.left
    ]


def _release(
    db: Session,
    line: PlanLine,
    target: Target,
    stocks: Mapping[date, Stock],
    houses: Mapping[date, HouseStock],
    as_of: date,
    plan: PlanAsks,
    change: PlanChange,
    wider: Mapping[str, float],
) -> PlannedRelease:
    from analysis.stock_plan import PlannedRelease
    from panel.questions.vatting import house_limits, lawful_limits

    asks, _faults = release_asks(line.limits)
    day = day_of_year(line.year, as_of)
    limits = line_limits(line, (*plan.held, *change.hold))
    house = houses.get(day)
    if house is not None:
        laws = (*house.laws, *_set_of(db, line))
        limits = lawful_limits(replace(house, laws=laws), house_limits(db, limits))
    more = {note: wider.get(note, 0.0) for note in wider}
    for note, points in asks.wider:
        more[note] = more.get(note, 0.0) + points
    return PlannedRelease(
        *(line.release, day, widened(target, more), limits, asks.weight, asks.kept_bottles)
    )


def line_limits(line: PlanLine, held: Sequence[str] = ()) -> Limits:
    """Return what a release of a plan is held to, as of a single vatting."""
    from panel.questions.vat_limits import read_limits

    asks, _faults = release_asks(line.limits)
    return read_limits(
        bottles=line.bottles + asks.kept_bottles,
        abv_percent=line.abv_percent,
        age=line.age_years,
        shares=asks.shares,
        casks=asks.casks,
        whole=asks.whole,
        over_percent=asks.over_percent,
        include=asks.include,
        exclude=tuple(dict.fromkeys((*asks.exclude, *held))),
    )


def _set_of(db: Session, line: PlanLine) -> tuple[Rule, ...]:
    """Return the rules of the set that a release is held to besides those in force."""
    if line.rule_set is None:
        return ()
    for book in rule_books(db):
        if book.name == line.rule_set:
            return book.rules
    raise UnknownRecord(f"There is no rule set {line.rule_set!r} (release {line.release}).")


def widened(target: Target, points: Mapping[str, float]) -> Target:
    """Return a target with the tolerances of some notes wider."""
    lines = tuple(
        replace(line, tolerance=line.tolerance + points.get(line.descriptor, 0.0))
        for line in target.lines
    )
    return replace(target, lines=lines)
