"""What wood, age, peat and strength do."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy.orm import Session

    from analysis.influences import Influences
    from analysis.profile import Profile


def influences_of(
    db: Session,
    *,
    as_of: date,
    descriptors: Sequence[str] = (),
    with_map: bool = True,
    with_stock: bool = True,
    profile: Profile | None = None,
) -> Influences:
    """Return what wood, age, peat and strength do, over all revealed sessions held by *as_of*.

    `descriptors` are those wanted, all by default; `with_stock` foretells casks never nosed.
    """
    from analysis.influences import estimate_influences
    from panel.kept.answers import kept_answer, once
    from panel.kept.searches import kept_search
    from panel.kept.stock import draws_frame, present_frame
    from panel.questions.profile import house_profile

    known = profile or house_profile(db, as_of=as_of)
    draws = once(lambda: draws_frame(db, as_of))
    stock = once(lambda: present_frame(db, as_of) if with_stock else None)
    names = tuple(descriptors)
    return kept_answer(
        db,
        "influences",
        options=[as_of, names, with_map, with_stock],
        reads=lambda: (draws(), stock()),
        reckon=lambda: estimate_influences(
            *(known, draws()),
            stock=stock(),
            descriptors=names or None,
            with_map=with_map,
            search=kept_search(db, known),
        ),
        profile=known,
    )
