"""How styles and casks develop, and when casks meet a target."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.questions.targets import target_names

if TYPE_CHECKING:
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.ageing import Ageing
    from analysis.profile import Profile


def house_ageing(
    db: Session,
    *,
    as_of: date,
    make: str | None = None,
    wood: str | None = None,
    casks: tuple[str, ...] = (),
    descriptors: tuple[str, ...] = (),
    target: str | None = None,
    seed: int = 1,
    profile: Profile | None = None,
) -> Ageing:
    """Return how notes develop in styles or casks, and when casks meet a target.

    Casks that are named are put against every target of the house unless one is named, or only
    some notes are asked about.

    Raises
    ------
    UnknownRecord
        There is no such target.
    """
    from analysis.ageing import Asked
    from panel.questions.reckoning import ageing_of

    targets: tuple[str, ...] = ()
    if target is not None:
        targets = (target,)
    elif casks and not descriptors:
        targets = target_names(db)
    asked = Asked(make=make, wood=wood, casks=casks, descriptors=descriptors)
    return ageing_of(db, as_of=as_of, asked=asked, targets=targets, seed=seed, profile=profile)
