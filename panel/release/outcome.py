"""As disgorged: what the casks really gave, beside what was planned."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from analysis.as_json import AsJson
from analysis.bars import measured
from panel.figures import chance as shown
from panel.questions.vat_limits import limits_from_dict

if TYPE_CHECKING:
    from datetime import date

    import pandas as pd
    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.vatting import Broken, Limits, Mixture, SharesTried, Stock
    from panel.questions.law_checks import BrokenRule
    from panel.store.releases import Release

ODD_ABV = 0.3
"""A vat measured so far from what its casks come to points to a wrong figure, % vol."""


@dataclass(frozen=True)
class Given:
    """What one cask gave: litres at 20 °C and measured strength."""

    litres: float
    abv_percent: float


@dataclass(frozen=True)
class VatMeasured:
    """The vat as it is; from the casks' figures where nobody measured it."""

    litres: float
    abv_percent: float
    measured: bool


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

    json_keys = (
        *(("mixture", "**"), "vat", "bulk_litres", "abv_percent", "water_litres", "final_litres"),
        *("bottles", "bottling_abv_percent", "differences", ("broken_words", "broken")),
        *(("check_words", "checks"), ("broken", "broken_limits"), ("checks", "broken_rules")),
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
    *,
    as_of: date,
    vat_litres: float | None = None,
    vat_abv: float | None = None,
    profile: Profile | None = None,
) -> Outcome:
    """Reckon shares, age, water and bottles from what each cask gave."""
    from analysis.vatting import try_shares
    from panel.frames import target_of
    from panel.questions.law_checks import law_checks
    from panel.questions.vatting import house_stock

    limits = limits_of(release)
    if limits.bottling_on is None:
        limits = replace(limits, bottling_on=as_of)
    aim = target_of(db, release.target.name if release.target else "")
    house = house_stock(
        db,
        as_of=as_of,
        profile=profile,
        besides_release=release.name,
        bottling_on=limits.bottling_on,
        descriptors=[line.descriptor for line in aim.lines],
    )
    emptied = {part.filling.cask.number for part in release.parts if part.whole}
    stock = _as_given(house.stock, given, emptied)
    litres = {cask: each.litres for cask, each in given.items() if each.litres > 0.0}
    tried = try_shares(stock, litres, aim, limits, house.rule)
    vat = _vat(tried.mixture, vat_litres, vat_abv)
    water, final, abv, bottles = _reduced(limits, vat)
    outcome = Outcome(
        *(tried.mixture, vat, water, final, bottles, abv),
        (),
        tuple(_still_broken(tried, bottles, limits)),
        tuple(law_checks(house.laws, stock, tried.mixture, limits)),
    )
    return replace(outcome, differences=tuple(differences(release, outcome)))


def limits_of(release: Release) -> Limits:
    """Return the limits a release was proposed under."""
    return limits_from_dict(json.loads(release.limits_json or "{}"))


MEASURED = ("bulk_error", "bulk_shared", "abv_error", "abv_shared")
"""How far litres and strength are in doubt."""


def _as_given(stock: Stock, given: Mapping[str, Given], emptied: set[str]) -> Stock:
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


def _still_broken(tried: SharesTried, bottles: int, limits: Limits) -> Iterator[Broken]:
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
        said = f"It fills {bottles:,} bottles, fewer than the {limits.bottles:,} asked for."
        yield Broken(LimitKey(LimitKind.QUANTITY), said)


def differences(release: Release, outcome: Outcome) -> Iterator[str]:
    """Say what is otherwise than the plan had it."""
    planned = json.loads(release.predicted_json or "{}")
    yield from _cask_differences(release, outcome)
    yield from _figure("The vat holds", planned.get("bulk_litres"), outcome.vat.litres, "L", 0.5)
    yield from _figure(
        "Its strength is", planned.get("abv_percent"), outcome.vat.abv_percent, "% vol", 0.05
    )
    yield from _figure("Water to add:", planned.get("water_litres"), outcome.water_litres, "L", 0.5)
    yield from _figure("Bottles:", planned.get("bottles"), outcome.bottles, "", 0.5)
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
            f"The vat has {outcome.vat.abv_percent:.2f} % vol, below the bottling strength: it "
            "cannot be reduced to it. Take in a stronger cask or lower the strength."
        )
    reckoned = outcome.mixture.poured.abv_percent
    if outcome.vat.measured and abs(outcome.vat.abv_percent - reckoned) > ODD_ABV:
        yield (
            f"The casks' own figures come to {reckoned:.2f} % vol, the vat was measured at "
            f"{outcome.vat.abv_percent:.2f}: one of the figures is wrong. Measure again."
        )


def _cask_differences(release: Release, outcome: Outcome) -> Iterator[str]:
    gave = {part.cask: part for part in outcome.mixture.parts}
    for part in sorted(release.parts, key=lambda each: each.filling.label):
        cask = part.filling.cask.number
        if cask not in gave:
            yield f"Cask {cask} gave nothing, planned were {part.litres:.1f} L."
        elif abs(gave[cask].litres - part.litres) > 0.5:
            yield f"Cask {cask} gave {gave[cask].litres:.1f} L, planned were {part.litres:.1f}."
    planned = {part.filling.cask.number for part in release.parts}
    for cask in sorted(gave.keys() - planned):
        yield f"Cask {cask} is in it and was not planned."


def _figure(
    words: str, planned: float | None, found: float | None, unit: str, hair: float
) -> Iterator[str]:
    if planned is None or found is None or abs(found - planned) < hair:
        return
    places = 0 if not unit else 2 if unit == "% vol" else 1
    yield (
        f"{words} {found:,.{places}f}{f' {unit}' if unit else ''}, planned "
        f"{planned:,.{places}f} ({found - planned:+,.{places}f})."
    )
