"""The house's stock put to the optimiser: which casks, in which litres, and by which law."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from panel.errors import OakpanelError
from panel.figures import in_digits
from panel.kinds import RuleKind, WoodRule
from panel.questions.law_checks import law_checks, oversize, to_be_looked_at
from panel.questions.mixing_rules import mixing_rule
from panel.questions.stock import day_of, notes_on, with_undated
from panel.questions.vat_limits import all_asked
from panel.store.house import number_setting
from panel.store.rules import Rule, not_looked_at, rules_in_force, strictest

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.influences import Foretold
    from analysis.profile import Profile
    from analysis.target import Target
    from analysis.vatting import (
        BatchBefore,
        Limits,
        MixingRule,
        NoVatting,
        Stock,
        VattingPlan,
    )

ASK = (
    "These figures decide money and law: check with your excise officer and your label adviser "
    "before you act on them."
)


@dataclass(frozen=True)
class HouseStock:
    """What a vatting is chosen from: what is on record by `as_of`, moved to `day`."""

    stock: Stock
    rule: MixingRule
    laws: tuple[Rule, ...]
    as_of: date
    day: date
    foretold: Foretold | None = None
    note: str | None = None


@dataclass(frozen=True)
class VatAnswer(AsJson):
    """What the optimiser found for the house, with what the law has to say of it."""

    found: VattingPlan | NoVatting
    limits: Limits
    as_of: date
    laws: tuple[Rule, ...]
    checks: tuple[str, ...]
    stock_on: date

    json_keys = ("as_of", "stock_on", ("found", "**"), "limits", "rules_in_force", "checks")

    @property
    def plan(self) -> VattingPlan:
        """The plan; raises in words where there is none."""
        from analysis.vatting import VattingPlan

        if isinstance(self.found, VattingPlan):
            return self.found
        raise OakpanelError(self.found.sentence)

    @property
    def rules_in_force(self) -> tuple[str, ...]:
        """Every rule that binds, in words, with the set that it belongs to."""
        return tuple(f"{law.rule_set}: {law.words}" for law in self.laws)


def house_stock(
    db: Session,
    *,
    as_of: date,
    profile: Profile | None = None,
    besides_release: str | None = None,
    exponents: Mapping[str, float] | None = None,
    bottling_on: date | None = None,
    descriptors: Sequence[str] | None = None,
    with_foretold: bool = False,
) -> HouseStock:
    """Return the casks with what the panel found in them, as of the day of bottling.

    Without such a day it is that of the question (`panel.questions.stock`). `descriptors` are
    the notes that matter, all by default; casks never nosed are foretold on them
    `with_foretold`.
    """
    from analysis.on_stock import stock_on
    from panel.kept.stock import stock_frame
    from panel.questions.asked_profile import foretold_of
    from panel.questions.profile import house_profile

    known = profile or house_profile(db, as_of=as_of)
    day = day_of(as_of, bottling_on)
    moved = notes_on(db, as_of=as_of, profile=known, descriptors=descriptors, day=day)
    casks = stock_frame(db, as_of, besides_release=besides_release, on=day)
    notes = list(moved.descriptors) if with_foretold else []
    rule = mixing_rule(db, exponents)
    foretold = None
    if notes:
        foretold = foretold_of(
            db,
            as_of=as_of,
            on=day,
            profile=known,
            descriptors=notes,
            with_joint=True,
            rule=rule,
        )
    stock = stock_on(casks, moved, foretold)
    laws = tuple(rules_in_force(db))
    drawn = [moved.moved[name].sample for name in casks["filling"] if name in moved.moved]
    note = with_undated(known.note_on(descriptors), known, drawn)
    return HouseStock(stock, rule, laws, as_of, day, foretold, note)


def house_vatting(
    db: Session,
    target: str | Target,
    limits: Limits,
    *,
    as_of: date,
    with_held: bool = False,
    exponents: Mapping[str, float] | None = None,
    in_full: bool = True,
    profile: Profile | None = None,
    besides_release: str | None = None,
    with_foretold: bool = False,
    before: BatchBefore | None = None,
    within_points: float | None = None,
) -> VatAnswer:
    """Choose casks and litres from the house's stock under the rules in force.

    Casks that nobody nosed may go in only `with_foretold`. With a batch `before` what was found in
    it takes the place of the target's aims, and `within_points` that of its tolerances.

    Raises
    ------
    LimitsError
        What is asked cannot be tried; every fault is told.
    OakpanelError
        A rule in force forbids what is asked.
    """
    from panel.frames import target_of
    from panel.kept.answers import kept_answer
    from panel.kept.stock_records import stock_state
    from panel.questions.profile import house_profile

    aim = target_of(db, target) if isinstance(target, str) else target
    known = profile or house_profile(db, as_of=as_of)

    def reckoned() -> VatAnswer:
        house = house_stock(
            db,
            as_of=as_of,
            profile=known,
            besides_release=besides_release,
            exponents=exponents,
            bottling_on=limits.bottling_on,
            descriptors=[line.descriptor for line in aim.lines],
            with_foretold=with_foretold,
        )
        bound = lawful_limits(house, house_limits(db, limits))
        bound = all_asked(house.stock, bound) if with_held else bound
        if before is None:
            return _planned(house, aim, bound, in_full)
        return _planned(*beside_batch(house, aim, before, within_points), bound, in_full)

    asked = (aim, limits, with_held, sorted((exponents or {}).items()), in_full)
    beside = () if before is None else (before, within_points)
    return kept_answer(
        db,
        "vat",
        options=[as_of, repr((*asked, *beside)), besides_release, with_foretold],
        reads=lambda: (stock_state(db, as_of), repr(mixing_rule(db, exponents))),
        reckon=reckoned,
        profile=known,
    )


def beside_batch(
    house: HouseStock, aim: Target, before: BatchBefore, within_points: float | None
) -> tuple[HouseStock, Target]:
    """Return the stock and the target by which a batch like the one before is chosen."""
    from analysis.vatting import as_before
    from analysis.vatting.batch import WITHIN_POINTS

    stock, target = as_before(
        house.stock, aim, before, within_points=within_points or WITHIN_POINTS
    )
    return replace(house, stock=stock), target


def _planned(house: HouseStock, aim: Target, bound: Limits, in_full: bool) -> VatAnswer:
    """Choose from a stock, and say what the law has to say of it."""
    from analysis.vatting import plan_vatting
    from panel.questions.asked_profile import who_may_go_in

    found = plan_vatting(house.stock, aim, bound, house.rule, in_full=in_full)
    mixture = getattr(found, "mixture", None)
    checks = [*([house.note] if house.note else []), *_left_out(house, bound)]
    if house.foretold is not None:
        checks.insert(0, who_may_go_in(house.foretold, int(house.stock.foretold.sum())))
    broken = [] if mixture is None else law_checks(house.laws, house.stock, mixture, bound)
    checks += [each.sentence for each in broken]
    checks += deference(house.laws, oak_told=any(each.rule is WoodRule.OAK for each in broken))
    if mixture is not None:
        checks += to_be_looked_at(house.laws, house.stock, mixture)
    return VatAnswer(found, bound, house.as_of, house.laws, tuple(checks), house.day)


def house_limits(db: Session, limits: Limits) -> Limits:
    """Fill in what the house has settled: how old a regauge may be."""
    if limits.gauge_max_age_years is not None:
        return limits
    return replace(limits, gauge_max_age_years=number_setting(db, "regauge_old_years"))


def lawful_limits(house: HouseStock, limits: Limits) -> Limits:
    """Add what the rules in force ask.

    Raises
    ------
    OakpanelError
        The bottling strength is below the least that a rule allows.
    """
    if wrong := too_weak_by_law(house.laws, limits):
        raise OakpanelError(f"{wrong} {ASK}")
    age = strictest(house.laws, RuleKind.MINIMUM_AGE)
    large = tuple(
        cask for cask in oversize(house.laws, house.stock) if cask not in limits.must_include
    )
    asked_age = limits.minimum_age_years or 0.0
    return replace(
        limits,
        minimum_age_years=max(asked_age, age.value) if age else limits.minimum_age_years,
        must_exclude=tuple(dict.fromkeys((*limits.must_exclude, *large))),
    )


def too_weak_by_law(laws: Sequence[Rule], limits: Limits, named: Sequence[Rule] = ()) -> str | None:
    """Say that the bottling strength is below the least that a rule allows; None where it is not.

    *laws* are in force; *named* are those of the set that a plan's own row names, in force or not.
    Who is asked before anybody acts on it (`ASK`) stands with none of these.
    """
    least = strictest((*laws, *named), RuleKind.MINIMUM_STRENGTH)
    if least is None or limits.abv_percent is None or limits.abv_percent >= least.value:
        return None
    ways = [
        *(
            [f"put that rule set out of force with `oakpanel rules set {least.rule_set!r} off`"]
            if least in laws
            else []
        ),
        *(["take that rule set out of its row"] if least in named else []),
    ]
    return (
        f"{in_digits(limits.abv_percent, 'g')} % vol is below the "
        f"{in_digits(least.value, 'g')} % vol of {least.rule_set} "
        f"({least.cites}). Bottle it stronger, or {' and '.join(ways)}."
    )


def _left_out(house: HouseStock, limits: Limits) -> list[str]:
    large = [cask for cask in oversize(house.laws, house.stock) if cask in limits.must_exclude]
    largest = strictest(house.laws, RuleKind.LARGEST_CASK)
    if not large or largest is None:
        return []
    listed = ", ".join(large[:5]) + (" and more" if len(large) > 5 else "")
    return [
        f"Left out as larger than {in_digits(largest.value, 'g')} L ({largest.cites}): "
        f"cask {listed}."
    ]


def deference(laws: tuple[Rule, ...], *, oak_told: bool = False) -> list[str]:
    """Say which rules were looked at, and who has the last word."""
    names = list(dict.fromkeys(law.rule_set for law in laws))
    if not names:
        return [f"No rule set is in force here (`oakpanel rules list`). {ASK}"]
    return [
        f"Held to the rule set {' and '.join(names)} (`oakpanel rules show`). {ASK}",
        f"Not looked at: {'; '.join(not_looked_at(names, oak_told=oak_told))}.",
    ]
