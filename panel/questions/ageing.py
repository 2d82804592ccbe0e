"""How styles and casks develop, and when casks meet a target."""

from __future__ import annotations

from typing import TYPE_CHECKING

from panel.questions.targets import target_names

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sqlalchemy.orm import Session

    from analysis.ageing import Ageing, Asked
    from analysis.profile import Profile

HELD_BY = ("cask", "filling", "status", "bars")
"""What ageing reads of the stock besides its notes: which casks lie there and may be used."""


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

    What may not be used unasked is left out, see :func:`analysis.on_stock.ageing_of_stock`.
    """
    from analysis.ageing import Asked
    from analysis.on_stock import ageing_of_stock
    from panel.frames import target_of
    from panel.kept.answers import kept_answer, once
    from panel.kept.searches import kept_search
    from panel.kept.stock import draws_frame, present_frame, stock_frame
    from panel.questions.profile import house_profile

    aims = [target_of(db, name) for name in targets]
    known, wanted = profile or house_profile(db, as_of=as_of), asked or Asked()
    frames = once(
        lambda: (
            draws_frame(db, as_of),
            present_frame(db, as_of),
            stock_frame(db, as_of)[[*HELD_BY]],
        )
    )
    return kept_answer(
        db,
        "ageing",
        options=[as_of, repr(wanted), repr(aims), seed],
        reads=frames,
        reckon=lambda: ageing_of_stock(
            *(known, *frames()),
            as_of=as_of,
            asked=wanted,
            targets=aims,
            seed=seed,
            search=kept_search(db, known),
        ),
        profile=known,
    )
