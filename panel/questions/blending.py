"""Blending by hand: what there is to blend from, and what the litres come to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from panel.errors import OakpanelError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.profile import Profile
    from analysis.target import Target
    from analysis.vatting import Limits, SharesTried
    from panel.questions.vatting import HouseStock, VatAnswer


@dataclass(frozen=True)
class BlendStart:
    """Where blending begins.

    `limits` are those asked for with what house and law add. `answer` is the optimiser's choice of
    casks; where it found none, or could not be asked, `why` says so.
    """

    house: HouseStock
    aim: Target
    limits: Limits
    answer: VatAnswer | None
    why: str


@dataclass(frozen=True)
class BlendGround:
    """What a blend is made from and held to; `limits` with what house and law add."""

    house: HouseStock
    aim: Target
    limits: Limits


def blend_ground(
    db: Session,
    target: str,
    limits: Limits,
    *,
    as_of: date,
    exponents: Mapping[str, float] | None = None,
    profile: Profile | None = None,
    with_foretold: bool = False,
) -> BlendGround:
    """Return the stock to blend from, the aim and all that binds.

    Raises
    ------
    UnknownRecord
        There is no such target.
    OakpanelError
        A rule in force forbids what is asked.
    """
    from panel.frames import target_of
    from panel.questions.vatting import house_limits, house_stock, lawful_limits

    aim = target_of(db, target)
    house = house_stock(
        db,
        as_of=as_of,
        profile=profile,
        exponents=exponents,
        bottling_on=limits.bottling_on,
        descriptors=[line.descriptor for line in aim.lines],
        with_foretold=with_foretold,
    )
    return BlendGround(house, aim, lawful_limits(house, house_limits(db, limits)))


def blend_start(
    db: Session,
    target: str,
    limits: Limits,
    *,
    as_of: date,
    profile: Profile | None = None,
    with_foretold: bool = False,
) -> BlendStart:
    """Return the stock to blend from, and a choice of casks to begin with.

    Raises
    ------
    UnknownRecord
        There is no such target.
    OakpanelError
        A rule in force forbids what is asked.
    """
    from analysis.errors import AnalysisError
    from panel.questions.vatting import house_vatting

    ground = blend_ground(
        *(db, target, limits), as_of=as_of, profile=profile, with_foretold=with_foretold
    )
    house, aim, bound = ground.house, ground.aim, ground.limits
    try:
        answer = house_vatting(
            *(db, aim, bound),
            as_of=as_of,
            profile=profile,
            in_full=False,
            with_foretold=with_foretold,
        )
    except (OakpanelError, AnalysisError) as error:
        return BlendStart(house, aim, bound, None, str(error))
    why = "" if getattr(answer.found, "mixture", None) else answer.found.sentence
    return BlendStart(house, aim, bound, answer, why)


def try_litres(
    house: HouseStock, litres: Mapping[str, float], aim: Target, limits: Limits
) -> SharesTried:
    """Return what litres chosen by hand come to, and which limits they break.

    Raises
    ------
    AnalysisError
        The litres cannot be poured together.
    """
    from analysis.vatting import try_shares

    return try_shares(house.stock, litres, aim, limits, house.rule)
