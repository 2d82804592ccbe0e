"""What the solver is asked of a plan of the stock: stocks by day, releases, the house's limits."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from panel.errors import OakpanelError, UnknownRecord
from panel.questions.plan_changes import NO_CHANGE, PlanChange, not_in
from panel.questions.plan_records import PlanLine, PlanRecord, day_of_year, line_limits
from panel.records.plan_limits import PlanAsks, expected_casks, plan_asks, release_asks
from panel.store.ages import age_fault
from panel.store.finding import nearest_words
from panel.store.rules import Rule, rule_books

if TYPE_CHECKING:
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.stock_plan import MustStay, PlannedRelease, PlanQuestion
    from analysis.target import Target
    from analysis.vatting import Stock
    from panel.questions.vatting import HouseStock

FORETOLD_YEARS = 3.0
"""Up to here notes are foretold; beyond only where the models of ageing cover most casks."""

COVERED = 0.5

TOO_FAR = (
    "past what ageing can foretell of most casks: planned by litres, age and wood only, the notes "
    "are not told"
)


def plan_question(
    db: Session,
    record: PlanRecord,
    *,
    as_of: date,
    profile: Profile,
    taken: Mapping[int, float] | None = None,
    change: PlanChange = NO_CHANGE,
) -> tuple[PlanQuestion, tuple[str, ...]]:
    """Return what the solver is asked, and what to know besides."""
    from analysis.stock_plan import HouseLimits, PlanQuestion
    from panel.frames import target_of
    from panel.questions.vatting import ASK, deference

    _readable(record)
    asks, _faults = plan_asks(record.limits)
    targets = {line.target: target_of(db, line.target) for line in record.lines}
    notes = tuple(dict.fromkeys(line.descriptor for aim in targets.values() for line in aim.lines))
    days = sorted({day_of_year(line.year, as_of) for line in record.lines})
    houses = {day: _house(db, as_of, day, notes, profile) for day in days}
    stocks, litres_only = _stocks(houses, asks, as_of)
    there = set(next(iter(stocks.values())).names)
    wrong = [
        *filter(None, [not_in("cask", asks.held, there)]),
        *_strange_notes(record, targets),
        *_filled_before(asks, as_of),
    ]
    asks = replace(asks, held=tuple(cask for cask in asks.held if cask in there))
    laws = next(iter(houses.values())).laws
    weak = {line.release: said for line in record.lines if (said := _too_weak(db, line, laws))}
    wrong += [f"Release {name}: {said}" for name, said in weak.items()]
    wrong += [ASK] if weak else []
    wider = dict(change.widen)
    releases = tuple(
        _release(db, line, targets[line.target], stocks, houses, as_of, asks, change, wider)
        for line in record.lines
        if line.release not in weak
    )
    question = PlanQuestion(
        as_of=as_of,
        stocks=stocks,
        releases=releases,
        house=HouseLimits(asks.most_litres_a_year, tuple(_must_stay(asks)), taken or {}),
        rule=next(iter(houses.values())).rule,
        litres_only=litres_only,
    )
    if wrong:
        raise OakpanelError(" ".join([*wrong, *_what_the_solver_refuses(question)]))
    return question, tuple(deference(laws))


def _readable(record: PlanRecord) -> None:
    """Refuse limits that cannot be read, with every fault; a file's are refused as it is loaded."""
    wrong = [f"As a whole: {said}." for said in plan_asks(record.limits)[1]]
    for line in record.lines:
        age = None if line.age_years is None else age_fault(line.age_years)
        said = [*([] if age is None else [f"an age statement of {age}"])]
        said += release_asks(line.limits)[1]
        wrong += [f"Release {line.release}: {each}." for each in said]
    if wrong:
        raise OakpanelError(" ".join(wrong))


def _too_weak(db: Session, line: PlanLine, laws: Sequence[Rule]) -> str | None:
    """Say that a release is bottled below what a rule allows that it is held to."""
    from panel.questions.vatting import too_weak_by_law

    return too_weak_by_law(laws, line_limits(line), _set_of(db, line))


def _what_the_solver_refuses(question: PlanQuestion) -> list[str]:
    """Its faults too, where others keep the question from being put."""
    from analysis.stock_plan.check import check
    from analysis.vatting import LimitsError

    if not question.releases:
        return []
    try:
        check(question)
    except LimitsError as error:
        return [fault.text for fault in error.faults]
    return []


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
        ExpectedCask(name, *(each.on, each.litres, each.abv_percent, each.wood, each.make))
        for name, each in expected_casks(asks.fillings)
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
