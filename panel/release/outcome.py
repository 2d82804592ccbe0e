"""As disgorged: what the casks really gave, beside what was planned."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from analysis.as_json import AsJson
from analysis.bars import measured
from analysis.chance_words import chance as shown
from panel.figures import in_digits
from panel.questions.agreed import AGREED
from panel.release.doubts import doubts, still_agreed
from panel.release.planned import limits_of, planned_of, stock_for

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.vatting import Broken, Limits, Mixture, SharesTried, Stock
    from panel.questions.law_checks import BrokenRule
    from panel.release.doubts import Doubted
    from panel.release.given import CaskGave, Given
    from panel.release.holding import Agreed
    from panel.store.releases import Release

ODD_LITRES = 0.5
"""A cask that gave so much more or less than planned is told of."""


@dataclass(frozen=True)
class VatMeasured:
    """The vat as it is; from the casks' figures where nobody measured it."""

    litres: float
    abv_percent: float
    measured: bool
    litres_measured: bool = False


@dataclass(frozen=True)
class Outcome(AsJson):
    """What the disgorged casks come to.

    Attributes
    ----------
    mixture
        Shares, age, expected profile and chance from what each cask gave.
    vat, water_litres, final_litres, bottles, bottling_abv_percent
        From the measured strength of the vat; water is None where it is too weak.
    differences
        What is otherwise than planned, a sentence each; empty where nothing is.
    broken, checks
        Limits that are not kept, and rules of law that are not met.
    casks
        What each cask gave, and what stays in it.
    doubts, agreed
        Figures that are not clear; and what was agreed to by name, cask by cask.
    """

    mixture: Mixture
    vat: VatMeasured
    water_litres: float | None
    final_litres: float
    bottles: int
    bottling_abv_percent: float
    differences: tuple[str, ...]
    broken: tuple[Broken, ...]
    checks: tuple[BrokenRule, ...]
    casks: tuple[CaskGave, ...] = ()
    doubts: tuple[Doubted, ...] = ()
    agreed: tuple[Agreed, ...] = ()

    json_keys = (
        *(("mixture", "**"), "vat", "bulk_litres", "abv_percent", "water_litres", "final_litres"),
        *("bottles", "bottling_abv_percent", "differences", ("broken_words", "broken")),
        *(("check_words", "checks"), ("broken", "broken_limits"), ("checks", "broken_rules")),
        *("casks", "doubts", AGREED),
    )

    @property
    def bulk_litres(self) -> float:
        """What the vat holds."""
        return self.vat.litres

    @property
    def abv_percent(self) -> float:
        """Strength of the vat."""
        return self.vat.abv_percent

    @property
    def broken_words(self) -> tuple[str, ...]:
        """What limit is not kept, in words."""
        return tuple(each.sentence for each in self.broken)

    @property
    def check_words(self) -> tuple[str, ...]:
        """What rule is not kept, in words."""
        return tuple(each.sentence for each in self.checks)


def reckon_outcome(
    db: Session,
    release: Release,
    given: Mapping[str, Given],
    casks: tuple[CaskGave, ...],
    *,
    as_of: date,
    vat_litres: float | None = None,
    vat_abv: float | None = None,
    profile: Profile | None = None,
) -> Outcome:
    """Reckon shares, age, water and bottles from what each cask gave."""
    from analysis.vatting import try_shares
    from panel.questions.law_checks import law_checks

    limits = limits_of(release)
    if limits.bottling_on is None:
        limits = replace(limits, bottling_on=as_of)
    aim, house = stock_for(db, release, as_of=as_of, profile=profile)
    planned = planned_of(release)
    stock = as_given(house.stock, given, {each.cask for each in casks if each.emptied})
    litres = {cask: each.litres for cask, each in given.items() if each.litres > 0.0}
    tried = try_shares(stock, litres, aim, limits, house.rule)
    vat = _vat(tried.mixture, vat_litres, vat_abv)
    water, final, abv, bottles = _reduced(limits, vat)
    outcome = Outcome(
        *(tried.mixture, vat, water, final, bottles, abv),
        (),
        tuple(_still_broken(tried, bottles, final, limits)),
        tuple(law_checks(house.laws, stock, tried.mixture, limits)),
        casks,
        tuple(doubts(casks, planned, tried.mixture.poured, vat)),
        tuple(still_agreed(planned, casks, limits)),
    )
    return replace(outcome, differences=tuple(differences(planned, outcome, limits)))


MEASURED = ("bulk_error", "bulk_shared", "abv_error", "abv_shared")
"""How far litres and strength are in doubt."""


def as_given(stock: Stock, given: Mapping[str, Given], emptied: set[str]) -> Stock:
    """The stock as if it had always been known what these casks would give."""
    import pandas as pd

    casks: pd.DataFrame = stock.casks.copy()
    names = casks["cask"].astype("str")
    for cask, each in given.items():
        here = names == cask
        casks.loc[here, "abv"] = each.abv_percent
        more = (casks["bulk_l"] < each.litres) | (cask in emptied)
        casks.loc[here & more, "bulk_l"] = each.litres
        casks.loc[here, "gauge_age_years"] = 0.0
        # What was measured as it was poured is known.
        casks.loc[here, list(MEASURED)] = 0.0
        casks.loc[here, ["abv_low", "abv_high"]] = each.abv_percent
        casks.loc[here, ["bulk_low", "bulk_high"]] = casks.loc[here, ["bulk_l"] * 2].to_numpy()
    bars = zip(stock.names, stock.bars, strict=True)
    known = [measured(each) if cask in given else each for cask, each in bars]
    casks["bars"] = pd.Series(known, index=casks.index, dtype=object)
    return replace(stock, casks=casks)


def _vat(mixture: Mixture, litres: float | None, abv: float | None) -> VatMeasured:
    poured = mixture.poured
    return VatMeasured(
        litres=poured.bulk_litres if litres is None else litres,
        abv_percent=poured.abv_percent if abv is None else abv,
        measured=abv is not None,
        litres_measured=litres is not None,
    )


def _reduced(limits: Limits, vat: VatMeasured) -> tuple[float | None, float, float, int]:
    from analysis.strength import bottles_from, reduce_strength

    wanted = limits.abv_percent
    water: float | None = 0.0
    final, abv = vat.litres, vat.abv_percent
    if wanted is not None and vat.abv_percent >= wanted:
        reduction = reduce_strength(vat.litres, vat.abv_percent, wanted)
        water, final, abv = reduction.water_litres, reduction.final_litres, wanted
    elif wanted is not None:
        water = None
    return water, final, abv, bottles_from(final, limits.bottle_ml, limits.loss_fraction).bottles


def _still_broken(
    tried: SharesTried, bottles: int, final_litres: float, limits: Limits
) -> Iterator[Broken]:
    """Limits that are not kept; a few litres more or less than asked are told as a difference."""
    from analysis.vatting import Broken, LimitKey, LimitKind

    told_as_difference = {
        *(LimitKind.QUANTITY, LimitKind.EXCESS),
        *(LimitKind.WHOLE, LimitKind.SMALLEST_DRAW),
    }
    for each in tried.broken:
        if each.key.kind not in told_as_difference:
            yield each
    if limits.bottles is not None and bottles < limits.bottles:
        said = (
            f"It fills {in_digits(bottles, ',')} bottles, fewer than the "
            f"{in_digits(limits.bottles, ',')} asked for."
        )
        yield Broken(LimitKey(LimitKind.QUANTITY), said)
    if limits.litres is not None and final_litres <= limits.litres - limits.bottle_ml / 1000.0:
        said = (
            f"It comes to {in_digits(final_litres, ',.1f')} L at bottling strength, less than the "
            f"{in_digits(limits.litres, ',.1f')} asked for."
        )
        yield Broken(LimitKey(LimitKind.QUANTITY), said)


def differences(planned: Mapping[str, Any], outcome: Outcome, limits: Limits) -> Iterator[str]:
    """Say what is otherwise than the plan had it, and what is not clear."""
    for cask in outcome.casks:
        yield from _cask_difference(cask)
    yield from _figure("The vat holds", planned.get("bulk_litres"), outcome.vat.litres, "L", 0.5)
    yield from _figure(
        "Its strength is", planned.get("abv_percent"), outcome.vat.abv_percent, "% vol", 0.05
    )
    yield from _figure("Water to add:", planned.get("water_litres"), outcome.water_litres, "L", 0.5)
    yield from _bottles(planned, outcome.bottles, limits)
    age, then = outcome.mixture.poured.age_statement_years, planned.get("age_statement_years")
    if age != then:
        yield f"The youngest part is {age} years old, planned were {then}."
    chance, before = outcome.mixture.probability, planned.get("probability")
    if before is not None and abs(chance - before) >= 0.02:
        yield (
            f"The chance of all notes within tolerance is {shown(chance)}, planned was "
            f"{shown(before)}."
        )
    if outcome.water_litres is None:
        yield (
            f"The vat has {in_digits(outcome.vat.abv_percent, '.2f')} % vol, below the "
            "bottling strength: it "
            "cannot be reduced to it. Take in a stronger cask or lower the strength."
        )
    yield from (each.sentence for each in outcome.doubts)


def _bottles(planned: Mapping[str, Any], found: int, limits: Limits) -> Iterator[str]:
    """Say how many bottles more or fewer it fills than was to be expected.

    What was safe to print is fewer by what gauges may be off: no measure of what came.
    """
    from analysis.strength import bottles_from

    litres, safe = planned.get("final_litres"), planned.get("bottles")
    if litres is None:
        yield from _figure("Bottles:", safe, found, "", 0.5)
        return
    expected = bottles_from(float(litres), limits.bottle_ml, limits.loss_fraction).bottles
    told = safe is None or safe == expected
    besides = "" if told else f"; {in_digits(safe, ',')} were safe to print"
    yield from _figure("Bottles:", expected, found, "", 0.5, besides)


def _cask_difference(gave: CaskGave) -> Iterator[str]:
    cask, litres, planned = gave.cask, gave.given_litres, gave.planned_litres
    if planned is None:
        yield (
            f"Cask {cask} is in it with {in_digits(litres, '.1f')} L and was not "
            f"planned.{_rest_words(gave)}"
        )
    elif not litres:
        yield (
            f"Cask {cask} gave nothing, planned were {in_digits(planned, '.1f')} "
            f"L.{_rest_words(gave)}"
        )
    elif abs(litres - planned) > ODD_LITRES:
        yield (
            f"Cask {cask} gave {in_digits(litres, '.1f')} L, planned were "
            f"{in_digits(planned, '.1f')}.{_rest_words(gave)}"
        )


def _rest_words(gave: CaskGave) -> str:
    if gave.asked or gave.written_off:  # a doubt of its own says so
        return ""
    if gave.emptied:
        return "" if gave.planned is not None and gave.planned.whole else " It is empty."
    return f" {in_digits(gave.rest_litres, ',.1f')} L stay in it." if gave.rest_litres else ""


def _figure(
    words: str,
    planned: float | None,
    found: float | None,
    unit: str,
    hair: float,
    besides: str = "",
) -> Iterator[str]:
    if planned is None or found is None or abs(found - planned) < hair:
        return
    places = 0 if not unit else 2 if unit == "% vol" else 1
    yield (
        f"{words} {in_digits(found, f',.{places}f')}{f' {unit}' if unit else ''}, planned "
        f"{in_digits(planned, f',.{places}f')} ({in_digits(found - planned, f'+,.{places}f')})"
        f"{besides}."
    )
