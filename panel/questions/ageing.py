"""How styles and casks develop, and when casks meet a target."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from panel.questions.targets import target_names

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.ageing import Ageing, Asked
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

    targets: tuple[str, ...] = ()
    if target is not None:
        targets = (target,)
    elif casks and not descriptors:
        targets = target_names(db)
    asked = Asked(make=make, wood=wood, casks=casks, descriptors=descriptors)
    return ageing_of(db, as_of=as_of, asked=asked, targets=targets, seed=seed, profile=profile)


def ageing_of(
    db: Session,
    *,
    as_of: date,
    asked: Asked | None = None,
    targets: Sequence[str] = (),
    seed: int = 1,
    profile: Profile | None = None,
) -> Ageing:
    """Return how styles or casks develop, and when casks meet the targets named.

    A cask that leaks, is on hold, reserved as a whole or of another owner is left out with
    every reason unless it is asked for by number.
    """
    from analysis.ageing import Asked, estimate_ageing
    from analysis.on_stock import barred_fillings, held_against
    from analysis.profile.latest import in_cask
    from panel.frames import casks_frame, target_of
    from panel.frames.draws import draws_frame, present_frame
    from panel.questions.profile import house_profile

    wanted = asked or Asked()
    aims = [target_of(db, name) for name in targets]
    known = profile or house_profile(db, as_of=as_of)
    stock = present_frame(db, as_of)
    lying = in_cask(casks_frame(db, as_of))
    barred = {} if wanted.casks else barred_fillings(lying)
    found = estimate_ageing(
        known,
        draws_frame(db, as_of),
        stock=stock[~stock["filling"].isin(list(barred))],
        as_of=as_of,
        targets=aims,
        asked=wanted,
        seed=seed,
    )
    held = {f"cask {cask}": why for cask, why in barred.values()} if aims else {}
    named = lying[lying["cask"].isin(list(wanted.casks))]
    cask_of = dict(zip(named["filling"].astype(str), named["cask"].astype(str), strict=True))
    return replace(
        found,
        left_out={**found.left_out, **held},
        held_against={cask_of[filling]: why for filling, why in held_against(named).items()},
    )
